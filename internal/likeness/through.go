package likeness

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// throughTolerance is how far, mm, the lines and cubics drawn through points may leave
// them.
const throughTolerance = 0.01

// kink is the turn in radians over a few points from which the outline has a corner there.
// The points are exact, unlike traced ones, so that small kinks are real. Larger: kinks
// are rounded; smaller: small fillets are cut in more pieces than need be.
const kink = 12 * math.Pi / 180

// kinkArm is over how many points to each side the turn is taken.
const kinkArm = 3

// closedThrough returns a closed outline of lines and cubics through exact points, within
// throughTolerance of them, smooth but at corners (Schneider, "An algorithm for
// automatically fitting digitized curves", Graphics Gems, 1990).
func closedThrough(points []plane.Point) curve.Path {
	n := len(points)
	corners := kinks(points)
	first := 0
	smooth := len(corners) == 0
	if !smooth {
		first = corners[0]
	}
	turned := make([]plane.Point, n+1)
	for i := range turned {
		turned[i] = points[(first+i)%n]
	}
	if smooth {
		t := turned[1].Sub(turned[n-1]).Unit()
		return curve.ClosedPath(straightened(through(nil, turned, t, t.Neg()))...)
	}
	var out []curve.Segment
	for i, c := range corners {
		from, to := c-first, n
		if i+1 < len(corners) {
			to = corners[i+1] - first
		}
		run := turned[from : to+1]
		out = through(out, run, endTangent(run), endTangent(backwards(run)))
	}
	return curve.ClosedPath(straightened(out)...)
}

// straightened makes one line of those that carry on straight: halving has cut them. The
// corners between stay within throughTolerance of it.
func straightened(segments []curve.Segment) []curve.Segment {
	n := len(segments)
	first := 0 // a piece that no line before it runs on into
	for i, s := range segments {
		before := segments[(i+n-1)%n]
		if !s.Straight || !before.Straight || !runsOn(before, []plane.Point{s.P0}, s.P3) {
			first = i
			break
		}
	}
	var out []curve.Segment
	var passed []plane.Point
	for i := range segments {
		s := segments[(first+i)%n]
		if k := len(out) - 1; k >= 0 && s.Straight && out[k].Straight && runsOn(out[k], append(passed, s.P0), s.P3) {
			passed = append(passed, s.P0)
			out[k] = curve.Line(out[k].P0, s.P3)
			continue
		}
		out, passed = append(out, s), nil
	}
	return out
}

// runsOn reports whether the line may run on to q past the corners.
func runsOn(line curve.Segment, corners []plane.Point, q plane.Point) bool {
	whole := curve.Line(line.P0, q)
	for _, c := range corners {
		if _, d := whole.Nearest(c); d > throughTolerance {
			return false
		}
	}
	return line.P3.Sub(line.P0).Dot(q.Sub(line.P3)) > 0
}

// kinks returns the points where the outline turns sharply, and moves them to where the
// sides meet.
func kinks(points []plane.Point) []int {
	n := len(points)
	turn := make([]float64, n)
	for i := range points {
		before, after := points[(i+n-kinkArm)%n], points[(i+kinkArm)%n]
		turn[i] = math.Abs(points[i].Sub(before).AngleTo(after.Sub(points[i])))
	}
	var out []int
	for i := range points {
		sharpest := turn[i] > kink
		for k := 1; k <= kinkArm && sharpest; k++ {
			sharpest = turn[i] > turn[(i+n-k)%n] && turn[i] >= turn[(i+k)%n]
		}
		if sharpest {
			out = append(out, i)
		}
	}
	for _, i := range out {
		a, b := points[(i+n-2)%n], points[(i+n-1)%n]
		d, c := points[(i+2)%n], points[(i+1)%n]
		u, v := b.Sub(a), c.Sub(d)
		if cross := u.Cross(v); math.Abs(cross) > 1e-9*u.Length()*v.Length() {
			q := b.Add(u.Scale(d.Sub(b).Cross(v) / cross))
			if q.DistanceTo(points[i]) < 2*u.Length() {
				points[i] = q
			}
		}
	}
	return out
}

func backwards(points []plane.Point) []plane.Point {
	out := make([]plane.Point, len(points))
	for i, p := range points {
		out[len(out)-1-i] = p
	}
	return out
}

// endTangent returns the direction at the first point of the parabola through the first
// three.
func endTangent(p []plane.Point) plane.Vec {
	if len(p) < 3 {
		return p[len(p)-1].Sub(p[0]).Unit()
	}
	return p[1].Sub(p[0]).Scale(4).Sub(p[2].Sub(p[0])).Unit()
}

// through appends lines and cubics along the points, leaving in the direction from and
// arriving against the direction to.
func through(out []curve.Segment, p []plane.Point, from, to plane.Vec) []curve.Segment {
	last := len(p) - 1
	chord := curve.Line(p[0], p[last])
	if worst, _ := farthest(p, chord); worst <= throughTolerance {
		return append(out, chord)
	}
	if last == 1 {
		return append(out, chord)
	}
	at := shares(p)
	var split int
	for range 6 {
		s := leastSquares(p, at, from, to)
		worst, i := deviation(p, at, s)
		if worst <= throughTolerance {
			return append(out, s)
		}
		split = i
		if worst > 100*throughTolerance {
			break
		}
		reparametrise(p, at, s)
	}
	split = min(max(split, 1), last-1)
	across := p[split+1].Sub(p[split-1]).Unit()
	out = through(out, p[:split+1], from, across.Neg())
	return through(out, p[split:], across, to)
}

// farthest returns the greatest distance of the points from the line, and the point's
// index; a point beyond its ends counts as far as it is from the nearer end.
func farthest(p []plane.Point, line curve.Segment) (worst float64, at int) {
	for i, q := range p {
		if _, d := line.Nearest(q); d > worst {
			worst, at = d, i
		}
	}
	return worst, at
}

// shares returns each point's share of the way along the points.
func shares(p []plane.Point) []float64 {
	at := make([]float64, len(p))
	for i := 1; i < len(p); i++ {
		at[i] = at[i-1] + p[i].DistanceTo(p[i-1])
	}
	for i := range at {
		at[i] /= at[len(at)-1]
	}
	return at
}

// leastSquares returns the cubic with the given ends and end directions that comes nearest
// to the points at their parameters: two unknown handle lengths, two linear equations.
func leastSquares(p []plane.Point, at []float64, from, to plane.Vec) curve.Segment {
	last := len(p) - 1
	var c00, c01, c11, x0, x1 float64
	for i, t := range at {
		u := 1 - t
		b0, b1, b2, b3 := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
		a0, a1 := from.Scale(b1), to.Scale(b2)
		rest := p[i].Sub(plane.Point{
			X: (b0+b1)*p[0].X + (b2+b3)*p[last].X,
			Y: (b0+b1)*p[0].Y + (b2+b3)*p[last].Y,
		})
		c00, c01, c11 = c00+a0.Dot(a0), c01+a0.Dot(a1), c11+a1.Dot(a1)
		x0, x1 = x0+a0.Dot(rest), x1+a1.Dot(rest)
	}
	length := p[0].DistanceTo(p[last])
	h0, h1 := length/3, length/3
	if det := c00*c11 - c01*c01; math.Abs(det) > 1e-12*c00*c11 {
		if a, b := (x0*c11-x1*c01)/det, (c00*x1-c01*x0)/det; a > 1e-3*length && b > 1e-3*length {
			h0, h1 = a, b
		}
	}
	return curve.Cubic(p[0], p[0].Add(from.Scale(h0)), p[last].Add(to.Scale(h1)), p[last])
}

// deviation returns the greatest distance of a point from the curve at its parameter.
func deviation(p []plane.Point, at []float64, s curve.Segment) (worst float64, index int) {
	for i, q := range p {
		if d := s.At(at[i]).DistanceTo(q); d > worst {
			worst, index = d, i
		}
	}
	return worst, index
}

// reparametrise moves each parameter one Newton step towards the foot of its point.
func reparametrise(p []plane.Point, at []float64, s curve.Segment) {
	for i := 1; i < len(p)-1; i++ {
		d, v, a := s.At(at[i]).Sub(p[i]), s.Derivative(at[i]), s.SecondDerivative(at[i])
		if bend := v.Dot(v) + d.Dot(a); bend > 0 {
			at[i] = math.Min(1, math.Max(0, at[i]-d.Dot(v)/bend))
		}
	}
}
