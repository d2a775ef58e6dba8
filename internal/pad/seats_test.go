package pad_test

import (
	"math"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/shape"
)

func pt(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

// quarter is the handle of a quarter circle as one cubic, by the usual rule
// 4/3 (√2 - 1); the radius is kept within 2.8e-4 of itself.
const quarter = 4.0 / 3 * (math.Sqrt2 - 1)

// seatOf makes a shape of an outline that lies with its back towards +y.
func seatOf(t testing.TB, outline curve.Path, ticks ...shape.PlaneTick) shape.Shape {
	t.Helper()
	s, err := shape.FromOutline(outline, outline.Corners(0.5), ticks, shape.BackHint{Said: plane.Vec{Y: 1}})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// trapezoid is a seat with sharp corners, width w in front and b at the back.
func trapezoid(front, back, depth float64) curve.Path {
	return curve.Polygon(pt(back/2, 0), pt(-back/2, 0), pt(-front/2, -depth), pt(front/2, -depth))
}

func rectangle(w, d float64) curve.Path { return trapezoid(w, w, d) }

// fillet returns a quarter circle from a to b about a corner: handles towards it.
func fillet(a, corner, b plane.Point) curve.Segment {
	return curve.Cubic(a, a.Lerp(corner, quarter), b.Lerp(corner, quarter), b)
}

// rounded is a rectangle w by d with front corners of radius f and back corners of
// radius b.
func rounded(w, d, f, b float64) curve.Path {
	x := w / 2
	return curve.ClosedPath(
		curve.Line(pt(x-b, 0), pt(-x+b, 0)), fillet(pt(-x+b, 0), pt(-x, 0), pt(-x, -b)),
		curve.Line(pt(-x, -b), pt(-x, -d+f)), fillet(pt(-x, -d+f), pt(-x, -d), pt(-x+f, -d)),
		curve.Line(pt(-x+f, -d), pt(x-f, -d)), fillet(pt(x-f, -d), pt(x, -d), pt(x, -d+f)),
		curve.Line(pt(x, -d+f), pt(x, -b)), fillet(pt(x, -b), pt(x, 0), pt(x-b, 0)),
	)
}

// bowFront is a tapered seat with sharp corners and a bowed front, not symmetric by
// a little.
func bowFront() curve.Path {
	return curve.ClosedPath(
		curve.Line(pt(190, 0), pt(-190, 0)), curve.Line(pt(-190, 0), pt(-228, -400)),
		curve.Cubic(pt(-228, -400), pt(-80, -436), pt(78, -440), pt(231, -398)), curve.Line(pt(231, -398), pt(190, 0)),
	)
}

// circleOf is a round seat of n cubic arcs; its back is at the top.
func circleOf(radius float64) curve.Path {
	const n = 8
	step := 2 * math.Pi / n
	handle := 4.0 / 3 * math.Tan(step/4) * radius
	var all []curve.Segment
	for k := range n {
		a, b := float64(k)*step, float64(k+1)*step
		p, q := pt(radius*math.Cos(a), radius*math.Sin(a)), pt(radius*math.Cos(b), radius*math.Sin(b))
		u, v := plane.Vec{X: -math.Sin(a), Y: math.Cos(a)}, plane.Vec{X: -math.Sin(b), Y: math.Cos(b)}
		all = append(all, curve.Cubic(p, p.Add(u.Scale(handle)), q.Add(v.Scale(-handle)), q))
	}
	return curve.ClosedPath(all...)
}

// horseshoe has a straight back and one curve of three cubics round the rest.
func horseshoe() curve.Path {
	return curve.ClosedPath(
		curve.Line(pt(180, 0), pt(-180, 0)),
		curve.Cubic(pt(-180, 0), pt(-215, -90), pt(-235, -170), pt(-230, -240)),
		curve.Cubic(pt(-230, -240), pt(-222, -370), pt(-120, -430), pt(0, -430)),
		curve.Cubic(pt(0, -430), pt(120, -430), pt(222, -370), pt(230, -240)),
		curve.Cubic(pt(230, -240), pt(235, -170), pt(215, -90), pt(180, 0)),
	)
}

// notched is a rectangle with a square post notch in each back corner.
func notched(w, d, notch float64) curve.Path {
	x := w / 2
	return curve.Polygon(pt(x-notch, 0), pt(-x+notch, 0), pt(-x+notch, -notch), pt(-x, -notch),
		pt(-x, -d), pt(x, -d), pt(x, -notch), pt(x-notch, -notch))
}

// saddle has hollow sides.
func saddle() curve.Path {
	return curve.ClosedPath(
		curve.Line(pt(190, 0), pt(-190, 0)),
		curve.Cubic(pt(-190, 0), pt(-170, -120), pt(-170, -240), pt(-225, -330)),
		curve.Cubic(pt(-225, -330), pt(-250, -380), pt(-220, -410), pt(-180, -415)),
		curve.Cubic(pt(-180, -415), pt(-60, -430), pt(60, -430), pt(180, -415)),
		curve.Cubic(pt(180, -415), pt(220, -410), pt(250, -380), pt(225, -330)),
		curve.Cubic(pt(225, -330), pt(170, -240), pt(170, -120), pt(190, 0)),
	)
}
