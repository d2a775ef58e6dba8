package curve

import "math"

// quadraticRoots appends the real roots of a t² + b t + c that lie strictly
// inside (0, 1), in rising order. A double root counts once.
func quadraticRoots(roots []float64, a, b, c float64) []float64 {
	lo, hi := solveQuadratic(a, b, c)
	if lo > 0 && lo < 1 {
		roots = append(roots, lo)
	}
	if hi > lo && hi > 0 && hi < 1 {
		roots = append(roots, hi)
	}
	return roots
}

// solveQuadratic returns the real roots, lo <= hi, the same number twice if there is
// one, or NaN if there is none.
func solveQuadratic(a, b, c float64) (lo, hi float64) {
	if math.Abs(a) <= 1e-14*(math.Abs(b)+math.Abs(c)) {
		return -c / b, -c / b // NaN or infinite if b is 0 as well
	}
	// q has the sign of b, so that nothing cancels (Press et al., "Numerical
	// Recipes", section 5.6); without a real root it is NaN.
	q := -0.5 * (b + math.Copysign(math.Sqrt(b*b-4*a*c), b))
	if q == 0 {
		return 0, 0
	}
	return math.Min(q/a, c/q), math.Max(q/a, c/q)
}

// quintic holds the six Bernstein coefficients of a polynomial of degree 5 on
// [0, 1].
type quintic [6]float64

// rootDepth bounds the halvings in search of roots: 2^-48 of the interval is
// below what float64 resolves near the end 1.
const rootDepth = 48

// roots appends every root of q in [lo, hi], the span on which q is given, and
// calls no root twice. The number of sign changes in the Bernstein coefficients
// bounds the number of roots from above and has its parity (Descartes' rule;
// Farouki, "The Bernstein polynomial basis: a centennial retrospective", 2012,
// section 5.2): none means no root, one means exactly one.
func (q quintic) roots(out []float64, lo, hi float64, depth int) []float64 {
	switch q.signChanges() {
	case 0:
		return out
	case 1:
		return append(out, lo+(hi-lo)*q.onlyRoot())
	}
	if depth == 0 {
		return append(out, (lo+hi)/2)
	}
	left, right := q.halves()
	mid := (lo + hi) / 2
	if right[0] == 0 {
		out = append(out, mid)
	}
	out = left.roots(out, lo, mid, depth-1)
	return right.roots(out, mid, hi, depth-1)
}

func (q quintic) signChanges() int {
	changes, last := 0, 0.0
	for _, c := range q {
		if c == 0 {
			continue
		}
		if last*c < 0 {
			changes++
		}
		last = math.Copysign(1, c)
	}
	return changes
}

func (q quintic) halves() (left, right quintic) {
	for i := range q {
		left[i], right[5-i] = q[0], q[5-i]
		for j := 0; j < 5-i; j++ {
			q[j] = (q[j] + q[j+1]) / 2
		}
	}
	return left, right
}

// at returns the value and the slope at t by de Casteljau's scheme, whose last but one
// row holds the tangent.
func (q quintic) at(t float64) (value, slope float64) {
	u := 1 - t
	for n := 5; n > 1; n-- {
		for j := 0; j < n; j++ {
			q[j] = u*q[j] + t*q[j+1]
		}
	}
	return u*q[0] + t*q[1], 5 * (q[1] - q[0])
}

// onlyRoot returns the one root in [0, 1] of a polynomial whose coefficients
// change sign once: Newton's method, kept inside a shrinking bracket.
func (q quintic) onlyRoot() float64 {
	lo, hi := 0.0, 1.0
	rising := q.firstSign() < 0
	t := 0.5
	for range 64 {
		v, slope := q.at(t)
		if v == 0 {
			return t
		}
		if (v < 0) == rising {
			lo = t
		} else {
			hi = t
		}
		next := t - v/slope
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-t) < 1e-15 {
			return next
		}
		t = next
	}
	return t
}

func (q quintic) firstSign() float64 {
	for _, c := range q {
		if c != 0 {
			return c
		}
	}
	return 0
}
