package curve_test

import (
	"math"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// A cubic that runs straight must be offset as the straight line is, also where only
// the edges beside it move inward and do not reach it by themselves.
func TestEdgesThatMoveInwardAloneReachACurvedNeighbour(t *testing.T) {
	a, b := plane.Point{X: 190}, plane.Point{X: -190}
	c, d := plane.Point{X: -228, Y: -400}, plane.Point{X: 228, Y: -400}
	straight := curve.Polygon(a, b, c, d)
	curved := curve.ClosedPath(curve.Line(a, b), curve.Line(b, c), curve.Cubic(c, c.Lerp(d, 0.3), c.Lerp(d, 0.6), d), curve.Line(d, a))
	for _, distances := range [][]float64{{-3, -3, 0, -3}, {0, -3, 0, -5}, {-4, 0, -2, 0}, {2, -3, 4, -3}, {-3, -3, -3, -3}} {
		want, err := straight.OffsetOutline(curve.ByPiece(distances), 0.001)
		if err != nil {
			t.Fatal(err)
		}
		got, err := curved.OffsetOutline(curve.ByPiece(distances), 0.001)
		if err != nil {
			t.Fatal(err)
		}
		if diff := math.Abs(got.SignedArea() - want.SignedArea()); diff > 0.5 {
			t.Errorf("%v: area differs by %.3f mm² from that of straight edges", distances, diff)
		}
	}
}
