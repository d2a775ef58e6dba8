package job_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairedge/internal/job"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/testscene"
)

// photoFrom takes the workbench's photo number i, each from another side, of 3 MP.
func photoFrom(t *testing.T, dir string, i int, change func(*testscene.Scene)) string {
	t.Helper()
	scene := testscene.Workbench()
	scene.Camera = scene.Camera.Scaled(0.5)
	scene.Camera.TiltDeg = []float64{6, 14, 10, 18}[i%4]
	scene.Camera.AzimuthDeg = float64(i) * 100
	scene.Camera.RollDeg = []float64{-2, 178, 3, 181}[i%4] // the phone is held either way up
	scene.Camera.DistanceMM += 40 * float64(i%3)
	scene.Camera.LookAt = plane.Point{X: 8 * float64(i%3-1)}
	scene.Seed = uint64(i)
	if change != nil {
		change(&scene)
	}
	picture, _ := scene.Photograph()
	picture.Lens = photo.Lens{}
	data, err := testscene.JPEG(picture, 92)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, fmt.Sprintf("photo-%d.jpg", i))
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func shapeOf(t *testing.T, paths ...string) *job.Measured {
	t.Helper()
	m, err := job.ShapeFromPhotos(context.Background(), paths, reading(), job.Quiet{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// severalPhotos are photos of one bench from three sides, one in which the template bows
// out 2.5 mm farther at the front, and one without cards.
type severalPhotos struct{ a, b, c, bowed, none string }

func TestSeveralPhotos(t *testing.T) {
	bowed := func(s *testscene.Scene) { s.Outline = testscene.Seat(380, 440, 410, 60, 14+2.5) }
	p := severalPhotos{
		photoFrom(t, t.TempDir(), 0, nil), photoFrom(t, t.TempDir(), 1, nil), photoFrom(t, t.TempDir(), 2, nil),
		photoFrom(t, t.TempDir(), 1, bowed), photoFrom(t, t.TempDir(), 3, func(s *testscene.Scene) { s.Cards = nil }),
	}
	t.Run("three are averaged", p.areAveraged)
	t.Run("one that disagrees is named", p.nameTheOneThatDisagrees)
	t.Run("one of several", p.oneOfSeveral)
}

// Three photos of one bench, from three sides, are averaged: the outline keeps the
// promise for flat paper, the band holds, and it is no worse than the best photo's. A
// photo without cards among them is named and does no harm; their order does not matter.
func (p severalPhotos) areAveraged(t *testing.T) {
	truth := testscene.Workbench().Outline
	m := shapeOf(t, p.a, p.b, p.c, p.none)
	s := m.Several
	if fmt.Sprint(s.Used) != "[1 2 3]" || len(s.LeftOut) > 0 || s.Dispute != nil || problem.KindOf(s.Photos[3].Skipped) != problem.NoCard {
		t.Fatalf("used %v, left out %+v, dispute %+v, fourth photo: %v", s.Used, s.LeftOut, s.Dispute, s.Photos[3].Skipped)
	}
	d := closestDeviation(m.Shape.Net, truth)
	best := s.Photos[s.Best-1]
	t.Logf("rms %.3f max %.3f mm, within %.2f; best photo %d alone within %.2f; repeatability %+v", d.RMS, d.Max, m.Budget.Within, s.Best, best.Within, s.Repeat)
	if d.RMS > 0.3 || d.Max > 1.0 || d.Max > m.Budget.Within {
		t.Errorf("the outline is off by %.3f mm rms, %.3f at most; stated within %.2f", d.RMS, d.Max, m.Budget.Within)
	}
	if m.Budget.Within > best.Within {
		t.Errorf("within %.2f mm from three photos, %.2f from the best alone", m.Budget.Within, best.Within)
	}
	// Sample-like photos of 0.5 mm to the pixel repeat each other to half a millimetre.
	if r := s.Repeat; r.Photos != 3 || r.Width <= 0 || r.Width > 0.5 || r.Distance <= 0 || r.Distance > 0.5 {
		t.Errorf("repeatability %+v", r)
	}
	warnings := strings.Join(job.Warnings(m), "\n")
	if !strings.Contains(warnings, "photo 4 (photo-3.jpg) was not used: ") {
		t.Errorf("warnings:\n%s", warnings)
	}
	again := shapeOf(t, p.none, p.c, p.a, p.b)
	if !bytes.Equal(netOf(t, again), netOf(t, m)) {
		t.Error("the photos' order changes the outline")
	}
}

// netOf is the outline as the report has it.
func netOf(t *testing.T, m *job.Measured) []byte {
	t.Helper()
	outlines, err := job.OutlinesFromShape(m.Shape, job.DefaultPattern())
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Append(nil, job.NewReport(m, outlines, job.Label{Date: time.Unix(0, 0)}).Outlines.Net)
}

// A template whose front bows out 2.5 mm farther in one photo: with two others it is
// named and left out, with one other neither is blamed.
func (p severalPhotos) nameTheOneThatDisagrees(t *testing.T) {
	m := shapeOf(t, p.a, p.bowed, p.c)
	if len(m.Several.LeftOut) != 1 || m.Several.LeftOut[0].Photo != 2 || fmt.Sprint(m.Several.Used) != "[1 3]" {
		t.Fatalf("left out %+v, used %v", m.Several.LeftOut, m.Several.Used)
	}
	if d := closestDeviation(m.Shape.Net, testscene.Workbench().Outline); d.Max > 1 {
		t.Errorf("the outline of the other two is off by %.2f mm", d.Max)
	}
	if words := job.Warnings(m)[0]; !strings.Contains(words, "photo 2 (photo-1.jpg) lies") || !strings.Contains(words, "at the front") ||
		!strings.Contains(words, "; left out") {
		t.Errorf("warning: %s", words)
	}
	m = shapeOf(t, p.a, p.bowed)
	if m.Several.Dispute == nil || m.Budget.Within < m.Several.Dispute.Off {
		t.Fatalf("dispute %+v, within %.2f mm", m.Several.Dispute, m.Budget.Within)
	}
	if words := job.Warnings(m)[0]; !strings.Contains(words, "photos 1 and 2 lie") || !strings.Contains(words, "neither can be blamed") {
		t.Errorf("warning: %s", words)
	}
}

// One photo is measured as it always was, and when no photo shows a template the first
// one's failure is the run's.
func (p severalPhotos) oneOfSeveral(t *testing.T) {
	good, none := p.a, p.none
	if m := shapeOf(t, good); m.Several != nil {
		t.Error("one photo counts as several")
	}
	m := shapeOf(t, none, good)
	if m.Several == nil || m.Several.Best != 2 || len(m.Several.Used) != 0 || !strings.Contains(job.Warnings(m)[0], "photo 1 (photo-3.jpg) was not used") {
		t.Errorf("several %+v", m.Several)
	}
	_, err := job.ShapeFromPhotos(context.Background(), []string{none, none}, reading(), job.Quiet{})
	if problem.KindOf(err) != problem.NoCard {
		t.Errorf("two photos without cards: %v", err)
	}
	_, err = job.ShapeFromPhotos(context.Background(), []string{good, filepath.Join(t.TempDir(), "missing.jpg")}, reading(), job.Quiet{})
	if problem.KindOf(err) != problem.FileAccess {
		t.Errorf("a photo that is not there: %v", err)
	}
}
