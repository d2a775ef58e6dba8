package testscene

import (
	"math"

	"fairedge/internal/card"
	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// Seat returns a tapered seat outline about the origin, back edge at +y, counter-
// clockwise, starting at the sharp left back corner: straight sides, rounded front
// corners of the given radius, front edge bowed outward by bow (all mm). It is not
// symmetric: the right front radius is a tenth larger.
func Seat(back, front, depth, radius, bow float64) curve.Path {
	bl, br := plane.Point{X: -back / 2, Y: depth / 2}, plane.Point{X: back / 2, Y: depth / 2}
	fl, fr := plane.Point{X: -front / 2, Y: -depth / 2}, plane.Point{X: front / 2, Y: -depth / 2}
	leftIn, leftOut := filletEnds(bl, fl, fr, radius)
	rightIn, rightOut := filletEnds(fl, fr, br, 1.1*radius)
	third := rightIn.Sub(leftOut).Scale(1.0 / 3)
	sag := plane.Vec{Y: -bow * 4 / 3} // a cubic's middle lies 3/4 of its handles' height away
	leaving, arriving := third.Add(sag), third.Sub(sag)
	return curve.ClosedPath(
		curve.Line(bl, leftIn),
		filletCurve(leftIn, fl.Sub(bl), leftOut, leaving),
		curve.Cubic(leftOut, leftOut.Add(leaving), rightIn.Add(arriving.Neg()), rightIn),
		filletCurve(rightIn, arriving, rightOut, br.Sub(fr)),
		curve.Line(rightOut, br),
		curve.Line(br, bl),
	)
}

// filletEnds returns where a circle of the given radius touches the two sides of
// corner b.
func filletEnds(a, b, c plane.Point, radius float64) (in, out plane.Point) {
	toA, toC := a.Sub(b).Unit(), c.Sub(b).Unit()
	reach := radius / math.Tan(math.Abs(toA.AngleTo(toC))/2)
	return b.Add(toA.Scale(reach)), b.Add(toC.Scale(reach))
}

// filletCurve turns from one direction to the other by one cubic whose handles are
// as long as a circle's through the same ends would be: (4/3) tan(turn/4) radii,
// the radius being chord / (2 sin(turn/2)). It is its own truth.
func filletCurve(from plane.Point, leaving plane.Vec, to plane.Point, arriving plane.Vec) curve.Segment {
	turn := math.Abs(leaving.AngleTo(arriving))
	handle := from.DistanceTo(to) / (2 * math.Sin(turn/2)) * 4 / 3 * math.Tan(turn/4)
	return curve.Cubic(from, from.Add(leaving.Unit().Scale(handle)),
		to.Add(arriving.Unit().Scale(-handle)), to)
}

// Oval returns an ellipse-like outline about the origin of four cubics, counter-
// clockwise from the right.
func Oval(width, depth float64) curve.Path {
	const k = 0.5522847498 // (4/3)(√2 - 1): a quarter circle to 0.03 % of its radius
	a, b := width/2, depth/2
	quarter := func(x0, y0, x1, y1 float64) curve.Segment {
		p, q := plane.Point{X: x0 * a, Y: y0 * b}, plane.Point{X: x1 * a, Y: y1 * b}
		return curve.Cubic(p, p.Add(plane.Vec{X: k * x1 * a, Y: k * y1 * b}),
			q.Add(plane.Vec{X: k * x0 * a, Y: k * y0 * b}), q)
	}
	return curve.ClosedPath(quarter(1, 0, 0, 1), quarter(0, 1, -1, 0), quarter(-1, 0, 0, -1), quarter(0, -1, 1, 0))
}

// Marker returns the pen of an ordinary black marker.
func Marker() Pen { return Pen{WidthMM: 1.8, Darkness: 0.95, Tone: 0.03} }

// PlacedCard lays a card of edition card.Edition with its middle at (x, y), turned
// by degrees counter-clockwise.
func PlacedCard(paper card.Paper, number int, x, y, degrees float64) Placement {
	return Placement{
		Card:          card.ID{Edition: card.Edition, Paper: paper, Number: number},
		PlaneFromCard: plane.RigidFromAngle(degrees*math.Pi/180, plane.Vec{X: x, Y: y}),
	}
}

// Workbench returns an everyday scene of 12 MP: a tapered seat drawn in black
// marker on white paper on an oak bench, the four loose A4 cards around it on the
// bench, a phone of 26 mm equivalent tilted by 10 degrees. Change what the test is
// about.
func Workbench() Scene {
	return Scene{
		Outline: Seat(380, 440, 410, 60, 14),
		Kind:    DrawnLine,
		Line:    Marker(),
		Sheet: Sheet{WidthMM: 540, HeightMM: 500, PlaneFromSheet: plane.RigidFromAngle(0.03, plane.Vec{X: 4, Y: -3}),
			Tone: 0.85, Opacity: 1, Grain: 0.01},
		Bench: Bench{Tone: 0.3, Grain: 0.15, Turn: 0.2, Tint: Tint{-22, 16}},
		Cards: []Placement{
			PlacedCard(card.A4, 1, -340, 170, 8),
			PlacedCard(card.A4, 2, 345, 180, -5),
			PlacedCard(card.A4, 3, -345, -160, -94),
			PlacedCard(card.A4, 4, 350, -150, 175),
		},
		Camera: Phone12MP(),
		Sensor: Sensor{BlurPx: 0.7, NoiseShare: 0.012, Gradient: 0.25, GradientTo: 0.7, Vignette: 0.15},
		Seed:   1,
	}
}

// Phone12MP returns a phone of 26 mm equivalent, 720 mm from the bench: 0.24 mm
// per pixel.
func Phone12MP() Camera {
	return Camera{Width: 4032, Height: 3024, F: 3030, K1: -0.02, K2: 0.008,
		CxOffset: 9, CyOffset: -6, DistanceMM: 720, TiltDeg: 10, AzimuthDeg: 4, RollDeg: -2}
}

// Scaled returns the camera with the same view and share times the pixels in each
// direction, rounded to whole pixels; the principal point's offset scales too.
func (c Camera) Scaled(share float64) Camera {
	c.Width = int(math.Round(float64(c.Width) * share))
	c.Height = int(math.Round(float64(c.Height) * share))
	c.F, c.CxOffset, c.CyOffset = c.F*share, c.CxOffset*share, c.CyOffset*share
	return c
}
