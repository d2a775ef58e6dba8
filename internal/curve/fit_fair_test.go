package curve

import (
	"math"
	"os"
	"slices"
	"testing"

	"fairedge/internal/plane"
)

func fairParams(resolution float64) FitParams {
	p := DefaultFitParams()
	p.Resolution = resolution
	return p
}

// TestFitResolutionHolds: the samples leave the outline by the resolution rms and,
// but for those beside a corner, which a pen rounds, by no more than the peak, along a
// straight edge the root of EdgeLeeway times that; a coarser resolution never costs
// more than one piece. A quarter is left for the last solve of all joints together,
// 0.1 mm for single samples, which the peak does not hold.
func TestFitResolutionHolds(t *testing.T) {
	for _, name := range fitPhotoNames {
		samples := loadFitPhoto(t, name)
		before := 99
		for _, r := range []float64{0.1, 0.15, 0.2, 0.25, 0.3, 0.4}[slowOr(4, 0):] {
			p := fairParams(r)
			fair, err := FitClosed(samples, p)
			if err != nil {
				t.Fatalf("%s at %g: %v", name, r, err)
			}
			worst := farthestSample(samples, fair)
			limit := p.FairPeak * math.Sqrt(p.EdgeLeeway) * 1.25 * r
			if worst > limit+0.1 || fair.RMS > 1.25*r {
				t.Errorf("%s at %g: off by %.3f rms, %.2f at most", name, r, fair.RMS, worst)
			}
			if fair.Path.Len() > before+1 {
				t.Errorf("%s at %g: %d pieces, %d at a finer resolution", name, r, fair.Path.Len(), before)
			}
			before = min(before, fair.Path.Len())
		}
		if before > 9 { // four edges, four corners or rounds, one to spare
			t.Errorf("%s: %d pieces at 0.4", name, before)
		}
	}
}

// slowOr returns slow in the slow suite, else quick.
func slowOr(quick, slow int) int {
	if os.Getenv("FAIREDGE_SLOW") == "1" {
		return slow
	}
	return quick
}

// farthestSample returns the greatest distance of a sample that is not beside a corner
// from the outline.
func farthestSample(samples []Sample, fair Fair) float64 {
	worst := 0.0
	for _, s := range samples {
		_, d := fair.Path.Nearest(s.At)
		for _, k := range fair.Corners {
			if fair.Path.Segment(k).P0.DistanceTo(s.At) < 3 {
				d = 0
			}
		}
		worst = math.Max(worst, d)
	}
	return worst
}

// TestFitPhotoIsFair: at the hand's resolution the traced seats come out in few
// pieces; of the tapered one the back, straight by its scene, is one line, and its
// sides, bowed by 4 mm, are none.
func TestFitPhotoIsFair(t *testing.T) {
	for _, name := range fitPhotoNames {
		fair, err := FitClosed(loadFitPhoto(t, name), fairParams(handResolution))
		if err != nil {
			t.Fatal(err)
		}
		lines := 0
		for _, g := range fair.Path.Segments() {
			if !g.Straight {
				continue
			}
			lines++
			if name == "tapered-four-cards" && math.Abs(g.P0.DistanceTo(g.P3)-372) > 4 { // back_mm of the scene
				t.Errorf("a line of %.0f mm, not the back", g.P0.DistanceTo(g.P3))
			}
		}
		if name == "tapered-four-cards" && lines != 1 {
			t.Errorf("%s: %d lines, want the back only", name, lines)
		}
		if fair.Path.Len() > 12 || worstKink(fair) > 0.1 {
			t.Errorf("%s: %d pieces, kink %.2g°", name, fair.Path.Len(), worstKink(fair))
		}
	}
}

// TestFitStraightEdgesOfAHand: a rounded rectangle whose hand wanders by 0.2 mm over
// some 50 mm has four straight edges, met by the rounds, and four rounds, at the
// hand's resolution.
func TestFitStraightEdgesOfAHand(t *testing.T) {
	truth := filletRect("fillet 40", 400, 380, 40)
	for seed := uint64(51); seed < 54; seed++ {
		samples := noisy(sampleEvenly(truth.path, 0.8), 0.2, 14, seed)
		fair, err := FitClosed(samples, fairParams(handResolution))
		if err != nil {
			t.Fatal(err)
		}
		lines := 0
		for _, g := range fair.Path.Segments() {
			if g.Straight {
				lines++
			}
		}
		worst, rms := twoSided(fair.Path, truth.dense)
		if lines != 4 || fair.Path.Len() != 8 || worst > 0.8 || rms > 0.25 { // as TestFitHandWobble; the resolution
			t.Errorf("seed %d: %d pieces, %d lines, max %.2f, rms %.3f", seed, fair.Path.Len(), lines, worst, rms)
		}
	}
}

// TestFitFairLaws: the laws of TestFitLaws where the resolution decides. Round-off may
// turn the choice between joints that are equally good within the resolution: the
// outlines stay within less than half of it.
func TestFitFairLaws(t *testing.T) {
	turn := plane.RigidFromAngle(1.1, plane.Vec{X: 800, Y: -300})
	same := func(p plane.Point) plane.Point { return p }
	cases := []struct {
		name  string
		move  func(plane.Point) plane.Point
		order func([]Sample)
		scale float64
	}{
		{"rotate and shift", turn.Apply, nil, 1},
		{"mirror", func(p plane.Point) plane.Point { return plane.Point{X: -p.X, Y: p.Y} }, nil, 1},
		{"reverse", same, slices.Reverse[[]Sample], 1},
		{"restart", same, func(s []Sample) { rotate(s, 777) }, 1},
		{"stretch", func(p plane.Point) plane.Point { return plane.Point{X: 10 * p.X, Y: 10 * p.Y} }, nil, 10},
	}
	for _, name := range fitPhotoNames[:slowOr(1, 4)] {
		samples := loadFitPhoto(t, name)
		base, err := FitClosed(samples, fairParams(handResolution))
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range cases {
			moved := slices.Clone(samples)
			for i := range moved {
				moved[i].At = c.move(moved[i].At)
			}
			if c.order != nil {
				c.order(moved)
			}
			got, err := FitClosed(moved, fairParams(handResolution).Scaled(c.scale))
			if err != nil {
				t.Fatal(err)
			}
			worst, _ := twoSided(got.Path, densePath(base.Path.Map(c.move)))
			if got.Path.Len() != base.Path.Len() || worst > 0.1*c.scale {
				t.Errorf("%s, %s: %d pieces, want %d; outlines differ by %.2g", name, c.name, got.Path.Len(), base.Path.Len(), worst)
			}
		}
	}
}
