package curve

import (
	"math"

	"fairedge/internal/plane"
)

// parallel is the exact curve at distance d to the right of a cubic,
//
//	Q(t) = P(t) + d n(t),   Q' = (1 + κ d) P',
//
// with n the outward normal and κ the curvature. Where 1 + κd < 0 (a bend tighter
// than the offset can follow) it runs backwards, between two cusps.
//
// It runs from parameter first to last; start and end are the ends and directions to
// use there in place of its own, so that neighbours meet although the seam has a turn
// of a fraction of a degree.
type parallel struct {
	source      Segment
	d           float64
	start, end  ray
	first, last float64
}

func newParallel(source Segment, d float64, start, end ray) parallel {
	return parallel{source, d, start, end, 0, 1}
}

// ray is a point and a unit direction.
type ray struct {
	at  plane.Point
	dir plane.Vec
}

// at returns the point of the parallel curve.
func (c parallel) at(t float64) plane.Point {
	return c.source.At(t).Add(c.source.OutwardNormal(t).Scale(c.d))
}

// stretch returns |P'|³ (1 + κ d), whose sign is the direction of travel; finite
// even where P' vanishes.
func (c parallel) stretch(t float64) float64 {
	d := c.source.Derivative(t)
	l := d.Length()
	return l*l*l + c.d*d.Cross(c.source.SecondDerivative(t))
}

// ray returns the point at t and the direction of travel there, seen from within
// a span that runs forwards (sign 1) or backwards (-1).
func (c parallel) ray(t, sign float64) ray {
	switch t {
	case c.first:
		return ray{c.start.at, c.start.dir.Scale(sign)}
	case c.last:
		return ray{c.end.at, c.end.dir.Scale(sign)}
	}
	return ray{c.at(t), c.source.Tangent(t).Scale(sign)}
}

// cuspSteps is the number of samples among which changes of direction are looked
// for. A reversal between two samples is missed; it is shorter than 1/64 of the
// piece, and the fit then subdivides there.
const cuspSteps = 64

// cusps returns the parameters where the direction of travel changes. A reversal
// whose extent is less than tolerance is left out: the fit runs past it.
func (c parallel) cusps(tolerance float64) []float64 {
	var roots []float64
	t, f := c.first, c.stretch(c.first)
	for i := 1; i <= cuspSteps; i++ {
		next := c.first + (c.last-c.first)*float64(i)/cuspSteps
		g := c.stretch(next)
		if (f < 0) != (g < 0) {
			roots = append(roots, c.cuspBetween(t, next, f < 0))
		}
		t, f = next, g
	}
	var kept []float64
	for i := 0; i < len(roots); i++ {
		if i+1 < len(roots) && c.reach(roots[i], roots[i+1]) < tolerance {
			i++
			continue
		}
		kept = append(kept, roots[i])
	}
	return kept
}

func (c parallel) cuspBetween(lo, hi float64, negative bool) float64 {
	for range 50 {
		mid := (lo + hi) / 2
		if (c.stretch(mid) < 0) == negative {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// reach returns about how far the parallel curve gets between two parameters, in mm.
func (c parallel) reach(a, b float64) float64 {
	m := c.at((a + b) / 2)
	return c.at(a).DistanceTo(m) + m.DistanceTo(c.at(b))
}

// cubics returns cubics that stay within tolerance of the parallel curve, joined
// smoothly except at cusps, as few as the fit allows; and the greatest distance
// measured.
func (c parallel) cubics(tolerance float64) (pieces []Segment, worst float64) {
	t := c.first
	for _, next := range append(c.cusps(tolerance/10), c.last) {
		span, err := c.spanCubics(t, next, tolerance)
		pieces = append(pieces, span...)
		worst = math.Max(worst, err)
		t = next
	}
	return pieces, worst
}

// mostCubics bounds the pieces of one span between cusps.
const mostCubics = 64

// spanCubics covers the span from a to b without a cusp. If neither one cubic nor two
// halves are enough, the cuts are set as far from a as the tolerance allows, then as far from
// b, and the means of both are used: they leave an even margin, and the mirror
// image of an outline gets the mirror image of its cuts.
func (c parallel) spanCubics(a, b, tolerance float64) ([]Segment, float64) {
	sign := math.Copysign(1, c.stretch((a+b)/2))
	if s, err := c.fit(a, b, sign); err <= tolerance {
		return []Segment{s}, err
	}
	if halves, err := c.fitAll(a, b, []float64{(a + b) / 2}, sign); err <= tolerance {
		return halves, err
	}
	forth := c.cuts(a, b, sign, tolerance)
	back := c.cuts(b, a, sign, tolerance)
	if len(forth) == len(back) {
		means := make([]float64, len(forth))
		for i := range forth {
			means[i] = (forth[i] + back[len(back)-1-i]) / 2
		}
		if pieces, err := c.fitAll(a, b, means, sign); err <= tolerance {
			return pieces, err
		}
	}
	return c.fitAll(a, b, forth, sign)
}

// cuts returns the parameters between a and b (which may be less than a) at which
// to cut, each as far from the one before as tolerance allows.
func (c parallel) cuts(a, b, sign, tolerance float64) []float64 {
	var cuts []float64
	for len(cuts) < mostCubics && !c.fits(a, b, sign, tolerance) {
		near, far := a+(b-a)/mostCubics, b
		for range 9 {
			mid := (near + far) / 2
			if c.fits(a, mid, sign, tolerance) {
				near = mid
			} else {
				far = mid
			}
		}
		a = near
		cuts = append(cuts, a)
	}
	return cuts
}

func (c parallel) fits(a, b, sign, tolerance float64) bool {
	_, err := c.fit(math.Min(a, b), math.Max(a, b), sign)
	return err <= tolerance
}

func (c parallel) fitAll(a, b float64, cuts []float64, sign float64) (pieces []Segment, worst float64) {
	for _, next := range append(append([]float64(nil), cuts...), b) {
		s, err := c.fit(a, next, sign)
		pieces = append(pieces, s)
		worst = math.Max(worst, err)
		a = next
	}
	return pieces, worst
}
