package job

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// The band of a square with an uncertainty of its own at each point lies 1.96 times
// that to either side (JCGM 100:2008, table G.1), times the factor that the picture
// states.
func TestBandIsAsWideAsItSays(t *testing.T) {
	for _, sigma := range []float64{0.02, 0.1, 0.4, 3} {
		m := &Measured{}
		m.Fair.Path = curve.Polygon(plane.Point{}, plane.Point{X: 400}, plane.Point{X: 400, Y: 400}, plane.Point{Y: 400})
		m.Shape.Size.Width = 400 * length.Millimetre
		points := m.outlinePoints(budgetSpacing)
		m.Budget = measure.Budget{Point: make([]float64, len(points))}
		for i := range points {
			m.Budget.Point[i] = sigma
		}
		b := m.band()
		factor := 1.0
		if _, said, found := strings.Cut(b.words, "drawn "); found {
			if _, err := fmt.Sscanf(said, "%f times", &factor); err != nil {
				t.Fatal(b.words, err)
			}
		}
		want := 1.96 * sigma * factor
		if factor < 20 && want < leastBand*400 || factor > 1 && want > 2.6*leastBand*400 {
			t.Errorf("sigma %g: drawn %.1f mm beside the outline: %s", sigma, want, b.words)
		}
		for i := 3; i < 70; i++ { // the first side, clear of its corners
			if !strings.Contains(b.words, "19 places of 20") || math.Abs(b.inner[i].Y-want) > 1e-9 || math.Abs(b.outer[i].Y+want) > 1e-9 {
				t.Fatalf("sigma %g: band from %.3f to %.3f mm, want ± %.3f: %s", sigma, b.outer[i].Y, b.inner[i].Y, want, b.words)
			}
		}
	}
}
