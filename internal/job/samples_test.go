package job_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/curve"
	"fairedge/internal/job"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// sampleTruth is the part of samples/NAME.truth.json that is tested against. The
// pictures were rendered by a ray tracer that shares no code with the program.
type sampleTruth struct {
	Outline struct {
		Segments []struct {
			Type string       `json:"type"`
			P    [][2]float64 `json:"p"`
		} `json:"segments"`
	} `json:"outline"`
	Cards []struct {
		Card struct {
			Edition int    `json:"edition"`
			Paper   string `json:"paper"`
			Number  int    `json:"number"`
		} `json:"card"`
		Marks [][]float64 `json:"marks"` // i, j, x, y, u, v; see conventions
	} `json:"cards"`
	Image struct {
		Width       int `json:"width"`
		Height      int `json:"height"`
		Orientation int `json:"orientation"`
	} `json:"image"`
}

// path returns the true outline, counter-clockwise.
func (s sampleTruth) path(t *testing.T) curve.Path {
	t.Helper()
	var segments []curve.Segment
	at := func(p [2]float64) plane.Point { return plane.Point{X: p[0], Y: p[1]} }
	for i, q := range s.Outline.Segments {
		if i > 0 { // written to a millionth: close the last gap
			q.P[0] = s.Outline.Segments[i-1].P[len(s.Outline.Segments[i-1].P)-1]
		}
		if i == len(s.Outline.Segments)-1 {
			q.P[len(q.P)-1] = s.Outline.Segments[0].P[0]
		}
		if q.Type == "line" {
			segments = append(segments, curve.Line(at(q.P[0]), at(q.P[1])))
		} else {
			segments = append(segments, curve.Cubic(at(q.P[0]), at(q.P[1]), at(q.P[2]), at(q.P[3])))
		}
	}
	p := curve.ClosedPath(segments...)
	if err := p.Validate(); err != nil {
		t.Fatal(err)
	}
	return p.CounterClockwise()
}

// upright turns a stored pixel as the truth counts it (first centre at 0) into a
// photo.Point of the upright picture. The four turns are those of EXIF 2.32, tag
// 0x0112.
func (s sampleTruth) upright(u, v float64) photo.Point {
	u, v = u+0.5, v+0.5
	w, h := float64(s.Image.Width), float64(s.Image.Height)
	switch s.Image.Orientation {
	case 3:
		return photo.Point{X: w - u, Y: h - v}
	case 6:
		return photo.Point{X: h - v, Y: u}
	case 8:
		return photo.Point{X: v, Y: w - u}
	}
	return photo.Point{X: u, Y: v}
}

// The promise for rendered photos: 0.5 mm rms and 1.5 mm at most with several cards
// or a card inside the outline, 1.0 and 3.0 with one card beside. Marks are found to
// 0.1 px rms.
func TestSamplePhotosAreMeasured(t *testing.T) {
	truths, err := filepath.Glob("../../samples/*.truth.json")
	if err != nil || len(truths) < 2 {
		t.Fatalf("found %d sample truths (%v)", len(truths), err)
	}
	for _, truthFile := range truths {
		name := strings.TrimSuffix(filepath.Base(truthFile), ".truth.json")
		t.Run(name, func(t *testing.T) {
			truth := readTruth(t, truthFile)
			m, err := job.ShapeFromPhoto(context.Background(), "../../samples/"+name+".jpg", reading(), job.Quiet{})
			if err != nil {
				t.Fatal(err)
			}
			checkMarks(t, m, truth)
			checkOutline(t, m, truth.path(t))
		})
	}
}

func readTruth(t *testing.T, file string) sampleTruth {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var truth sampleTruth
	if err := json.Unmarshal(data, &truth); err != nil {
		t.Fatal(err)
	}
	return truth
}

func checkOutline(t *testing.T, m *job.Measured, truth curve.Path) {
	t.Helper()
	d := closestDeviation(m.Shape.Net, truth)
	rms, most := 0.5, 1.5
	if isBeside(m) {
		rms, most = 1.0, 3.0
	}
	t.Logf("rms %.3f, max %.3f mm (stated within %.2f); %d pieces, %d corners, %d ticks; back by %s; fit %.3f/%.2f; %s", d.RMS, d.Max,
		m.Budget.Within, m.Fair.Path.Len(), len(m.Fair.Corners), len(m.Shape.Ticks), m.Shape.Back.Source, m.Fair.RMS, m.Fair.Max, timings(m))
	if d.RMS > rms || d.Max > most {
		t.Errorf("the outline is off by %.2f mm rms, %.2f at most; want %.1f and %.1f", d.RMS, d.Max, rms, most)
	}
	if d.Max > m.Budget.Within {
		t.Errorf("the true outline lies %.2f mm off, outside the stated %.2f mm", d.Max, m.Budget.Within)
	}
}

// isBeside reports whether one card outside the outline is all there is.
func isBeside(m *job.Measured) bool {
	return len(m.Calibration.Cards) == 1 &&
		!m.Fair.Path.Contains(m.Calibration.Cards[0].PlaneFromCard.Apply(plane.Point{}))
}

// closestDeviation tries the four quarter turns: the truth's frame is the bench's,
// and a round stool's back may be anywhere.
func closestDeviation(measured, truth curve.Path) deviation {
	best := deviation{Max: math.Inf(1)}
	for k := range 8 {
		turned := measured.Transform(plane.RigidFromAngle(float64(k)*math.Pi/4, plane.Vec{}))
		if d := deviationOf(turned, truth); d.Max < best.Max {
			best = d
		}
	}
	return best
}

func checkMarks(t *testing.T, m *job.Measured, truth sampleTruth) {
	t.Helper()
	var sumSq, n float64
	for _, c := range truth.Cards {
		paper := map[string]card.Paper{"A4": card.A4, "Letter": card.Letter}[c.Card.Paper]
		id := card.ID{Edition: c.Card.Edition, Paper: paper, Number: c.Card.Number}
		where := map[card.Lattice]photo.Point{}
		for _, mark := range c.Marks {
			where[card.Lattice{I: int(mark[0]), J: int(mark[1])}] = truth.upright(mark[4], mark[5])
		}
		found := 0
		for _, s := range m.Sightings {
			if s.Card != id {
				continue
			}
			for _, mark := range s.Marks {
				p := where[mark.At]
				sumSq += math.Pow(p.X-mark.Photo.X, 2) + math.Pow(p.Y-mark.Photo.Y, 2)
				n += 2
				found++
			}
		}
		if found < len(c.Marks)/2 {
			t.Errorf("%v: %d of %d marks found", id, found, len(c.Marks))
		}
	}
	if rms := math.Sqrt(sumSq / n); !(rms <= 0.1) {
		t.Errorf("marks are off by %.3f px rms per axis, want 0.1 at most", rms)
	} else {
		t.Logf("marks: %.3f px rms per axis", rms)
	}
}
