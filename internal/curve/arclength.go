package curve

import (
	"math"
	"sort"

	"fairedge/internal/plane"
)

// Spot is a place on a path: parameter T in [0, 1] of the piece with index Piece,
// and the point there.
type Spot struct {
	Piece int
	T     float64
	Point plane.Point
}

// Spot returns the place at parameter t of piece i.
func (p Path) Spot(i int, t float64) Spot { return Spot{i, t, p.segments[i].At(t)} }

// ArcLength returns the length of the piece in mm. The error is at most tolerance
// (mm) unless the piece hides a cusp narrower than 2^-24 of its parameter.
func (s Segment) ArcLength(tolerance float64) float64 { return s.LengthBetween(0, 1, tolerance) }

// LengthBetween returns the length in mm of the piece from parameter a to b, within
// tolerance; negative when b < a.
func (s Segment) LengthBetween(a, b, tolerance float64) float64 {
	if s.Straight {
		return (b - a) * s.P0.DistanceTo(s.P3)
	}
	return s.lengthAdaptive(a, b, s.gaussLength(a, b), tolerance, 24)
}

// lengthAdaptive halves the span until the rule on the halves agrees with the rule
// on the whole. The difference is the error of the whole, and the halves, which
// are returned, are better by many orders where the speed is smooth: the
// tolerance is kept with a wide margin.
func (s Segment) lengthAdaptive(a, b, whole, tolerance float64, depth int) float64 {
	m := (a + b) / 2
	left, right := s.gaussLength(a, m), s.gaussLength(m, b)
	if depth == 0 || math.Abs(left+right-whole) <= tolerance {
		return left + right
	}
	return s.lengthAdaptive(a, m, left, tolerance/2, depth-1) + s.lengthAdaptive(m, b, right, tolerance/2, depth-1)
}

// gaussLength is the 8-point Gauss-Legendre rule for ∫|P'| dt; nodes and weights
// from Abramowitz and Stegun, "Handbook of Mathematical Functions", table 25.4.
func (s Segment) gaussLength(a, b float64) float64 {
	nodes := [4]float64{0.183434642495650, 0.525532409916329, 0.796666477413627, 0.960289856497536}
	weights := [4]float64{0.362683783378362, 0.313706645877887, 0.222381034453374, 0.101228536290376}
	mid, half := (a+b)/2, (b-a)/2
	sum := 0.0
	for i, x := range nodes {
		sum += weights[i] * (s.Derivative(mid-half*x).Length() + s.Derivative(mid+half*x).Length())
	}
	return half * sum
}

// AtLength returns the parameter at which the piece, travelled from its start, has
// the given length in mm, within tolerance mm along the curve. Lengths outside the
// piece give 0 or 1.
func (s Segment) AtLength(length, tolerance float64) float64 {
	total := s.ArcLength(tolerance / 4)
	if length <= 0 || total == 0 {
		return 0
	}
	if length >= total {
		return 1
	}
	lo, hi := 0.0, 1.0
	t := length / total
	// Newton's method on the length, whose slope is the speed, inside a bracket.
	for range 60 {
		excess := s.LengthBetween(0, t, tolerance/4) - length
		if math.Abs(excess) <= tolerance/2 {
			return t
		}
		if excess > 0 {
			hi = t
		} else {
			lo = t
		}
		t -= excess / s.Derivative(t).Length()
		if !(t > lo && t < hi) {
			t = (lo + hi) / 2
		}
	}
	return t
}

// ArcLength returns the length of the path in mm, within tolerance.
func (p Path) ArcLength(tolerance float64) float64 {
	sum := 0.0
	for _, s := range p.segments {
		sum += s.ArcLength(tolerance / float64(len(p.segments)))
	}
	return sum
}

// LengthTo returns the length in mm from the start of the path to the spot, within
// tolerance.
func (p Path) LengthTo(spot Spot, tolerance float64) float64 {
	share := tolerance / float64(spot.Piece+1)
	sum := 0.0
	for _, s := range p.segments[:spot.Piece] {
		sum += s.ArcLength(share)
	}
	return sum + p.segments[spot.Piece].LengthBetween(0, spot.T, share)
}

// AtLength returns the spot at the given length in mm from the start of the path,
// within tolerance. On a closed path the length is taken round and round (negative
// goes backwards); on an open one it stops at the ends. The path must not be empty.
func (p Path) AtLength(length, tolerance float64) Spot {
	return p.AtLengths([]float64{length}, tolerance)[0]
}

// AtLengths is AtLength for many lengths at once; it measures the path only once.
func (p Path) AtLengths(lengths []float64, tolerance float64) []Spot {
	share := tolerance / float64(2*len(p.segments))
	ends := make([]float64, len(p.segments)) // ends[i] is the length up to the end of piece i
	total := 0.0
	for i, s := range p.segments {
		total += s.ArcLength(share)
		ends[i] = total
	}
	spots := make([]Spot, len(lengths))
	for k, length := range lengths {
		if p.closed && total > 0 {
			length -= total * math.Floor(length/total)
		}
		i := min(sort.SearchFloat64s(ends, length), len(ends)-1)
		before := 0.0
		if i > 0 {
			before = ends[i-1]
		}
		spots[k] = p.Spot(i, p.segments[i].AtLength(length-before, share))
	}
	return spots
}
