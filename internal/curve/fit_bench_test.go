package curve

import "testing"

// BenchmarkFitClosed measures one fit of the T seat: 6000 samples, and 2000 as
// the edge finder gives.
func BenchmarkFitClosed(b *testing.B) {
	for _, c := range []struct {
		name string
		n    float64
	}{{"6000", 6000}, {"2000", 2000}} {
		truth := loadFitTruth(b, "S3_Tcushion")
		samples := noisy(sampleEvenly(truth.path, 2212.684/c.n), 0.15, 0, 1)
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := FitClosed(samples, DefaultFitParams()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
