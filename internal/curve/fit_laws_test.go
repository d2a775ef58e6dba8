package curve

import (
	"errors"
	"math"
	"slices"
	"testing"

	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// TestFitLaws: moving, mirroring, reversing, restarting and stretching the samples
// does the same to the outline.
func TestFitLaws(t *testing.T) {
	const k = 10
	turn := plane.RigidFromAngle(1.1, plane.Vec{X: 800, Y: -300})
	same := func(p plane.Point) plane.Point { return p }
	mirror := func(p plane.Point) plane.Point { return plane.Point{X: -p.X, Y: p.Y} }
	stretch := func(p plane.Point) plane.Point { return plane.Point{X: k * p.X, Y: k * p.Y} }
	cases := []struct {
		name   string
		move   func(plane.Point) plane.Point
		order  func([]Sample)
		params FitParams
		scale  float64
	}{
		{"rotate and shift", turn.Apply, nil, DefaultFitParams(), 1},
		{"mirror", mirror, nil, DefaultFitParams(), 1},
		{"reverse", same, slices.Reverse[[]Sample], DefaultFitParams(), 1},
		{"restart", same, func(s []Sample) { rotate(s, 1234) }, DefaultFitParams(), 1},
		{"stretch", stretch, nil, DefaultFitParams().Scaled(k), k},
	}
	for _, name := range []string{"S4_saddle", "S3_Tcushion"}[:slowOr(1, 2)] {
		samples := loadFitCSV(t, name+"_s0.15_seed1.csv")
		base, err := FitClosed(samples, DefaultFitParams())
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
			got, err := FitClosed(moved, c.params)
			if err != nil {
				t.Fatalf("%s, %s: %v", name, c.name, err)
			}
			if got.Path.Len() != base.Path.Len() || len(got.Corners) != len(base.Corners) {
				t.Errorf("%s, %s: %d pieces and %d corners, want %d and %d", name, c.name,
					got.Path.Len(), len(got.Corners), base.Path.Len(), len(base.Corners))
			}
			worst, _ := twoSided(got.Path, densePath(base.Path.Map(c.move)))
			// Where the samples leave a joint free to slide, round-off moves it; the
			// outline itself must stay within a hundredth of what a blade resolves.
			if worst > 2e-3*c.scale {
				t.Errorf("%s, %s: outlines differ by %.2g", name, c.name, worst)
			}
		}
	}
}

// rotate moves the first n samples to the end.
func rotate(s []Sample, n int) { copy(s, append(slices.Clone(s[n:]), s[:n]...)) }

func densePath(p Path) []plane.Point {
	var path []func(float64) plane.Point
	for _, s := range p.Segments() {
		path = append(path, s.At)
	}
	return densely(path)
}

// TestFitIsCounterClockwiseAndRepeats: same bytes for the same input, whichever
// way round the samples run.
func TestFitIsCounterClockwiseAndRepeats(t *testing.T) {
	samples := loadFitCSV(t, "S5_horseshoe_s0.15_seed1.csv")
	a, err := FitClosed(samples, DefaultFitParams())
	if err != nil {
		t.Fatal(err)
	}
	b, _ := FitClosed(samples, DefaultFitParams())
	if !slices.Equal(a.Path.Segments(), b.Path.Segments()) {
		t.Error("two fits of the same samples differ")
	}
	area := 0.0
	dense := densePath(a.Path)
	for i, p := range dense {
		q := dense[(i+1)%len(dense)]
		area += (p.X*q.Y - q.X*p.Y) / 2
	}
	if area <= 0 {
		t.Errorf("area %g: not counter-clockwise", area)
	}
	start := a.Path.Segment(0).P0
	for _, k := range a.Corners {
		if p := a.Path.Segment(k).P0; p.X+p.Y < start.X+start.Y {
			t.Errorf("starts at %v, not at %v", start, p)
		}
	}
}

// TestFitRefusesWhatIsNoOutline: one sentence with a remedy, never a panic.
func TestFitRefusesWhatIsNoOutline(t *testing.T) {
	line := make([]Sample, 100)
	for i := range line {
		line[i].At = plane.Point{X: float64(i)}
	}
	nan := loadFitCSV(t, "S2_bowfront_s0.15_seed1.csv")
	nan[7].At.X = math.NaN()
	for name, samples := range map[string][]Sample{"none": nil, "few": line[:10], "line": line,
		"one place": make([]Sample, 100), "not a number": nan} {
		_, err := FitClosed(samples, DefaultFitParams())
		var e *problem.Error
		if err == nil {
			t.Errorf("%s: no error", name)
		} else if ok := errors.As(err, &e); !ok || e.Remedy == "" {
			t.Errorf("%s: %v has no remedy", name, err)
		}
	}
}
