package curve

import (
	"math"

	"fairedge/internal/plane"
)

// Contains reports whether q lies inside the closed path, by the non-zero rule. A
// point nearer to the path than about 1e-9 mm may be told either way.
func (p Path) Contains(q plane.Point) bool { return p.Winding(q) != 0 }

// Winding returns how often the closed path runs round q, counter-clockwise
// positive: 1 inside a simple outline, 0 outside. It counts where the path crosses
// the ray from q to the right, upward crossings +1, downward -1; half-open height
// ranges count a crossing at a joint once.
func (p Path) Winding(q plane.Point) int {
	winding := 0
	for i, s := range p.segments {
		// The next start stands for this end: they agree only to joinTolerance, and a
		// gap between them would lose a crossing.
		s.P3 = p.segments[(i+1)%len(p.segments)].P0
		winding += s.crossings(q)
	}
	return winding
}

// crossings returns the signed number of times the piece crosses the ray from q to
// the right.
func (s Segment) crossings(q plane.Point) int {
	lowest := math.Min(math.Min(s.P0.Y, s.P1.Y), math.Min(s.P2.Y, s.P3.Y))
	highest := math.Max(math.Max(s.P0.Y, s.P1.Y), math.Max(s.P2.Y, s.P3.Y))
	rightmost := math.Max(math.Max(s.P0.X, s.P1.X), math.Max(s.P2.X, s.P3.X))
	if q.Y < lowest || q.Y > highest || q.X > rightmost {
		return 0
	}
	if s.Straight {
		return s.monotoneCrossing(q, 0, 1, s.P0.Y, s.P3.Y)
	}
	var buffer [2]float64
	a, b, c := s.P1.Y-s.P0.Y, s.P2.Y-s.P1.Y, s.P3.Y-s.P2.Y
	count, t, y := 0, 0.0, s.P0.Y
	for _, next := range quadraticRoots(buffer[:0], a-2*b+c, 2*(b-a), a) {
		nextY := s.At(next).Y
		count += s.monotoneCrossing(q, t, next, y, nextY)
		t, y = next, nextY
	}
	return count + s.monotoneCrossing(q, t, 1, y, s.P3.Y)
}

// monotoneCrossing is crossings for the span from t0 to t1, along which y only
// rises or only falls from y0 to y1.
func (s Segment) monotoneCrossing(q plane.Point, t0, t1, y0, y1 float64) int {
	sign := 1
	if y1 < y0 {
		sign = -1
		t0, t1, y0, y1 = t1, t0, y1, y0
	}
	if q.Y < y0 || q.Y >= y1 {
		return 0
	}
	if s.xAtHeight(q.Y, t0, t1, y0, y1) > q.X {
		return sign
	}
	return 0
}

// xAtHeight returns x where the rising span from t0 to t1 has height y, by the
// regula falsi with bisection as its guard.
func (s Segment) xAtHeight(y, t0, t1, y0, y1 float64) float64 {
	t := t0
	for k := range 80 {
		t = t0 + (t1-t0)*(y-y0)/(y1-y0)
		if k%3 == 2 || !(y1 > y0) {
			t = (t0 + t1) / 2
		}
		p := s.At(t)
		if math.Abs(p.Y-y) < 1e-12 || math.Abs(t1-t0) < 1e-15 {
			return p.X
		}
		if p.Y < y {
			t0, y0 = t, p.Y
		} else {
			t1, y1 = t, p.Y
		}
	}
	return s.At(t).X
}
