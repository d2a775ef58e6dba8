package curve

import (
	"fmt"
	"math"
	"testing"

	"fairedge/internal/plane"
)

// fitScore is what a fit achieves against the truth.
type fitScore struct {
	pieces, lines    int     // lines = true straight edges returned as one straight piece
	worst, rms       float64 // two-sided distance to the truth, mm
	cornersFound     int     // true corners within 2 mm of a fitted one
	cornersFalse     int
	cornerError      float64 // greatest distance of a found corner from its truth, mm
	kink             float64 // greatest turn at a joint that is no corner, degrees
	noise, corr, fat float64
	fairness         float64
}

func scoreFit(t testing.TB, truth fitTruth, samples []Sample) fitScore {
	t.Helper()
	fair, err := FitClosed(samples, DefaultFitParams())
	if err != nil {
		t.Fatalf("%s: %v", truth.name, err)
	}
	if err := fair.Path.Validate(); err != nil {
		t.Fatalf("%s: %v", truth.name, err)
	}
	s := fitScore{pieces: fair.Path.Len(), kink: worstKink(fair), noise: fair.Noise,
		corr: fair.CorrelationLength, fairness: fair.Fairness, fat: fair.Uncertainty}
	s.worst, s.rms = twoSided(fair.Path, truth.dense)
	s.scoreCorners(fair, truth)
	for _, edge := range truth.lines {
		for _, g := range fair.Path.Segments() {
			// The ends of an edge that runs into a curve are only as sharp as the
			// curvature's jump: a chord of 10 mm leaves a 60 mm arc by 0.2 mm.
			if g.Straight && edgeDistance(edge[0].Lerp(edge[1], 0.5), g.P0, g.P3) < 1 &&
				g.P0.DistanceTo(g.P3) > 0.7*edge[0].DistanceTo(edge[1]) {
				s.lines++
			}
		}
	}
	return s
}

func (s *fitScore) scoreCorners(fair Fair, truth fitTruth) {
	found := make([]bool, len(truth.corners))
	for _, k := range fair.Corners {
		at := fair.Path.Segment(k).P0
		best, which := 2.0, -1
		for i, c := range truth.corners {
			if d := at.DistanceTo(c); d < best {
				best, which = d, i
			}
		}
		if which < 0 || found[which] {
			s.cornersFalse++
			continue
		}
		found[which] = true
		s.cornersFound++
		s.cornerError = math.Max(s.cornerError, best)
	}
}

func worstKink(fair Fair) float64 {
	corner := map[int]bool{}
	for _, k := range fair.Corners {
		corner[k] = true
	}
	worst, n := 0.0, fair.Path.Len()
	for i := range n {
		if corner[i] {
			continue
		}
		in := fair.Path.Segment((i + n - 1) % n).Derivative(1)
		out := fair.Path.Segment(i).Derivative(0)
		worst = math.Max(worst, math.Abs(in.AngleTo(out))*180/math.Pi)
	}
	return worst
}

func (s fitScore) String() string {
	return fmt.Sprintf("%2d pieces, max %.3f, rms %.4f, corners %d (+%d false, %.3f off), %d edges straight, kink %.1e°, noise %.3f over %.2f mm, own sd %.3f, fairness %.2e",
		s.pieces, s.worst, s.rms, s.cornersFound, s.cornersFalse, s.cornerError, s.lines, s.kink, s.noise, s.corr, s.fat, s.fairness)
}

// sampledTruth returns fresh samples 0.3 mm apart, as in the committed files.
func sampledTruth(truth fitTruth, sigma, corr float64, seed uint64) []Sample {
	return noisy(sampleEvenly(truth.path, 0.3), sigma, corr, seed)
}

// tracedShape returns a truth of our own from segments.
func tracedShape(name string, corners []plane.Point, segments ...Segment) fitTruth {
	truth := fitTruth{name: name, corners: corners}
	for _, g := range segments {
		truth.path = append(truth.path, g.At)
		if g.Straight && g.P0.DistanceTo(g.P3) >= 60 {
			truth.lines = append(truth.lines, [2]plane.Point{g.P0, g.P3})
		}
	}
	truth.dense = densely(truth.path)
	return truth
}
