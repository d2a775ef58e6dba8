package fusion_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairedge/internal/fusion"
	"fairedge/internal/measure"
	"fairedge/internal/plane"
	"fairedge/internal/sweep"
)

// outlinePoints of the test's seat: one every 5 mm.
const outlinePoints = 330

// measured measures a scene into what fusion takes. The edge is seen with noise.
func measured(t *testing.T, rng *rand.Rand, s sweep.Scene) fusion.Photo {
	t.Helper()
	p, err := s.Seen(rng, measure.DefaultParams())
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func outlineOf(samples []measure.Sample) measure.Outline {
	o := measure.Outline{Closed: true}
	for _, s := range samples {
		o.Points = append(o.Points, s.At)
	}
	return o
}

// marksOnly is a world in which nothing is uncertain but where each photo shows its
// marks and its edge: all of the error is the photo's own.
func marksOnly() sweep.World {
	w := sweep.IdealOptics()
	w.K1, w.K2, w.F, w.PP, w.Noise = 0, 0, 0, 0, 0.5
	return w
}

// errorsOf returns the distances of samples, in order with the truth's points, across
// the true outline. The fused samples are the best photo's, which has the truth's order.
func errorsOf(samples []measure.Sample, truth []plane.Point) []float64 {
	points := outlineOf(samples).Points
	m := plane.BestRigid(points, truth)
	for i := range points {
		points[i] = m.Apply(points[i])
	}
	return sweep.AcrossErrors(points, truth)
}

// photosOf takes n photos of a bench.
func photosOf(t *testing.T, rng *rand.Rand, b sweep.Bench, lens sweep.Truth, n int) []fusion.Photo {
	t.Helper()
	var photos []fusion.Photo
	for range n {
		photos = append(photos, measured(t, rng, b.Photograph(rng, lens)))
	}
	return photos
}

func fuse(t *testing.T, photos []fusion.Photo) *fusion.Fused {
	t.Helper()
	f, err := fusion.Fuse(photos, fusion.DefaultParams())
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func budgetOf(t *testing.T, f *fusion.Fused, o measure.Outline) measure.Budget {
	t.Helper()
	b, err := f.Budget(o)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// inside returns the share of the errors that the budget's band covers.
func inside(b measure.Budget, errors []float64) float64 {
	n := 0.0
	for i, e := range errors {
		if math.Abs(e) <= 1.96*b.Point[i] {
			n++
		}
	}
	return n / float64(len(errors))
}
