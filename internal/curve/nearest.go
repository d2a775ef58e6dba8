package curve

import (
	"math"

	"fairedge/internal/plane"
)

// Nearest returns the parameter of the point of the piece nearest to q, and the
// distance in mm. No minimum is missed: every place where the distance stops
// falling is a root of one quintic, and all its roots in [0, 1] are isolated.
func (s Segment) Nearest(q plane.Point) (t, distance float64) {
	best, at := s.P0.DistanceSqTo(q), 0.0
	if d := s.P3.DistanceSqTo(q); d < best {
		best, at = d, 1
	}
	var buffer [8]float64
	for _, t := range s.feet(q, buffer[:0]) {
		if d := s.At(t).DistanceSqTo(q); d < best {
			best, at = d, t
		}
	}
	return at, math.Sqrt(best)
}

// feet appends every parameter in [0, 1] where the line to q stands square on the
// piece: the roots of f(t) = (P(t) - q)·P'(t), in Bernstein form the product of a
// cubic and a quadratic (Farouki and Rajan, "Algorithms for polynomials in
// Bernstein form", CAGD 5, 1988, section 3).
func (s Segment) feet(q plane.Point, out []float64) []float64 {
	if s.Straight {
		along := s.P3.Sub(s.P0)
		if t := q.Sub(s.P0).Dot(along) / along.LengthSq(); t >= 0 && t <= 1 {
			out = append(out, t)
		}
		return out
	}
	r := [4]plane.Vec{s.P0.Sub(q), s.P1.Sub(q), s.P2.Sub(q), s.P3.Sub(q)}
	h := [3]plane.Vec{r[1].Sub(r[0]), r[2].Sub(r[1]), r[3].Sub(r[2])}
	// coefficient k = Σ C(3,i) C(2,k-i) / C(5,k) r[i]·h[k-i]
	f := quintic{
		r[0].Dot(h[0]),
		(2*r[0].Dot(h[1]) + 3*r[1].Dot(h[0])) / 5,
		(r[0].Dot(h[2]) + 6*r[1].Dot(h[1]) + 3*r[2].Dot(h[0])) / 10,
		(3*r[1].Dot(h[2]) + 6*r[2].Dot(h[1]) + r[3].Dot(h[0])) / 10,
		(3*r[2].Dot(h[2]) + 2*r[3].Dot(h[1])) / 5,
		r[3].Dot(h[2]),
	}
	return f.roots(out, 0, 1, rootDepth)
}

// Nearest returns the spot of the path nearest to q and its distance in mm; of
// several equally near, the first along the path. The path must not be empty.
func (p Path) Nearest(q plane.Point) (Spot, float64) {
	// The nearest joint bounds the distance, so that most pieces need no closer look.
	bound := math.Inf(1)
	for _, s := range p.segments {
		bound = math.Min(bound, math.Min(s.P0.DistanceSqTo(q), s.P3.DistanceSqTo(q)))
	}
	bound = math.Sqrt(bound) * (1 + 1e-12)
	best, at := math.Inf(1), Spot{}
	for i, s := range p.segments {
		if boxDistance(s.hull(), q) > math.Min(bound, best) {
			continue
		}
		if t, d := s.Nearest(q); d < best {
			best, at = d, p.Spot(i, t)
		}
	}
	return at, best
}

// boxDistance returns the distance in mm from q to the box; 0 inside.
func boxDistance(r plane.Rect, q plane.Point) float64 {
	dx := math.Max(0, math.Max(r.Min.X-q.X, q.X-r.Max.X))
	dy := math.Max(0, math.Max(r.Min.Y-q.Y, q.Y-r.Max.Y))
	return math.Hypot(dx, dy)
}
