package curve

import (
	"math"

	"fairedge/internal/plane"
)

// Flatten returns points along the path such that the straight lines between them
// stay within tolerance (mm) of it, and it of them: guaranteed. The first point
// of a closed path is not repeated at the end. Straight pieces give their ends
// alone.
func (p Path) Flatten(tolerance float64) []plane.Point {
	var points []plane.Point
	for _, s := range p.segments {
		n := s.chords(tolerance)
		for i := range n {
			points = append(points, s.At(float64(i)/float64(n)))
		}
	}
	if n := len(p.segments); n > 0 && !p.closed {
		points = append(points, p.segments[n-1].P3)
	}
	return points
}

// chords returns into how many chords of equal parameter the piece must be cut.
// Linear interpolation over a step h errs by at most h²/8 max|P”|, and P” runs
// straight from end to end, so its greatest value stands at an end.
func (s Segment) chords(tolerance float64) int {
	if s.Straight {
		return 1
	}
	bend := math.Max(s.SecondDerivative(0).Length(), s.SecondDerivative(1).Length())
	return max(1, int(math.Ceil(math.Sqrt(bend/(8*tolerance)))))
}
