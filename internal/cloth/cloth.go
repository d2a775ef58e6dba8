package cloth

import (
	"fairedge/internal/length"
	"fairedge/internal/problem"
)

// Cloth is what the cover is cut from and how it is to lie.
type Cloth struct {
	Width    length.Length // from edge to edge
	Selvedge length.Length // lost on each edge
	Way      Way
	// Tilt is how far, in degrees, the grain of a piece may lie off the cloth's; 0 to 10.
	Tilt float64
	// Railroad turns the pieces a quarter: their backs face a selvedge.
	Railroad bool
	Repeat   Repeat
	// Fold lays the cloth double, selvedge on selvedge, right sides together: a plate and
	// its mirror image are cut at once.
	Fold bool
	// Gap is kept free between pieces. Strips that share a line are cut with one cut.
	Gap length.Length
	// Squaring is lost at each end, because shops seldom cut square to the selvedge.
	Squaring length.Length
	// SoldBy is the step in which the shop sells length.
	SoldBy length.Length

	pipingAlong bool // one way of laying: straight piping runs along the cloth
}

// Way says whether the cloth looks different from either end.
type Way string

// The ways.
const (
	EitherWay Way = "either"  // plain: pieces may lie head to tail
	OneNap    Way = "nap"     // pile: all pieces lie the same way
	OneDesign Way = "one-way" // a design that has a top: all backs to the top
)

// Repeat is the pattern of the cloth; zero when it has none.
type Repeat struct {
	Along    length.Length // from motif to motif along the cloth
	Across   length.Length
	HalfDrop bool // every other column is lower by half of Along
	// First is where the middle of one motif lies: from the squared line, and from the
	// outer edge of the left selvedge. Where it is not known, the best place along is
	// found and a motif is taken to lie in the middle of the width.
	First *Motif
	// TopOnly centres motifs on the top plates alone.
	TopOnly bool
}

// Motif is the place of the middle of a motif.
type Motif struct{ Along, Across length.Length }

// Default values: common practice.
const (
	defaultGap      = 3 * length.Millimetre  // chalk, and a blade that wanders
	defaultSquaring = 25 * length.Millimetre // 25 to 50 mm in all
	// TenthOfMetre and EighthOfYard are the steps in which most shops sell cloth.
	TenthOfMetre = 100 * length.Millimetre
	EighthOfYard = length.Yard / 8
)

// DefaultCloth returns plain furnishing cloth, 54 in wide with half an inch of selvedge.
func DefaultCloth() Cloth {
	return Cloth{Width: 54 * length.Inch, Selvedge: length.Inch / 2, Way: EitherWay,
		Gap: defaultGap, Squaring: defaultSquaring, SoldBy: TenthOfMetre}
}

// Usable returns the width between the selvedges.
func (c Cloth) Usable() length.Length { return c.Width - 2*c.Selvedge }

// HasRepeat reports whether pieces are tied to a pattern.
func (c Cloth) HasRepeat() bool { return c.Repeat.Along > 0 || c.Repeat.Across > 0 }

// The bounds of what can be meant.
const (
	leastWidth    = 100 * length.Millimetre
	greatestWidth = 10 * length.Metre
	leastRepeat   = 5 * length.Millimetre
	greatestTilt  = 10 // degrees; more is no grain any longer
)

// Validate returns a sentence on the first thing that makes no sense.
func (c Cloth) Validate() error {
	bad := func(what, remedy string) error { return problem.New(problem.Usage, what, remedy) }
	r := c.Repeat
	switch {
	case !(c.Width >= leastWidth && c.Width <= greatestWidth):
		return bad("cloth of "+c.Width.String()+" is no width to buy", "give the width with its unit, from 100 mm to 10 m")
	case !(c.Selvedge >= 0 && c.Usable() >= leastWidth/2):
		return bad("the selvedges leave no cloth between them", "give the selvedge of one side, 5 to 25 mm")
	case !(c.Gap >= 0 && c.Gap <= 100*length.Millimetre):
		return bad("a gap of "+c.Gap.String()+" between pieces makes no sense", "give 0 to 100 mm")
	case !(c.Squaring >= 0 && c.Squaring <= length.Metre):
		return bad("squaring of "+c.Squaring.String()+" makes no sense", "give 0 to 50 mm for each end")
	case !(c.SoldBy > 0 && c.SoldBy <= 10*length.Metre):
		return bad("cloth is not sold by "+c.SoldBy.String(), "give the step, such as 0.1m or 1/8yd")
	case !(c.Tilt >= 0 && c.Tilt <= greatestTilt):
		return bad("that tilt leaves nothing of the grain", "allow 0 to 10 degrees")
	case !(r.Along >= 0 && r.Across >= 0 && (r.Along == 0 || r.Along >= leastRepeat) && (r.Across == 0 || r.Across >= leastRepeat)):
		return bad("the pattern repeat is too small", "give the repeat along and across from 5 mm, or 0 for none")
	case r.HalfDrop && (r.Along == 0 || r.Across == 0):
		return bad("a half-drop pattern needs both its repeats", "give the repeat along the cloth and across it")
	case c.Fold && c.HasRepeat():
		return bad("motifs cannot be seen through folded cloth", "lay patterned cloth in a single layer")
	}
	return nil
}
