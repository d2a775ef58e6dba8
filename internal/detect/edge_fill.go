package detect

import (
	"math"

	"fairedge/internal/plane"
)

// bridgeArm is how much of the line on either side, in mm, tells how it runs
// across a gap: longer follows bends that are not the gap's, shorter magnifies
// the roughness of the ink.
const bridgeArm = 22.0

// fillGaps carries the line over every run of unseen samples, by a cubic through
// the arms on both sides in the frame of the chord. For an arc of radius R the
// error is of the order x⁴/8R³: 0.02 mm at 35 mm from the middle and R = 200 mm.
func (t *tracer) fillGaps() {
	n := len(t.chain)
	start := -1
	for i, s := range t.states {
		if s == measured || s == strayed {
			start = i
			break
		}
	}
	if start < 0 {
		return
	}
	for d := 1; d < n; d++ {
		i := wrap(start+d, n)
		if t.states[i] != unseen {
			continue
		}
		m := 1
		for d+m < n && t.states[wrap(i+m, n)] == unseen {
			m++
		}
		t.fillGap(i, m)
		d += m
	}
}

// fillGap fills m samples from sample i on.
func (t *tracer) fillGap(i, m int) {
	n := len(t.chain)
	a, b := t.at(i-1), t.at(i+m)
	along := b.Sub(a).Unit()
	across := along.TurnLeft()
	var xs, ys []float64
	arm := int(bridgeArm / t.params.Step)
	take := func(k int) bool {
		k = wrap(k, n)
		if t.states[k] == measured {
			v := t.chain[k].Sub(a)
			xs, ys = append(xs, v.Dot(along)), append(ys, v.Dot(across))
		}
		return !t.corner[k]
	}
	for d := 1; d <= arm && take(i-d); d++ {
	}
	left := len(xs)
	for d := 0; d < arm && take(i+m+d); d++ {
	}
	length := b.Sub(a).Length()
	poly := []float64{0}
	if left >= 6 && len(xs)-left >= 6 && length > 0 {
		poly = fitPolynomial(xs, ys, 3, length)
	}
	for k := range m {
		x := length * float64(k+1) / float64(m+1)
		y := 0.0
		for p := len(poly) - 1; p >= 0; p-- {
			y = y*(x/length) + poly[p]
		}
		t.chain[wrap(i+k, n)] = a.Add(along.Scale(x)).Add(across.Scale(y))
	}
}

// fitPolynomial returns the coefficients of the polynomial of the degree (at
// most 6) in x/unit that fits best.
func fitPolynomial(xs, ys []float64, degree int, unit float64) []float64 {
	var n normal7
	for k, x := range xs {
		var j [lineUnknowns]float64
		p := 1.0
		for d := 0; d <= degree; d++ {
			j[d] = p
			p *= x / unit
		}
		n.add(&j, ys[k], 1)
	}
	if !n.solve(1e-12) {
		return []float64{0}
	}
	return n.x[:degree+1]
}

// fillCorners carries both arms of every corner on to where they meet.
func (t *tracer) fillCorners() {
	for i, isCorner := range t.corner {
		if isCorner {
			t.fillCorner(i)
		}
	}
}

func (t *tracer) fillCorner(i int) {
	before, okB := t.arm(i, -1)
	after, okA := t.arm(i, 1)
	if !okA || !okB {
		t.straighten(i)
		return
	}
	apex, ok := before.meet(after)
	if !ok || apex.DistanceTo(t.chain[i]) > 6 {
		t.straighten(i)
		return
	}
	n := len(t.chain)
	t.chain[i] = apex
	for _, side := range []struct {
		dir int
		arm arm
	}{{-1, before}, {1, after}} {
		m := 1
		for m < n && t.states[wrap(i+side.dir*m, n)] == atCorner && !t.corner[wrap(i+side.dir*m, n)] {
			m++
		}
		from := side.arm.along(apex)
		to := side.arm.along(t.at(i + side.dir*m))
		for k := 1; k < m; k++ {
			t.chain[wrap(i+side.dir*k, n)] = side.arm.at(from + (to-from)*float64(k)/float64(m))
		}
	}
}

// straighten leaves a corner's samples on the straight ways between the corner
// and the nearest measured samples.
func (t *tracer) straighten(i int) {
	n := len(t.chain)
	for _, dir := range []int{-1, 1} {
		m := 1
		for m < n && t.states[wrap(i+dir*m, n)] == atCorner && !t.corner[wrap(i+dir*m, n)] {
			m++
		}
		for k := 1; k < m; k++ {
			t.chain[wrap(i+dir*k, n)] = t.chain[i].Lerp(t.at(i+dir*m), float64(k)/float64(m))
		}
	}
}

// arm is a short stretch of line as a parabola in its own frame.
type arm struct {
	origin plane.Point
	u, v   plane.Vec
	p      []float64
	unit   float64
}

func (a arm) along(q plane.Point) float64 { return q.Sub(a.origin).Dot(a.u) }

func (a arm) height(x float64) float64 {
	y := 0.0
	for k := len(a.p) - 1; k >= 0; k-- {
		y = y*(x/a.unit) + a.p[k]
	}
	return y
}

func (a arm) at(x float64) plane.Point {
	return a.origin.Add(a.u.Scale(x)).Add(a.v.Scale(a.height(x)))
}

// arm fits the measured samples on one side of corner i: a parabola when there
// are enough of them, else a straight line.
func (t *tracer) arm(i, dir int) (arm, bool) {
	const reach = 16.0 // mm: shorter is rougher, longer bends more than a parabola
	n := len(t.chain)
	var points []plane.Point
	for d := 1; d < int(reach/t.params.Step)+4; d++ {
		k := wrap(i+dir*d, n)
		if t.corner[k] {
			break
		}
		if t.states[k] == measured && t.sheet[k] == t.sheet[wrap(i+dir*2, n)] {
			points = append(points, t.chain[k])
		}
	}
	if len(points) < 4 {
		return arm{}, false
	}
	a := arm{origin: points[0], unit: reach}
	a.u = points[len(points)-1].Sub(points[0]).Unit()
	a.v = a.u.TurnLeft()
	var xs, ys []float64
	for _, q := range points {
		xs, ys = append(xs, q.Sub(a.origin).Dot(a.u)), append(ys, q.Sub(a.origin).Dot(a.v))
	}
	degree := 1
	if len(points) >= 12 {
		degree = 2
	}
	for range 3 {
		a.p = fitPolynomial(xs, ys, degree, reach)
		if xs, ys = a.withoutStrays(xs, ys); len(xs) < 4 {
			return arm{}, false
		}
	}
	return a, true
}

// withoutStrays returns the samples within four times the median distance of the
// arm (at least 0.15 mm).
func (a arm) withoutStrays(xs, ys []float64) (keptX, keptY []float64) {
	off := make([]float64, len(xs))
	for k, x := range xs {
		off[k] = math.Abs(ys[k] - a.height(x))
	}
	limit := math.Max(0.15, 4*quantile(append([]float64(nil), off...), 0.5))
	for k := range xs {
		if off[k] <= limit {
			keptX, keptY = append(keptX, xs[k]), append(keptY, ys[k])
		}
	}
	return keptX, keptY
}

// meet returns where two arms, carried on, cross: Newton's method on the two
// places along them.
func (a arm) meet(b arm) (plane.Point, bool) {
	x, y := 0.0, 0.0
	for range 20 {
		const h = 0.01
		p, q := a.at(x), b.at(y)
		du, dv := a.at(x+h).Sub(p).Scale(1/h), b.at(y+h).Sub(q).Scale(1/h)
		cross := du.Cross(dv)
		if math.Abs(cross) < 0.05 {
			return plane.Point{}, false
		}
		gap := q.Sub(p)
		x += gap.Cross(dv) / cross
		y += gap.Cross(du) / cross
		if math.Abs(x) > 40 || math.Abs(y) > 40 {
			return plane.Point{}, false
		}
	}
	return a.at(x), a.at(x).DistanceTo(b.at(y)) < 0.01
}
