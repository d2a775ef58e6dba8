package lenslog_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairedge/internal/camera"
	"fairedge/internal/lenslog"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/problem"

	"github.com/google/go-cmp/cmp"
)

func profile(day int) measure.LensProfile {
	return measure.LensProfile{
		Make: "Maker", Model: "Phone 7", FocalMM: 4.2, Focal35MM: 26, Width: 4032, Height: 3024,
		Lens:        camera.Lens{F: 3029.25, Centre: photo.Point{X: 2020.5, Y: 1507.25}, K1: 0.0125, K2: -0.004, P1: 1e-4, P2: -2e-4},
		Uncertainty: measure.LensUncertainty{Focal: 0.001, CentreX: 2, CentreY: 3, K1: 0.002, K2: 0.003, P1: 4e-5, P2: 5e-5},
		Moves:       measure.LensMoves{Focal: 0.01, Centre: 8},
		Learned:     time.Date(2026, 3, day, 9, 0, 0, 0, time.UTC),
	}
}

func TestProfilesComeBackAsTheyWereAdded(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "not", "there", "yet")
	want := []measure.LensProfile{profile(1), profile(2)}
	for _, p := range want {
		if err := lenslog.Add(dir, lenslog.RecordOf(p, &measure.LearnedLens{Marks: 900, RMS: 0.125})); err != nil {
			t.Fatal(err)
		}
	}
	records, err := lenslog.Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, lenslog.Profiles(records)); diff != "" {
		t.Errorf("profiles (-want +got):\n%s", diff)
	}
	if records[1].Marks != 900 || records[1].RMSPx != 0.125 {
		t.Errorf("evidence = %d marks, %g px, want 900 and 0.125", records[1].Marks, records[1].RMSPx)
	}
}

func TestWhatIsNoLensIsNotKept(t *testing.T) {
	for name, change := range map[string]func(*measure.LensProfile){
		"no focal length": func(p *measure.LensProfile) { p.Lens.F = 0 },
		"not a number":    func(p *measure.LensProfile) { p.Lens.K1 = math.NaN() },
		"middle outside":  func(p *measure.LensProfile) { p.Lens.Centre.X = -1 },
		"no size":         func(p *measure.LensProfile) { p.Width = 0 },
		"nobody's":        func(p *measure.LensProfile) { p.Make, p.Model = "", "" },
		"unsure":          func(p *measure.LensProfile) { p.Uncertainty.Focal = math.Inf(1) },
	} {
		p, dir := profile(1), t.TempDir()
		change(&p)
		if err := lenslog.Add(dir, lenslog.RecordOf(p, &measure.LearnedLens{})); problem.KindOf(err) != problem.PoorFit {
			t.Errorf("%s: error = %v, want kind %v", name, err, problem.PoorFit)
		}
		if records, _ := lenslog.Read(dir); len(records) != 0 {
			t.Errorf("%s: was stored", name)
		}
	}
}

func TestDamagedFileIsNamedAndKept(t *testing.T) {
	for name, text := range map[string]string{
		"cut off":      `{"format":1,"lenses":[{"make":"A"`,
		"newer":        `{"format":99,"lenses":[]}`,
		"no size":      `{"format":1,"lenses":[{"make":"A","focal_px":3000}]}`,
		"not our file": `hello`,
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, lenslog.FileName)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		err := lenslog.Add(dir, lenslog.RecordOf(profile(1), &measure.LearnedLens{}))
		if problem.KindOf(err) != problem.FileAccess || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: error = %v, want one that names %s", name, err, path)
		}
		if kept, _ := os.ReadFile(path); string(kept) != text {
			t.Errorf("%s: the file was changed", name)
		}
	}
}

func FuzzRead(f *testing.F) {
	dir := f.TempDir()
	if err := lenslog.Add(dir, lenslog.RecordOf(profile(1), &measure.LearnedLens{})); err != nil {
		f.Fatal(err)
	}
	whole, err := os.ReadFile(filepath.Join(dir, lenslog.FileName))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(whole)
	f.Add([]byte(`{"format":1}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, lenslog.FileName), data, 0o600); err != nil {
			t.Fatal(err)
		}
		records, err := lenslog.Read(dir)
		if err != nil {
			return
		}
		for _, p := range lenslog.Profiles(records) {
			middle := photo.Point{X: float64(p.Width) / 2, Y: float64(p.Height) / 2}
			if n, ok := p.Lens.NormalFromPhoto(middle); ok && (math.IsNaN(n.X) || math.IsNaN(n.Y)) {
				t.Errorf("a profile that was read sees %v at %v", n, middle)
			}
			if p.Title() == "" {
				t.Error("a profile that was read has no title")
			}
		}
	})
}
