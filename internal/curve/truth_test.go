package curve

import (
	"encoding/json"
	"math"
	"os"
	"sort"
	"testing"

	"fairedge/internal/plane"
)

// seatTruth is one outline of testdata/seat_curves_truth.json: five seat-like
// outlines as exact lines, arcs and cubics in mm (made for this project, CC0).
type seatTruth struct {
	Name     string
	Path     Path
	LengthMM float64
}

// readSeatTruths returns the five outlines in order of their names. An arc becomes
// cubics of at most 15 degrees, true to 1e-9 of its radius.
func readSeatTruths(t testing.TB) []seatTruth {
	t.Helper()
	data, err := os.ReadFile("testdata/seat_curves_truth.json")
	if err != nil {
		t.Fatal(err)
	}
	var file map[string]struct {
		Segments []struct {
			Type      string
			P         [][2]float64
			C         [2]float64
			R, A0, A1 float64
		}
		LengthMM float64 `json:"length_mm"`
	}
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	var truths []seatTruth
	for name, outline := range file {
		var pieces []Segment
		point := func(p [2]float64) plane.Point { return plane.Point{X: p[0], Y: p[1]} }
		for _, s := range outline.Segments {
			switch s.Type {
			case "L":
				pieces = append(pieces, Line(point(s.P[0]), point(s.P[1])))
			case "C":
				pieces = append(pieces, Cubic(point(s.P[0]), point(s.P[1]), point(s.P[2]), point(s.P[3])))
			case "A":
				sin, cos := math.Sincos(s.A0)
				from := ray{point(s.C).Add(plane.Vec{X: s.R * cos, Y: s.R * sin}), plane.Vec{X: -sin, Y: cos}}
				pieces = append(pieces, arcCubics(point(s.C), from, s.R, s.A1-s.A0, 1e-4)...)
			}
		}
		truths = append(truths, seatTruth{name, ClosedPath(pieces...), outline.LengthMM})
	}
	sort.Slice(truths, func(i, j int) bool { return truths[i].Name < truths[j].Name })
	return truths
}

func TestSeatTruthsReadTrue(t *testing.T) {
	for _, s := range readSeatTruths(t) {
		if err := s.Path.Validate(); err != nil {
			t.Errorf("%s: %v", s.Name, err)
		}
		if !s.Path.IsCounterClockwise() || !s.Path.IsSimple() {
			t.Errorf("%s does not run once round, counter-clockwise", s.Name)
		}
		// The lengths of the file have 4 decimals.
		if got := s.Path.ArcLength(1e-6); math.Abs(got-s.LengthMM) > 2e-4 {
			t.Errorf("%s: length %.4f, file %.4f", s.Name, got, s.LengthMM)
		}
	}
}
