package shapefile

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
)

// Corners are the radii of the four corners; 0 is a sharp one. Left and right are those
// of a person who looks from above with the back at the top.
type Corners struct{ BackLeft, BackRight, FrontLeft, FrontRight length.Length }

// AllCorners returns the same radius for all four corners.
func AllCorners(r length.Length) Corners { return Corners{r, r, r, r} }

// Trapezoid returns a seat with a straight back and front, one above the other's middle,
// depth apart, its corners rounded. Equal back and front make a rectangle.
func Trapezoid(back, front, depth length.Length, c Corners) (shape.Shape, error) {
	if err := allWithin(named{"back", back}, named{"front", front}, named{"depth", depth}); err != nil {
		return shape.Shape{}, err
	}
	b, f, d := back.Millimetres()/2, front.Millimetres()/2, depth.Millimetres()
	// Counter-clockwise from the back's right end.
	at := []plane.Point{{X: b}, {X: -b}, {X: -f, Y: -d}, {X: f, Y: -d}}
	radii := []length.Length{c.BackRight, c.BackLeft, c.FrontLeft, c.FrontRight}
	return roundedPolygon(at, radii, []string{"back right", "back left", "front left", "front right"})
}

// Rectangle returns a seat of the given width and depth, its corners rounded.
func Rectangle(width, depth length.Length, c Corners) (shape.Shape, error) {
	if err := allWithin(named{"width", width}, named{"depth", depth}); err != nil {
		return shape.Shape{}, err
	}
	return Trapezoid(width, width, depth, c)
}

// Oval returns an elliptic seat, or a round one if both are equal.
func Oval(width, depth length.Length) (shape.Shape, error) {
	if err := allWithin(named{"width", width}, named{"depth", depth}); err != nil {
		return shape.Shape{}, err
	}
	a, b := width.Millimetres()/2, depth.Millimetres()/2
	ellipse := translation(0, -b).after(scaling(a, b))
	for n := 16; ; n *= 2 {
		s := arcOf(ellipse, math.Pi/2, fullTurn, n)
		if n >= mostArcPieces || n >= len(arc(ellipse, 0, fullTurn)) && mostTurn(s) <= mostArcTurn {
			return finished(joined(s))
		}
	}
}

// mostTurn returns the greatest turn of one of the pieces.
func mostTurn(s []curve.Segment) float64 {
	most := 0.0
	for _, g := range s {
		most = math.Max(most, math.Abs(g.Turn()))
	}
	return most
}

// Horseshoe returns a seat shaped like a D: a straight back as wide as the seat, straight
// sides square to it, and half an ellipse for the front; the round part is as deep as the
// seat is half as wide, or all of the depth if that is less.
func Horseshoe(width, depth length.Length, c Corners) (shape.Shape, error) {
	if err := allWithin(named{"width", width}, named{"depth", depth}); err != nil {
		return shape.Shape{}, err
	}
	if c.FrontLeft != 0 || c.FrontRight != 0 {
		return shape.Shape{}, problem.New(problem.Usage, "a horseshoe has no front corners", "round only the back corners")
	}
	a, d := width.Millimetres()/2, depth.Millimetres()
	round := math.Min(a, d)
	straight := d - round
	if c.BackLeft.Millimetres() > straight || c.BackRight.Millimetres() > straight {
		return shape.Shape{}, problem.Newf(problem.Usage, "use smaller corners or a deeper seat",
			"the sides are straight for only %s, too short for the back corners", mm(straight).Metric())
	}
	var s []curve.Segment
	s = append(s, rounding(plane.Point{X: a, Y: -straight}, plane.Point{X: a}, plane.Point{X: -a}, c.BackRight.Millimetres())...)
	s = append(s, rounding(plane.Point{X: a}, plane.Point{X: -a}, plane.Point{X: -a, Y: -straight}, c.BackLeft.Millimetres())...)
	front := arc(translation(0, -straight).after(scaling(a, round)), math.Pi, math.Pi)
	front[0].P0, front[len(front)-1].P3 = plane.Point{X: -a, Y: -straight}, plane.Point{X: a, Y: -straight}
	return finished(linked(append(s, front...)))
}

type named struct {
	name string
	l    length.Length
}

// allWithin refuses measures that no seat has.
func allWithin(all ...named) error {
	for _, n := range all {
		if l := n.l.Millimetres(); !(l >= leastExtent && l <= greatestExtent) {
			return problem.Newf(problem.Usage, "check its unit: a number alone is in mm",
				"the %s must be from %g mm to %g mm, not %s", n.name, leastExtent, greatestExtent, n.l)
		}
	}
	return nil
}

// roundedPolygon returns the polygon, counter-clockwise from the back's right end, with
// each corner rounded to its radius.
func roundedPolygon(at []plane.Point, radii []length.Length, names []string) (shape.Shape, error) {
	n := len(at)
	cut := make([]float64, n) // how much of both sides a corner takes
	for i := range at {
		r := radii[i].Millimetres()
		if !(r >= 0) || math.IsInf(r, 0) {
			return shape.Shape{}, problem.Newf(problem.Usage, "use 0 for a sharp corner", "the %s corner has the radius %s", names[i], radii[i])
		}
		turn := at[i].Sub(at[(i+n-1)%n]).AngleTo(at[(i+1)%n].Sub(at[i]))
		cut[i] = r * math.Tan(turn/2)
	}
	for i := range at {
		k := (i + 1) % n
		if side := at[i].DistanceTo(at[k]); cut[i]+cut[k] > side*(1+1e-12) {
			return shape.Shape{}, problem.Newf(problem.Usage, "use smaller radii",
				"the %s and %s corners need %s of a side of %s", names[i], names[k], mm(cut[i]+cut[k]).Metric(), mm(side).Metric())
		}
	}
	var s []curve.Segment
	for i := range at {
		s = append(s, rounding(at[(i+n-1)%n], at[i], at[(i+1)%n], radii[i].Millimetres())...)
	}
	return finished(linked(s))
}

// rounding returns the arc that rounds the corner at b between the sides from a and to c;
// for a sharp corner a piece of no length, which linked takes out.
func rounding(a, b, c plane.Point, radius float64) []curve.Segment {
	if radius == 0 {
		return []curve.Segment{curve.Line(b, b)}
	}
	in, out := b.Sub(a).Unit(), c.Sub(b).Unit()
	turn := in.AngleTo(out)
	from := b.Add(in.Scale(-radius * math.Tan(turn/2)))
	centre := from.Add(in.TurnLeft().Scale(radius))
	s := arc(translation(centre.X, centre.Y).after(scaling(radius, radius)), in.TurnRight().Angle(), turn)
	s[0].P0, s[len(s)-1].P3 = from, b.Add(out.Scale(radius*math.Tan(turn/2)))
	return s
}

// linked puts straight sides between the corners, and leaves out sides and corners of no
// length.
func linked(corners []curve.Segment) []curve.Segment {
	var out []curve.Segment
	for i, s := range corners {
		if controlLength(s) > leastPiece {
			out = append(out, s)
		}
		if next := corners[(i+1)%len(corners)].P0; s.P3.DistanceTo(next) > leastPiece {
			out = append(out, curve.Line(s.P3, next))
		}
	}
	return joined(out)
}

// joined lets every piece start exactly where the one before ends.
func joined(s []curve.Segment) []curve.Segment {
	for i := range s {
		k := (i + 1) % len(s)
		if s[i].P3 != s[k].P0 {
			s[k] = withStart(s[k], s[i].P3)
		}
	}
	return s
}

// finished makes the shape, whose back is at y = 0. Each straight side is an edge, and
// each corner between two.
func finished(s []curve.Segment) (shape.Shape, error) {
	var starts []int
	for i, g := range s {
		if g.Straight {
			starts = append(starts, i, (i+1)%len(s))
		}
	}
	out, err := shape.FromOutline(curve.ClosedPath(s...), starts, nil, shape.BackHint{Said: plane.Vec{Y: 1}})
	if err != nil {
		return out, err
	}
	return out, check(out)
}
