package nest

import (
	"math"
	"math/bits"
)

// The solver counts in whole nanometres, kept in float64: 10 m are 1e10 nm, far
// below 2⁵³, so that sums of positions and vertices are exact, two rectangles can
// touch without a gap, and a decimal typed by a person ("456.7 mm") stays what it
// is. Every outline is rounded to whole nanometres after its turn; every position
// is a whole number of nanometres.
const nmPerMM = 1e6

// vec is a place or a displacement in nanometres, x along the cloth, y across it.
type vec struct{ x, y float64 }

func (a vec) add(b vec) vec       { return vec{a.x + b.x, a.y + b.y} }
func (a vec) sub(b vec) vec       { return vec{a.x - b.x, a.y - b.y} }
func (a vec) scale(s float64) vec { return vec{a.x * s, a.y * s} }
func (a vec) dot(b vec) float64   { return a.x*b.x + a.y*b.y }
func (a vec) cross(b vec) float64 { return a.x*b.y - a.y*b.x }
func (a vec) length() float64     { return math.Hypot(a.x, a.y) }
func (a vec) rounded() vec        { return vec{math.RoundToEven(a.x), math.RoundToEven(a.y)} }

func toNM(mm float64) float64   { return math.Round(mm * nmPerMM) }
func fromNM(nm float64) float64 { return nm / nmPerMM }

// turnSign returns the sign of the turn a, b, c: +1 left, -1 right, 0 straight on.
// It is exact for whole coordinates below 2⁶²: the two products are compared as
// 128-bit integers.
func turnSign(a, b, c vec) int {
	return productsCompared(int64(b.x-a.x), int64(c.y-a.y), int64(b.y-a.y), int64(c.x-a.x))
}

// crossSign returns the sign of u × v for whole u and v, exactly.
func crossSign(u, v vec) int {
	return productsCompared(int64(u.x), int64(v.y), int64(u.y), int64(v.x))
}

// productsCompared returns the sign of a·b - c·d.
func productsCompared(a, b, c, d int64) int {
	signL, hiL, loL := product(a, b)
	signR, hiR, loR := product(c, d)
	if signL != signR {
		return compare(signL, signR)
	}
	if hiL != hiR {
		return signL * compare(hiL, hiR)
	}
	return signL * compare(loL, loR)
}

// product returns a·b as a sign and a magnitude of 128 bits.
func product(a, b int64) (sign int, hi, lo uint64) {
	sign = compare(a, 0) * compare(b, 0)
	hi, lo = bits.Mul64(magnitude(a), magnitude(b))
	return sign, hi, lo
}

func magnitude(a int64) uint64 {
	if a < 0 {
		return uint64(-a)
	}
	return uint64(a)
}

func compare[T int | int64 | uint64](a, b T) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// box is an upright box in nanometres.
type box struct{ min, max vec }

func boxOf(points []vec) box {
	b := box{vec{math.Inf(1), math.Inf(1)}, vec{math.Inf(-1), math.Inf(-1)}}
	for _, p := range points {
		b.min = vec{math.Min(b.min.x, p.x), math.Min(b.min.y, p.y)}
		b.max = vec{math.Max(b.max.x, p.x), math.Max(b.max.y, p.y)}
	}
	return b
}

func (b box) size() vec { return b.max.sub(b.min) }
