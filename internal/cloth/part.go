package cloth

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// Order is so many pads of one kind.
type Order struct {
	Name string // of the chair or the pad; may be empty where there is only one order
	Pad  pad.Pad
	Pads int
}

// Part is one thing to cut, Count times in all.
type Part struct {
	Name   string
	Order  int // index of its order
	Strip  bool
	Bias   bool // a strip at 45 degrees
	Kind   pad.StripKind
	Count  int
	Width  length.Length // of a strip, as cut; of a piece, its extent across
	Length length.Length // of a strip, as cut; of a piece, its extent along the grain
	// Cut is the cut line and Seam the seam line (empty for strips), in the part's own
	// frame: a piece's back towards +y; a strip from the origin, x along it, and where it
	// is cut on the bias with its ends along the grain.
	Cut, Seam curve.Path
	// First and Second are the two points that are chalked, on the cut line: the middles
	// of back and front of a piece, the lower corners of a strip on the bias. Of other
	// strips they depend on how the strip lies.
	First, Second ChalkPoint
	Mirrored      bool

	outline []plane.Point
	// motif is where a motif is centred; nil where the part is free of the pattern.
	motif *plane.Point
	top   string // what the upper edge is: "back"
	twin  int    // index of the mirror image, of itself, or noTwin
	nap   plane.Vec
}

// ChalkPoint is a point of a part that can be found on it.
type ChalkPoint struct {
	Name string
	At   plane.Point
}

const noTwin = -1

// partsOf returns all parts of cloth, in order of the orders: pieces, then strips.
func partsOf(c Cloth, orders []Order, p Params) ([]Part, error) {
	var all []Part
	for i, o := range orders {
		prefix := ""
		if len(orders) > 1 && o.Name != "" {
			prefix = o.Name + ": "
		}
		from := len(all)
		for k, piece := range o.Pad.Pieces {
			if piece.Material != pad.ClothMaterial || piece.CutLine.IsEmpty() {
				continue
			}
			part := partOfPiece(piece, p)
			part.motif = motifOf(c, o.Pad, k)
			all = append(all, part)
		}
		strips, err := stripsOf(c, o.Pad)
		if err != nil {
			return nil, err
		}
		all = append(all, strips...)
		for k := range all[from:] {
			part := &all[from+k]
			part.Name, part.Order, part.Count = prefix+part.Name, i, part.Count*o.Pads
		}
		pairUp(all, from)
	}
	return all, nil
}

func partOfPiece(piece pad.Piece, p Params) Part {
	w, l := piece.Sizes()
	part := Part{Name: piece.Name, Count: piece.Count, Width: w, Length: l, Cut: piece.CutLine, Seam: piece.SeamLine,
		Mirrored: piece.Mirrored, outline: piece.CutLine.Flatten(p.Flatten), twin: noTwin, nap: piece.Nap}
	b := piece.CutLine.Bounds()
	upper, front := plane.Point{X: b.Centre().X, Y: b.Max.Y}, plane.Point{X: b.Centre().X, Y: b.Min.Y}
	part.First, part.top = markOn(piece, pad.BackCentre, upper, "back", "upper edge")
	part.Second, _ = markOn(piece, pad.FrontCentre, front, "front", "lower edge")
	return part
}

// markOn returns where the mark meets the cut line, or the place on it nearest to the
// fallback, and what edge that is the middle of.
func markOn(piece pad.Piece, kind pad.MarkKind, fallback plane.Point, edge, plain string) (ChalkPoint, string) {
	for _, m := range piece.Marks {
		if m.Kind == kind {
			spot, _ := piece.CutLine.Nearest(m.From)
			if spot.Point.DistanceTo(fallback) < piece.CutLine.Bounds().Height()/2 {
				return ChalkPoint{"middle of the " + edge, spot.Point}, edge
			}
		}
	}
	spot, _ := piece.CutLine.Nearest(fallback)
	return ChalkPoint{"middle of the " + plain, spot.Point}, plain
}

// motifOf returns the middle of the seat on piece k: of a wrapped piece, of its top half.
// The sides of a wrapped pad are free of the pattern.
func motifOf(c Cloth, p pad.Pad, k int) *plane.Point {
	piece := p.Pieces[k]
	if !c.HasRepeat() || c.Repeat.TopOnly && piece.Mirrored {
		return nil
	}
	b := piece.SeamLine.Bounds()
	if piece.SeamLine.IsEmpty() {
		b = piece.CutLine.Bounds()
	}
	middle := b.Centre()
	if s := p.Recipe.Style; s == pad.Waterfall || s == pad.Bullnose {
		if k > 0 {
			return nil
		}
		middle.Y = b.Max.Y - b.Height()/4
	}
	return &middle
}

// stripsOf returns the strips of one pad.
func stripsOf(c Cloth, p pad.Pad) ([]Part, error) {
	var all []Part
	for _, s := range p.Strips {
		if s.Kind != pad.PipingStrip {
			part, err := stripPart(c, s, s.Name, s.Length, s.Count)
			if err != nil {
				return nil, err
			}
			all = append(all, part)
			continue
		}
		lengths := pipingLengths(p)
		for k, l := range lengths {
			name := s.Name
			if len(lengths) > 1 {
				name = fmt.Sprintf("%s %c", s.Name, rune('A'+k%26))
			}
			part, err := stripPart(c, s, name, l, 1)
			if err != nil {
				return nil, err
			}
			all = append(all, part)
		}
	}
	return all, nil
}

// stripPart returns one strip; on the bias it is a parallelogram with its ends along the
// grain.
func stripPart(c Cloth, s pad.Strip, name string, long length.Length, count int) (Part, error) {
	// Whole nanometres, as the solver counts: strips that share a line do not overlap.
	l, w := nanometres(long.Millimetres()), nanometres(s.Width.Millimetres())
	part := Part{Name: name, Strip: true, Bias: s.Cut == pad.Bias, Kind: s.Kind, Count: count, Width: s.Width, Length: long, twin: noTwin}
	end := plane.Point{X: l}
	up := plane.Vec{Y: w}
	if part.Bias {
		across := l / math.Sqrt2
		if u := c.Usable().Millimetres(); math.Abs(across-u) < rounding {
			across = u // a strip planned to reach from selvedge to selvedge
		}
		across = nanometres(across)
		end, up = plane.Point{X: across, Y: across}, plane.Vec{Y: nanometres(w * math.Sqrt2)}
	}
	part.outline = []plane.Point{{}, end, end.Add(up), plane.Point{}.Add(up)}
	part.Cut = curve.Polygon(part.outline...)
	part.First = ChalkPoint{"lower left corner", plane.Point{}}
	part.Second = ChalkPoint{"lower right corner", end}
	if part.reach(c) > c.Usable().Millimetres()+rounding {
		return part, tooLong(c, part)
	}
	return part, nil
}

// pairUp finds, among the parts from an index on, which are mirror images of each other;
// a rectangle is its own.
func pairUp(all []Part, from int) {
	for i := from; i < len(all); i++ {
		a := &all[i]
		switch {
		case a.Strip && !a.Bias:
			a.twin = i
		case !a.Strip && a.twin == noTwin:
			for j := i + 1; j < len(all); j++ {
				if b := &all[j]; !b.Strip && b.twin == noTwin && a.Count == b.Count && mirrorImages(*a, *b) {
					a.twin, b.twin = j, i
					break
				}
			}
		}
	}
}

// mirrorImages reports whether one outline is the other mirrored at x = 0, to a tenth of
// a millimetre in its corners and areas.
func mirrorImages(a, b Part) bool {
	const near = 0.1
	back := b.Cut.Mirrored(plane.Point{}, plane.Vec{Y: 1})
	if math.Abs(a.Cut.SignedArea()-back.SignedArea()) > near*near+1e-6*math.Abs(back.SignedArea()) {
		return false
	}
	for _, s := range a.Cut.Segments() {
		for _, q := range []plane.Point{s.P0, s.At(0.5)} {
			if _, d := back.Nearest(q); d > near {
				return false
			}
		}
	}
	return true
}
