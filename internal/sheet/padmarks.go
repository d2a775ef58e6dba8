package sheet

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// Signs of a pad's marks. A notch is cut and drawn from the cut line inward; what it
// is for stands on the seam line as a sign that differs by shape, not by colour:
//
//	opening or zip end   filled triangle, pointing into the piece
//	zip strip and band   filled square
//	tie or tab           ring
//	piping begins        open triangle
//	piping's ends meet   cross
//	join of a strip      one slanted line
//	corner               dot
//	flange of the piping thin line, beside the cut line: clip the piping, not the plate
const signSize = 2.0 // mm, half of a sign's extent

// padMark draws a mark of a piece or strip. Arrows are drawn elsewhere: they make way
// for words.
func (p *pen) padMark(k pad.Mark) {
	switch k.Kind {
	case pad.GrainArrow, pad.NapArrow:
		return
	case pad.FoldMark:
		p.foldMark(k)
	case pad.FoamJoin, pad.BandJoin, pad.PipingSeam:
		p.markStrokes(CentreLine, k)
	case pad.PipingClip:
		p.markStrokes(ScaleTick, k)
	case pad.ReliefNotch:
		p.wedge(k)
	default:
		p.markStrokes(Notch, k)
	}
	p.sign(k, signSize)
}

func (p *pen) markStrokes(role Role, k pad.Mark) {
	for _, s := range k.Strokes {
		p.line(role, s.From, s.To)
	}
}

// foldMark draws a fold across the piece, or its notch at a cut edge.
func (p *pen) foldMark(k pad.Mark) {
	role := Notch
	if k.Along == 0 {
		role = FoldLine
	}
	p.markStrokes(role, k)
}

// wedge draws a notch that is cut out: two lines that meet before the seam line.
func (p *pen) wedge(k pad.Mark) {
	for _, s := range k.Strokes {
		inward := s.To.Sub(s.From)
		half := inward.TurnLeft().Scale(0.3)
		p.line(Notch, s.From.Add(half), s.To)
		p.line(Notch, s.From.Add(half.Neg()), s.To)
	}
}

// outward returns the unit direction from the seam line to the cut line at a mark.
func outward(k pad.Mark) plane.Vec {
	v := k.From.Sub(k.At)
	if v.Length() < 1e-6 {
		v = k.From.Sub(k.To)
	}
	if v.Length() < 1e-6 {
		return plane.Vec{Y: 1}
	}
	return v.Unit()
}

// sign draws what a mark is for, on the seam line; size is half of its extent, mm.
func (p *pen) sign(k pad.Mark, size float64) {
	out := outward(k)
	in, side := out.Scale(-size), out.TurnLeft().Scale(size)
	left, right := k.At.Add(side), k.At.Add(side.Neg())
	switch k.Kind {
	case pad.OpeningEnd:
		p.area("", Ink{}, curve.Polygon(left, right, k.At.Add(in.Scale(1.6))).CounterClockwise())
	case pad.ZipEnd:
		p.area("", Ink{}, curve.Polygon(left, right, right.Add(in), left.Add(in)).CounterClockwise())
	case pad.TiePlaceMark:
		p.stroke("", Sign, circle(k.At, size))
	case pad.PipingStart:
		p.stroke("", Sign, curve.Polygon(left, right, k.At.Add(in.Scale(1.6))))
	case pad.PipingMeets:
		p.line(Sign, left.Add(in), right.Add(in.Neg()))
		p.line(Sign, right.Add(in), left.Add(in.Neg()))
	case pad.BandJoin, pad.PipingSeam:
		p.line(Sign, left.Add(in), right.Add(in.Neg()))
	case pad.CornerMark:
		p.area("", Ink{}, circle(k.At, 0.45*size))
	}
}

// markWord returns the few words that stand beside a mark on the piece; the whole
// sentence is on the cut sheet. Empty: the sign says enough.
func markWord(k pad.Mark) string {
	switch k.Kind {
	case pad.BackCentre, pad.FrontCentre, pad.QuarterLeft, pad.QuarterRight, pad.Match, pad.FoldMark:
		return k.Words
	case pad.OpeningEnd:
		return "opening ends"
	case pad.ZipEnd:
		return "zip strip meets band"
	case pad.TiePlaceMark, pad.FoamJoin:
		return beforeColon(k.Words)
	case pad.PipingStart:
		return "start the piping"
	case pad.BandJoin:
		return "join of the band"
	case pad.PipingSeam:
		return "join of the piping"
	}
	return ""
}

func beforeColon(words string) string {
	for i, r := range words {
		if r == ':' {
			return words[:i]
		}
	}
	return words
}

// Type of the words beside marks, mm: 8 1/2 pt.
const markType = 3.0

// markWords writes the number on the cut sheet and the words beside the marks, inside the piece, where nothing is
// drawn. Words that find no place are left out: the sign stays.
func (p *pen) markWords(marks []pad.Mark, free *room, number func(pad.Mark) int) {
	for _, k := range marks {
		if words := markWord(k); words != "" {
			t := Text{Words: words, Size: markType}
			if n := number(k); n > 0 && isPlace(k.Kind) {
				t.Words = fmt.Sprintf("%d %s", n, words)
			}
			if beside(&t, k, free) {
				p.text(t)
				free.take(t.Bounds().Grow(0.6))
			}
		}
	}
}

// beside places the text inward of the mark at the least distance that is free.
func beside(t *Text, k pad.Mark, free *room) bool {
	in := outward(k).Neg()
	side := in.TurnLeft()
	t.Anchor = Middle
	if math.Abs(in.X) > math.Abs(in.Y) {
		t.Anchor = Start
		if in.X < 0 {
			t.Anchor = End
		}
	}
	box := t.Bounds()
	for away := signSize + 1.5; away < 34; away += 1.5 {
		for _, aside := range []float64{0, 4, -4, 9, -9, 15, -15, 22, -22} {
			move := k.At.Add(in.Scale(away)).Add(side.Scale(aside)).Sub(at(0, 0.35*t.Size))
			if free.free(plane.Rect{Min: box.Min.Add(move), Max: box.Max.Add(move)}) {
				t.At = at(0, 0).Add(move)
				return true
			}
		}
	}
	return false
}
