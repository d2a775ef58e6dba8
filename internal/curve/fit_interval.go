package curve

import (
	"math"

	"fairedge/internal/plane"
)

// fitInterval is what one piece would cost on the blocks between two nodes.
type fitInterval struct {
	lineRSS, cubicRSS float64 // weighted sums of squares across the outline, mm²
	curvature         float64 // mean curvature, 1/mm
	length, turn      float64 // mm, radians
	blocks            int
	quintic           fitQuintic
}

// fitQuintic is a polynomial of arc length in Legendre form on u in [-1, 1].
type fitQuintic struct {
	x, y   [6]float64
	origin plane.Point
	s0, s1 float64
}

// legendre returns the first six Legendre polynomials at u.
func legendre(u float64) [6]float64 {
	v := u * u
	return [6]float64{1, u, 1.5*v - 0.5, u * (2.5*v - 1.5),
		v*(4.375*v-3.75) + 0.375, u * (v*(7.875*v-8.75) + 1.875)}
}

// legendreSlope returns their derivatives: P'k+1 = P'k-1 + (2k+1) Pk.
func legendreSlope(u float64) [6]float64 {
	p := legendre(u)
	d := [6]float64{0, 1}
	for k := 1; k < 5; k++ {
		d[k+1] = d[k-1] + float64(2*k+1)*p[k]
	}
	return d
}

func (q fitQuintic) at(u float64) plane.Point {
	p := legendre(u)
	var x, y float64
	for k, v := range p {
		x += v * q.x[k]
		y += v * q.y[k]
	}
	return plane.Point{X: q.origin.X + x, Y: q.origin.Y + y}
}

func (q fitQuintic) along(u float64) plane.Vec {
	p := legendreSlope(u)
	var x, y float64
	for k, v := range p {
		x += v * q.x[k]
		y += v * q.y[k]
	}
	return plane.Vec{X: x, Y: y}
}

// fitDatum is one block as the interval fits see it: unrolled arc length, and the
// outline's direction there.
type fitDatum struct {
	at      plane.Point
	s, w    float64
	normal  plane.Vec
	scatter float64 // weighted squares, mm², lost when neighbours were averaged into this one
}

// halved returns the data with neighbours averaged in pairs.
func halved(data []fitDatum) []fitDatum {
	out := make([]fitDatum, 0, len(data)/2+1)
	for i := 0; i+1 < len(data); i += 2 {
		a, b := data[i], data[i+1]
		w := a.w + b.w
		n := a.normal.Add(b.normal).Unit()
		across := b.at.Sub(a.at).Dot(n)
		out = append(out, fitDatum{a.at.Lerp(b.at, b.w/w), a.s + (b.s-a.s)*b.w/w, w, n,
			a.scatter + b.scatter + a.w*b.w/w*across*across})
	}
	if len(data)%2 == 1 {
		out = append(out, data[len(data)-1])
	}
	return out
}

// measureInterval fits a line and a quintic of arc length to the data and derives
// what a cubic Bezier would leave. A cubic Bezier with free handles follows a
// curve to the sixth order in its length, as the quintic does (de Boor, Höllig,
// Sabin, High accuracy geometric Hermite interpolation, 1987), but the quintic is
// linear; the Bezier's own shortfall against the quintic is added, unless the mean
// square is beyond hopeless, mm², without it.
func measureInterval(data []fitDatum, s0, s1, hopeless float64) fitInterval {
	iv := fitInterval{length: s1 - s0, blocks: len(data)}
	if len(data) == 0 {
		return iv
	}
	var scatter float64
	for _, d := range data {
		scatter += d.scatter
	}
	iv.lineRSS = lineResidual(data) + scatter
	if len(data) < 4 {
		iv.cubicRSS = math.Inf(1)
		return iv
	}
	degree := min(5, len(data)-2)
	q, ok := fitQuinticTo(data, s0, s1, degree)
	if !ok {
		iv.cubicRSS = math.Inf(1)
		return iv
	}
	iv.quintic = q
	iv.cubicRSS = scatter
	var w float64
	for _, d := range data {
		u := (2*d.s - s0 - s1) / (s1 - s0)
		e := d.at.Sub(q.at(u)).Dot(d.normal)
		iv.cubicRSS += d.w * e * e
		w += d.w
	}
	t0, t1 := q.along(-1), q.along(1)
	iv.turn = t0.AngleTo(t1)
	mid := q.along(0)
	half := (s1 - s0) / 2
	iv.curvature = 3 * mid.Unit().Cross(plane.Vec{X: q.x[2], Y: q.y[2]}) / (half * half)
	if iv.cubicRSS < hopeless*w {
		iv.cubicRSS += w * bezierShortfall(q)
	}
	return iv
}

// lineResidual returns the least weighted sum of squared distances to a line:
// the smaller eigenvalue of the scatter matrix.
func lineResidual(data []fitDatum) float64 {
	var w, x, y, xx, xy, yy float64
	o := data[0].at
	for _, d := range data {
		v := d.at.Sub(o)
		w += d.w
		x += d.w * v.X
		y += d.w * v.Y
		xx += d.w * v.X * v.X
		xy += d.w * v.X * v.Y
		yy += d.w * v.Y * v.Y
	}
	xx -= x * x / w
	xy -= x * y / w
	yy -= y * y / w
	return math.Max(0, (xx+yy)/2-math.Hypot((xx-yy)/2, xy))
}

func fitQuinticTo(data []fitDatum, s0, s1 float64, degree int) (fitQuintic, bool) {
	var a [6][6]float64
	var bx, by [6]float64
	n := degree + 1
	o := data[len(data)/2].at
	for _, d := range data {
		p := legendre((2*d.s - s0 - s1) / (s1 - s0))
		x, y := d.at.X-o.X, d.at.Y-o.Y
		for i := 0; i < n; i++ {
			wp := d.w * p[i]
			bx[i] += wp * x
			by[i] += wp * y
			for j := 0; j <= i; j++ {
				a[i][j] += wp * p[j]
			}
		}
	}
	q := fitQuintic{origin: o, s0: s0, s1: s1}
	if !solveSmall(&a, &bx, &by, n) {
		return q, false
	}
	q.x, q.y = bx, by
	return q, true
}

// solveSmall solves two systems with one symmetric matrix by Cholesky's method,
// in place; the lower triangle is given.
func solveSmall(a *[6][6]float64, bx, by *[6]float64, n int) bool {
	for i := 0; i < n; i++ {
		for j := 0; j <= i; j++ {
			sum := a[i][j]
			for k := 0; k < j; k++ {
				sum -= a[i][k] * a[j][k]
			}
			if i > j {
				a[i][j] = sum / a[j][j]
			} else if sum <= 1e-12 {
				return false
			} else {
				a[i][i] = math.Sqrt(sum)
			}
		}
	}
	for i := 0; i < n; i++ {
		for k := 0; k < i; k++ {
			bx[i] -= a[i][k] * bx[k]
			by[i] -= a[i][k] * by[k]
		}
		bx[i] /= a[i][i]
		by[i] /= a[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			bx[i] -= a[k][i] * bx[k]
			by[i] -= a[k][i] * by[k]
		}
		bx[i] /= a[i][i]
		by[i] /= a[i][i]
	}
	return true
}

// bezierShortfall returns the mean squared distance, mm², that the best cubic
// Bezier with the quintic's ends and end directions leaves to it: two handle
// lengths by Gauss-Newton on orthogonal distances at a dozen places.
func bezierShortfall(q fitQuintic) float64 {
	_, ms := handlesFor(q)
	return ms
}

func handlesFor(q fitQuintic) (Segment, float64) {
	const places, rounds = 12, 3
	p0, p3 := q.at(-1), q.at(1)
	u0, u1 := q.along(-1).Unit(), q.along(1).Unit()
	a := (q.s1 - q.s0) / 3
	b := a
	var on [places]plane.Point
	var ts [places]float64
	for k := range on {
		ts[k] = (float64(k) + 0.5) / places
		on[k] = q.at(2*ts[k] - 1)
	}
	best, least := Segment{}, math.Inf(1)
	for r := 0; ; r++ {
		seg := Cubic(p0, p0.Add(u0.Scale(a)), p3.Add(u1.Scale(-b)), p3)
		var aa, ab, bb, ga, gb, sum float64
		for k, p := range on {
			t := newtonNearest(seg, p, ts[k])
			ts[k] = t
			n := seg.Derivative(t).Unit().TurnLeft()
			e := p.Sub(seg.At(t)).Dot(n)
			ja := 3 * (1 - t) * (1 - t) * t * u0.Dot(n)
			jb := -3 * (1 - t) * t * t * u1.Dot(n)
			aa += ja * ja
			ab += ja * jb
			bb += jb * jb
			ga += ja * e
			gb += jb * e
			sum += e * e
		}
		// On a flat piece a step may overshoot.
		if ms := sum / places; ms < least {
			best, least = seg, ms
		}
		if r == rounds {
			return best, least
		}
		small := 1e-6 * (aa + bb + 1e-9)
		aa += small
		bb += small
		det := aa*bb - ab*ab
		da, db := (bb*ga-ab*gb)/det, (aa*gb-ab*ga)/det
		a = math.Min(math.Max(a+da, 0.3*a), 3*a)
		b = math.Min(math.Max(b+db, 0.3*b), 3*b)
	}
}

// newtonClose is the step, in parameter, after which Newton's method has no need of
// another: the error left is about its square, and the distance feels the square of that.
const newtonClose = 1e-3

// newtonNearest returns the parameter of the point of s nearest to p, by two
// Newton steps on (B - p)·B' = 0 from t, kept in [0, 1]. Where the second
// derivative would make the step run away from a minimum it is left out.
func newtonNearest(s Segment, p plane.Point, t float64) float64 {
	if s.Straight {
		d := s.P3.Sub(s.P0)
		return math.Min(1, math.Max(0, p.Sub(s.P0).Dot(d)/d.LengthSq()))
	}
	for range 2 {
		d, dd := s.Derivative(t), s.SecondDerivative(t)
		e := s.At(t).Sub(p)
		g, h := e.Dot(d), d.LengthSq()
		if full := h + e.Dot(dd); full > 0.3*h {
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
