package detect

import (
	"math"

	"fairedge/internal/plane"
)

// steady replaces the course by its own smooth course: every point goes onto the
// parabola through its neighbours, with Tukey's weights, so that a dent where
// writing touched the line is cut straight through and shows as strays in the
// next pass. The window shrinks on bends: over half a radian a parabola leaves a
// circle of radius R by under 0.001 R.
func (t *tracer) steady() {
	n := len(t.chain)
	out := append(chain(nil), t.chain...)
	spreadRows(n, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			if t.states[i] == atCorner || t.corner[i] {
				continue
			}
			if reach := t.straightReach(i); reach >= 3 {
				out[i] = t.steadied(i, reach)
			}
		}
	})
	t.chain = out
}

// straightReach returns over how many samples to either side the course turns by
// less than half a radian, at most 12 mm.
func (t *tracer) straightReach(i int) int {
	for m := int(12 / t.params.Step); m >= 3; m = m * 3 / 4 {
		a, b, c := t.at(i-m), t.chain[i], t.at(i+m)
		if t.room(i, m) >= m && math.Abs(b.Sub(a).AngleTo(c.Sub(b))) > 0.5 {
			continue
		}
		return m
	}
	return 0
}

// steadied returns point i moved, squarely to the course, onto the parabola
// through the points within reach on its side of the corners.
func (t *tracer) steadied(i, reach int) plane.Point {
	n := len(t.chain)
	outward := t.outward(i, max(3, reach/2))
	along := outward.TurnLeft()
	var xs, ys [64]float64
	m := 0
	unit := float64(reach) * t.params.Step
	for _, dir := range [2]int{-1, 1} {
		for d := 0; d <= reach && m < len(xs); d++ {
			k := wrap(i+dir*d, n)
			if d > 0 && t.corner[k] {
				break
			}
			if (d == 0 && dir > 0) || t.states[k] == atCorner || (d > 4 && d%2 == 1) {
				continue
			}
			v := t.chain[k].Sub(t.chain[i])
			xs[m], ys[m] = v.Dot(along)/unit, v.Dot(outward)
			m++
		}
	}
	if m < 5 {
		return t.chain[i]
	}
	value, _, _ := tukeyParabola(xs[:m], ys[:m])
	return t.chain[i].Add(outward.Scale(clamp(value, -2, 2)))
}
