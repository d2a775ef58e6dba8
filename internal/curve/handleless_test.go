package curve_test

import (
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// Drawing programs write corners as cubics whose handle lies on its end, where the
// derivative is 0. Two such pieces from a published drawing met at their joint; Newton's
// method divided 0 by 0 there, and the outline was said to cross itself at (NaN, NaN).
func TestCornersWithoutHandlesAreNoCrossing(t *testing.T) {
	pt := func(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }
	a, b, c := pt(2023.713067800002, -1857.9608504000007), pt(1910.711704600002, -2225.215280800001), pt(1748.272245000002, -2260.5282068000006)
	p := curve.ClosedPath(
		curve.Cubic(a, a, pt(1889.5239490000022, -2105.1513324000007), b),
		curve.Cubic(b, b, pt(1797.7103414000019, -2218.1526956000007), c),
		curve.Line(c, pt(1500, -1500)), curve.Line(pt(1500, -1500), a),
	)
	if crossings := p.SelfCrossings(); len(crossings) > 0 {
		t.Errorf("crosses itself at %v", crossings)
	}
}
