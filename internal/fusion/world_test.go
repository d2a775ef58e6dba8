package fusion_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/fusion"
	"fairedge/internal/measure"
	"fairedge/internal/plane"
	"fairedge/internal/sweep"
)

// edgeNoise is how exactly the tests see the edge at each point, px: what package detect
// reaches on good photos is 0.05, and neighbours err together.
const edgeNoise = 0.1

// outlinePoints of the test's seat: one every 5 mm.
const outlinePoints = 330

// measured measures a scene into what fusion takes. The edge is seen with noise.
func measured(t *testing.T, rng *rand.Rand, s sweep.Scene) fusion.Photo {
	t.Helper()
	c, err := measure.CalibrateSet(s.Set)
	if err != nil {
		t.Fatal(err)
	}
	p := fusion.Photo{Calibration: c, Camera: "phone"}
	var points []plane.Point
	for _, q := range s.Outline {
		seen := s.Truth.See(q.X, q.Y, s.Truth.OutlineHeight)
		seen.X, seen.Y = seen.X+edgeNoise*rng.NormFloat64(), seen.Y+edgeNoise*rng.NormFloat64()
		at := c.PlaneFromPhoto(seen)
		sigma := edgeNoise * c.MillimetresPerPixel(at)
		p.Uncertainty, p.Noise = sigma, sigma
		points = append(points, at)
		p.Samples = append(p.Samples, measure.Sample{At: at, Sigma: sigma})
	}
	p.Path = curve.Polygon(points...)
	b, err := c.Budget(outlineOf(p.Samples))
	if err != nil {
		t.Fatal(err)
	}
	p.Within = b.Within
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
