package curve

import (
	"math"

	"fairedge/internal/plane"
)

// fitPowers is a segment as a polynomial, c0 + c1 t + c2 t² + c3 t³: a fit asks for the
// nearest points of one segment hundreds of times.
type fitPowers struct {
	c0         plane.Point
	c1, c2, c3 plane.Vec
	straight   bool
}

func powersOf(segments []Segment) []fitPowers {
	out := make([]fitPowers, len(segments))
	for i, s := range segments {
		f := fitPowers{c0: s.P0, c1: s.P3.Sub(s.P0), straight: s.Straight}
		if !s.Straight {
			d := s.P2.Sub(s.P1)
			f.c1 = s.P1.Sub(s.P0).Scale(3)
			f.c2 = d.Scale(3).Sub(f.c1)
			f.c3 = s.P3.Sub(s.P0).Sub(d.Scale(3))
		}
		out[i] = f
	}
	return out
}

// at returns the point at t and the derivative there.
func (f *fitPowers) at(t float64) (plane.Point, plane.Vec) {
	return plane.Point{X: f.c0.X + t*(f.c1.X+t*(f.c2.X+t*f.c3.X)), Y: f.c0.Y + t*(f.c1.Y+t*(f.c2.Y+t*f.c3.Y))},
		plane.Vec{X: f.c1.X + t*(2*f.c2.X+3*t*f.c3.X), Y: f.c1.Y + t*(2*f.c2.Y+3*t*f.c3.Y)}
}

// nearest is newtonNearest.
func (f *fitPowers) nearest(p plane.Point, t float64) float64 {
	if f.straight {
		return math.Min(1, math.Max(0, p.Sub(f.c0).Dot(f.c1)/f.c1.LengthSq()))
	}
	for range 2 {
		at, d := f.at(t)
		ex, ey := at.X-p.X, at.Y-p.Y
		g, h := ex*d.X+ey*d.Y, d.X*d.X+d.Y*d.Y
		if full := h + 2*(ex*(f.c2.X+3*t*f.c3.X)+ey*(f.c2.Y+3*t*f.c3.Y)); full > 0.3*h {
			h = full
		}
		if h == 0 {
			return t
		}
		step := g / h
		t = math.Min(1, math.Max(0, t-step))
		if math.Abs(step) < newtonClose {
			break
		}
	}
	return t
}
