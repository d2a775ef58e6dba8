package testscene

import (
	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// Writing returns strokes that look like a word of n letters: arches and stems of
// the given height from the point at to the right, drawn on the sheet. The letters
// follow from the seed.
func Writing(at plane.Point, height float64, n int, pen Pen, seed uint64) []Stroke {
	var strokes []Stroke
	for k := range n {
		h := hash(seed+301, uint64(k))
		foot := at.Add(plane.Vec{X: 0.8 * height * float64(k)})
		stem := height * (0.5 + 0.5*float64(h&1))
		arch := height * (0.35 + 0.2*float64(h>>1&1))
		move := func(x, y float64) plane.Point { return foot.Add(plane.Vec{X: x, Y: y}) }
		path := curve.OpenPath(
			curve.Line(move(0, stem), move(0, 0)),
			curve.Cubic(move(0, 0), move(0.1*height, 1.3*arch), move(0.45*height, 1.3*arch), move(0.5*height, 0)),
		)
		strokes = append(strokes, Stroke{Path: path, Pen: pen, OnSheet: true})
	}
	return strokes
}

// Tick returns a stroke of the given length square across the outline, its middle
// on piece i at parameter t: the mark of a back's centre, for one.
func Tick(outline curve.Path, i int, t, length float64, pen Pen) Stroke {
	s := outline.Segment(i)
	half := s.Derivative(t).Unit().TurnRight().Scale(length / 2)
	middle := s.At(t)
	return Stroke{Path: curve.OpenPath(curve.Line(middle.Add(half.Neg()), middle.Add(half))), Pen: pen, OnSheet: true}
}

// Faint returns a weak second line: the outline moved by shift, in pencil.
func Faint(outline curve.Path, shift plane.Vec) Stroke {
	moved := outline.Map(func(p plane.Point) plane.Point { return p.Add(shift) })
	return Stroke{Path: moved, Pen: Pen{WidthMM: 0.5, Darkness: 0.3, Tone: 0.15}, OnSheet: true}
}
