package cloth

import (
	"context"

	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// Options say how to lay.
type Options struct {
	Seed   uint64
	Params Params
	// Have is the length of cloth that is there already; 0 for none.
	Have length.Length
	// Progress, when not nil, is told the length needed by every better lay. It is called
	// from other goroutines, never twice at once.
	Progress func(needed length.Length)
}

// DefaultOptions returns the options for a set of seats.
func DefaultOptions() Options { return Options{Seed: 1, Params: DefaultParams()} }

// Laid says where everything lies and what to buy.
type Laid struct {
	Cloth  Cloth
	Orders []Order
	Parts  []Part
	Pieces []Placed // from the start to the far end
	// Regions are the stretches of cloth in order: folded first, then single.
	Regions []Region
	// Needed is the cloth that is used up, squaring at both ends included; Buy is Needed
	// rounded up as the shop sells it and, where the place of the motifs is open, to whole
	// repeats first.
	Needed, Buy length.Length
	// Rows is what Needed would be with the pieces laid row by row.
	Rows length.Length
	// Usage is the share of Needed, over the whole width, that becomes pieces.
	Usage float64
	Left  []LeftOver
	// Motif is where the first motif has to lie; nil without a pattern.
	Motif *Motif
	// Enough compares the length at hand; nil where none was given.
	Enough *Enough
	Notes  []string
	// Stopped says that the search was stopped before its work was done.
	Stopped bool
}

// Region is a stretch of the cloth, mm from the squared line.
type Region struct {
	From, To float64
	Folded   bool
}

// Placed is one part on the cloth.
type Placed struct {
	Number int // from 1, as on the drawing
	Part   int // index in Laid.Parts
	Copy   int // from 1
	// ClothFromPart carries the part's own frame to the cloth.
	ClothFromPart plane.Rigid
	Degrees       float64
	// On folded cloth the part below this one is Twin, cut at the same time (an index in
	// Laid.Parts); SpareTwin says that nobody needs it: cut through one layer only.
	Folded    bool
	Twin      int
	TwinCopy  int
	SpareTwin bool
	// First and Second are the places of the part's chalk points.
	First, Second Chalk
	Turn          string // how the part lies, in words
}

// Chalk is a point to chalk: along the cloth from the squared line, and across from the
// outer edge of the left selvedge.
type Chalk struct {
	Point         string
	Along, Across length.Length
}

// Lay places everything the orders need on the cloth. When the context ends, the best lay
// so far is returned with Stopped set. The same orders give the same lay on any machine.
func Lay(ctx context.Context, c Cloth, orders []Order, o Options) (*Laid, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	for _, order := range orders {
		if order.Pads < 0 || order.Pads > greatestOrder {
			return nil, problem.Newf(problem.Usage, "give a number from 1 to 200", "%d pads cannot be laid at once", order.Pads)
		}
	}
	parts, err := partsOf(c, orders, o.Params)
	if err != nil {
		return nil, err
	}
	l := &layer{ctx: ctx, cloth: c, options: o, laid: &Laid{Cloth: c, Orders: orders, Parts: parts}}
	if err := l.layAll(); err != nil {
		return nil, err
	}
	l.laid.Enough = l.enough()
	return l.laid, nil
}

// greatestOrder bounds what is plainly a slip of the keyboard.
const greatestOrder = 200

// layer lays one stretch of cloth after the other.
type layer struct {
	ctx     context.Context
	cloth   Cloth
	options Options
	laid    *Laid
	end     float64 // of what is laid, mm from the squared line
	rows    float64
	told    length.Length // the last progress
	share   float64       // of the work, for the next search
}

// layAll lays the folded stretch, then the single one, and counts.
func (l *layer) layAll() error {
	folded, single := l.split()
	l.share = 1
	if len(folded) > 0 && len(single) > 0 {
		l.share = 0.5
	}
	if len(folded) > 0 {
		if err := l.layRegion(folded, true); err != nil {
			return err
		}
	}
	if len(single) > 0 {
		if err := l.layRegion(single, false); err != nil {
			return err
		}
	}
	l.number()
	l.count()
	return nil
}

// wanted is a part with how many of it a stretch of cloth has to give. On folded cloth
// each gives two.
type wanted struct{ part, count int }

// split says what is laid on the folded cloth and what on the single one.
func (l *layer) split() (folded, single []wanted) {
	for i, p := range l.laid.Parts {
		switch {
		case p.Count == 0:
		case !l.cloth.Fold || p.twin == noTwin || !l.fitsFold(p):
			single = append(single, wanted{i, p.Count})
		case p.twin == i:
			folded = append(folded, wanted{i, (p.Count + 1) / 2})
		case p.twin > i:
			folded = append(folded, wanted{i, p.Count})
		}
	}
	return folded, single
}

// fitsFold reports whether the part fits between the selvedge and the fold.
func (l *layer) fitsFold(p Part) bool {
	return p.reach(l.cloth) <= l.band(true).width()+rounding
}

// band is the usable width, mm from the outer edge of the left selvedge.
type band struct{ left, right float64 }

func (b band) width() float64 { return b.right - b.left }

// band returns what may be used across: up to the other selvedge, or up to the fold.
func (l *layer) band(folded bool) band {
	w, s := l.cloth.Width.Millimetres(), l.cloth.Selvedge.Millimetres()
	if folded {
		return band{s, w / 2}
	}
	return band{s, w - s}
}
