package cloth

import (
	"fmt"
	"math"
	"slices"

	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// Outline returns the cut line of a placed part on the cloth, its curves as chords.
func (l *Laid) Outline(p Placed) []plane.Point {
	outline := l.Parts[p.Part].outline
	out := make([]plane.Point, len(outline))
	for i, q := range outline {
		out[i] = p.ClothFromPart.Apply(q)
	}
	return out
}

// TwinOutline returns the cut line of what is cut from the lower layer of folded cloth, as
// it lies when the cloth is opened: mirrored at the fold.
func (l *Laid) TwinOutline(p Placed) []plane.Point {
	out := l.Outline(p)
	for i := range out {
		out[i].X = l.Cloth.Width.Millimetres() - out[i].X
	}
	return out
}

// number sorts the pieces from the start to the far end and names each copy.
func (l *layer) number() {
	laid := l.laid
	corner := func(p Placed) plane.Point { return boxOf(laid.Outline(p)).Min }
	slices.SortStableFunc(laid.Pieces, func(a, b Placed) int {
		pa, pb := corner(a), corner(b)
		switch {
		case math.Abs(pa.Y-pb.Y) > 1:
			return sign(pa.Y - pb.Y)
		case math.Abs(pa.X-pb.X) > rounding:
			return sign(pa.X - pb.X)
		}
		return a.Part - b.Part
	})
	copies := make([]int, len(laid.Parts))
	next := func(part int) int { copies[part]++; return copies[part] }
	for i := range laid.Pieces {
		p := &laid.Pieces[i]
		part := laid.Parts[p.Part]
		p.Number, p.Copy = i+1, next(p.Part)
		if p.Folded {
			p.Twin = part.twin
			p.TwinCopy = next(p.Twin)
			p.SpareTwin = p.TwinCopy > laid.Parts[p.Twin].Count
		}
		p.First, p.Second = laid.chalk(*p)
		p.Turn = part.turnWords(p.Degrees)
	}
}

func sign(v float64) int {
	if v < 0 {
		return -1
	}
	return 1
}

// chalk returns the two points to chalk: those of a piece; of a straight strip its corner
// nearest the start and the left, and the corner at the other end of that long edge.
func (l *Laid) chalk(p Placed) (first, second Chalk) {
	part := l.Parts[p.Part]
	on := func(name string, at plane.Point) Chalk {
		return Chalk{name, mm(nanometres(at.Y)), mm(nanometres(at.X))}
	}
	if !part.Strip || part.Bias {
		return on(part.First.Name, p.ClothFromPart.Apply(part.First.At)), on(part.Second.Name, p.ClothFromPart.Apply(part.Second.At))
	}
	b := boxOf(l.Outline(p))
	first = on("lower left corner", b.Min)
	if p.ClothFromPart.Cos == 0 {
		return first, on("upper left corner", plane.Point{X: b.Min.X, Y: b.Max.Y})
	}
	return first, on("lower right corner", plane.Point{X: b.Max.X, Y: b.Min.Y})
}

// count adds up the lay.
func (l *layer) count() {
	laid, c := l.laid, l.cloth
	if len(laid.Pieces) == 0 {
		return
	}
	laid.Needed = mm(l.end) + 2*c.Squaring
	laid.Rows = mm(l.rows) + 2*c.Squaring
	laid.Buy = RoundUp(l.repeats(laid.Needed), c.SoldBy)
	area := 0.0
	for _, p := range laid.Pieces {
		area += math.Abs(areaOf(laid.Outline(p)))
		if p.Folded && !p.SpareTwin {
			area += math.Abs(areaOf(laid.Outline(p)))
		}
	}
	laid.Usage = area / (laid.Needed.Millimetres() * c.Width.Millimetres())
	laid.Left = l.leftOvers()
	laid.Notes = l.notes()
}

func areaOf(points []plane.Point) float64 {
	sum := 0.0
	for i, p := range points {
		q := points[(i+1)%len(points)]
		sum += p.Sub(points[0]).Cross(q.Sub(points[0]))
	}
	return sum / 2
}

// repeats rounds up to whole repeats where the place of the motifs is open: only then is
// there surely a cut on the roll from which the pieces come out. With a half drop half a
// repeat is a whole one of the next column.
func (l *layer) repeats(needed length.Length) length.Length {
	r := l.cloth.Repeat
	if r.Along == 0 || r.First != nil {
		return needed
	}
	step := r.Along
	if r.HalfDrop {
		step /= 2
	}
	return RoundUp(needed, step)
}

// RoundUp rounds up to whole steps, as shops sell it; what is a hundredth of a millimetre
// over a whole step does not start another.
func RoundUp(l, step length.Length) length.Length {
	return length.Length(math.Ceil(float64((l-length.Millimetre/100)/step))) * step
}

// Metres says a length of cloth in metres and in yards to the nearest eighth.
func Metres(l length.Length) string {
	return fmt.Sprintf("%s (%s)", plainMetres(l), Yards(l))
}

func plainMetres(l length.Length) string {
	return fmt.Sprintf("%.2f m", l.Millimetres()/1000)
}

// Yards says a length in yards and eighths, rounded up where it lies between: what has to
// be bought by the yard.
func Yards(l length.Length) string {
	return eighths(int(math.Round(float64(RoundUp(l, EighthOfYard) / EighthOfYard))))
}

func eighths(n int) string {
	whole, over, under := n/8, n%8, 8
	for over > 0 && over%2 == 0 {
		over, under = over/2, under/2
	}
	switch {
	case over == 0:
		return fmt.Sprintf("%d yd", whole)
	case whole == 0:
		return fmt.Sprintf("%d/%d yd", over, under)
	}
	return fmt.Sprintf("%d %d/%d yd", whole, over, under)
}

// notes says what is assumed.
func (l *layer) notes() []string {
	c := l.cloth
	notes := []string{fmt.Sprintf("Square the start off first: draw a line across the cloth, square to the selvedge, %s in from the end. All places are measured from it and from the outer edge of the left selvedge, start towards you, right side up.", c.Squaring)}
	if c.Fold {
		notes = append(notes, "Fold the cloth lengthwise, selvedge on selvedge, right sides together, the fold at your right. Pieces on the fold are cut through both layers: a plate and its mirror image at once.")
	} else {
		notes = append(notes, "Single layer, right side up. The second plate is the mirror image of the top plate and is laid as drawn, not turned over.")
	}
	switch c.Way {
	case OneNap:
		notes = append(notes, "All pieces lie one way: stroke the pile the way of the arrow before you chalk.")
	case OneDesign:
		notes = append(notes, "All pieces lie one way: the top of the design at the far end.")
	}
	if m := l.laid.Motif; m != nil {
		if c.Repeat.First == nil {
			notes = append(notes, fmt.Sprintf("Find or have cut the start so that the middle of a motif lies %s from the squared line and %s from the left edge; Buy is in whole repeats for that.", m.Along, m.Across))
		} else {
			notes = append(notes, fmt.Sprintf("The middle of a motif lies %s from the squared line and %s from the left edge.", m.Along, m.Across))
		}
	}
	return notes
}

// roundTo rounds to whole parts of one; -0 becomes 0.
func roundTo(v, parts float64) float64 { return math.Round(v*parts)/parts + 0 }

func boxOf(points []plane.Point) plane.Rect { return plane.RectFromPoints(points...) }
