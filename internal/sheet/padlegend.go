package sheet

import (
	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// MarkMeaning says what a kind of mark is, in a few words, as the legend has it; empty
// for marks that explain themselves.
func MarkMeaning(k pad.MarkKind) string {
	switch k {
	case pad.BackCentre:
		return "back centre: one tick"
	case pad.FrontCentre:
		return "front centre: three ticks"
	case pad.QuarterLeft:
		return "left quarter: one tick"
	case pad.QuarterRight:
		return "right quarter: two ticks"
	case pad.Match:
		return "match mark: the same on every piece"
	case pad.OpeningEnd:
		return "opening ends: back-stitch"
	case pad.ZipEnd:
		return "zip strip meets the band"
	case pad.TiePlaceMark:
		return "tie or tab: its middle in the seam"
	case pad.PipingStart:
		return "start sewing the piping here"
	case pad.PipingMeets:
		return "ends of the piping meet"
	case pad.PipingSeam:
		return "a join of the piping falls here"
	case pad.BandJoin:
		return "a join of the band falls here"
	case pad.ReliefClip:
		return "slit, not to the stitching"
	case pad.ReliefNotch:
		return "cut out a wedge"
	case pad.PipingClip:
		return "clip the piping's flange, not the plate"
	case pad.CornerMark:
		return "corner: needle down, pivot, trim the point"
	case pad.BackClip:
		return "inner corner: face, then slit to it"
	case pad.FoldMark:
		return "fold: middle of the front"
	case pad.FoamJoin:
		return "glue two parts here"
	}
	return ""
}

// markLeading is the distance of the legend's rows, in sizes.
const markLeading = 1.75

func (s strip) marksHeight() float64 {
	n := 0
	for _, k := range s.marks {
		if MarkMeaning(k) != "" {
			n++
		}
	}
	return s.size * markLeading * float64(n)
}

// drawMarks draws a sample of every kind of mark and says what it means, with the
// upper left corner at the point.
func (s strip) drawMarks(p *pen, corner plane.Point) {
	y := corner.Y
	for _, k := range s.marks {
		words := MarkMeaning(k)
		if words == "" {
			continue
		}
		y -= markLeading * s.size
		p.markSample(k, at(corner.X+15, y+0.35*s.size))
		p.text(Text{At: at(corner.X+34, y), Words: words, Size: 0.9 * s.size})
	}
}

// markSample draws the mark as it stands on a piece whose cut line lies above it.
func (p *pen) markSample(kind pad.MarkKind, seam plane.Point) {
	const allowance, tick, gap = 3.2, 3.0, 2.5
	p.line(SeamLine, seam.Add(plane.Vec{X: -9}), seam.Add(plane.Vec{X: 9}))
	cut := seam.Add(plane.Vec{Y: allowance})
	k := pad.Mark{Kind: kind, At: seam, From: cut, To: seam, Along: 1}
	ticks := map[pad.MarkKind]int{pad.FrontCentre: 3, pad.QuarterRight: 2, pad.PipingMeets: 0, pad.CornerMark: 0, pad.PipingSeam: 0, pad.BandJoin: 0}
	n, known := ticks[kind]
	if !known {
		n = 1
	}
	for i := range n {
		foot := cut.Add(plane.Vec{X: (float64(i) - float64(n-1)/2) * gap})
		k.Strokes = append(k.Strokes, pad.Stroke{From: foot, To: foot.Add(plane.Vec{Y: -tick + 0.8})})
	}
	p.padMark(k)
}
