package job_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"fairedge/internal/job"
	"fairedge/internal/length"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/problem"
	"fairedge/internal/testscene"
)

// half photographs the workbench at a quarter of the pixels, with a change.
func half(change func(*testscene.Scene)) (photo.Photo, testscene.Truth) {
	scene := testscene.Workbench()
	scene.Camera = scene.Camera.Scaled(0.5)
	change(&scene)
	return scene.Photograph()
}

// measured measures a photo with its width, or width and depth, taped wrong by so
// many mm.
func measured(t *testing.T, picture photo.Photo, truth testscene.Truth, r job.Reading, wrong ...float64) *job.Measured {
	t.Helper()
	box := truth.Outline.Bounds()
	for i, w := range wrong {
		size := []measure.TapedSize{measure.TapedWidth, measure.TapedDepth}[i]
		r.Taped = append(r.Taped, job.TapedLength{Size: size, Bound: 0.5,
			Value: length.Length([]float64{box.Width(), box.Height()}[i] + w)})
	}
	m, err := job.ShapeFromPicture(context.Background(), &picture, r, job.Quiet{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func unchanged(*testscene.Scene) {}

// A right tape on an unmeasured print: the promise becomes better than half of ± 0.5 %
// and is kept, the outline follows the tape, and it still lies on the line in the
// photo.
func TestTapeIsUsed(t *testing.T) {
	picture, truth := half(unchanged)
	alone := measured(t, picture, truth, job.Reading{})
	m := measured(t, picture, truth, job.Reading{}, 0)
	if m.Tape == nil || !m.Tape.Used {
		t.Fatalf("a right tape was not used: %+v", m.Tape)
	}
	if m.Budget.Within > 0.5*alone.Budget.Within {
		t.Errorf("within %.2f mm, without the tape %.2f", m.Budget.Within, alone.Budget.Within)
	}
	d := deviationOf(m.Shape.Net, truth.Outline)
	t.Logf("rms %.3f max %.3f mm; within %.2f, alone %.2f", d.RMS, d.Max, m.Budget.Within, alone.Budget.Within)
	if d.Max > m.Budget.Within {
		t.Errorf("the outline is off by %.2f mm, within %.2f stated", d.Max, m.Budget.Within)
	}
	from, to := alone.Calibration.PhotoFromPlane, m.Calibration.PhotoFromPlane
	for i := 0; i < len(m.Traced.Samples); i += 50 {
		a, b := from(alone.Traced.Samples[i].At), to(m.Traced.Samples[i].At)
		if math.Hypot(a.X-b.X, a.Y-b.Y) > 0.01 {
			t.Fatalf("sample %d is seen at %v, with the tape at %v", i, a, b)
		}
	}
}

// Rendered photos of three mistakes: the result must be the photo's own, and the
// mistake with its amount the first suspect.
func TestTapeDisagrees(t *testing.T) {
	shrink := func(s *testscene.Scene) {
		for i := range s.Cards {
			s.Cards[i].ScaleX, s.Cards[i].ScaleY = 0.98, 0.98
		}
	}
	tests := []struct {
		name    string
		change  func(*testscene.Scene)
		reading job.Reading
		wrong   []float64
		cause   measure.Cause
		amount  float64
		within  float64
		words   string
	}{
		{"cards printed 2 % too small", shrink, job.Reading{}, []float64{0, 0}, measure.WrongPrint, -0.02, 0.004, "printed 2.0 % smaller"},
		{"template 25 mm over the cards", func(s *testscene.Scene) { s.Sheet.LiftMM = 25 }, reading(), []float64{0, 0}, measure.WrongHeight, 25, 2, "--template-height 2"},
		{"width wrong by 12 mm", unchanged, reading(), []float64{12, 0}, measure.WrongPoints, 12, 1, "mm too much"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			picture, truth := half(test.change)
			m := measured(t, picture, truth, test.reading, test.wrong...)
			alone := measured(t, picture, truth, test.reading)
			if m.Tape.Used || len(m.Tape.Suspects) == 0 {
				t.Fatalf("used %v, suspects %+v", m.Tape.Used, m.Tape.Suspects)
			}
			if m.Shape.Size != alone.Shape.Size || m.Budget.Within != alone.Budget.Within {
				t.Errorf("the photo's own result changed: %+v, alone %+v", m.Shape.Size, alone.Shape.Size)
			}
			s := m.Tape.Suspects[0]
			if s.Cause != test.cause || math.Abs(s.Amount-test.amount) > test.within {
				t.Errorf("first suspect %+v, want cause %d, %g ± %g", s, test.cause, test.amount, test.within)
			}
			if words := strings.Join(job.Warnings(m), "\n"); !strings.Contains(words, test.words) || !strings.Contains(words, "tape and photo disagree") {
				t.Errorf("%q lacks %q", words, test.words)
			}
		})
	}
}

// What is asked is reached or not, and a failure says what would help.
func TestReaches(t *testing.T) {
	picture, truth := half(unchanged)
	m := measured(t, picture, truth, job.Reading{})
	within := length.Length(m.Budget.Within)
	if err := job.Reaches(m, within+0.01); err != nil {
		t.Errorf("within %v: %v", within, err)
	}
	err := job.Reaches(m, within-0.01)
	if problem.KindOf(err) != problem.NotAccurateEnough || len(m.Advice) == 0 || !strings.Contains(err.Error(), "print-check") {
		t.Errorf("within %v: %v; advice %+v", within, err, m.Advice)
	}
	if err := job.Reaches(m, 0); err != nil {
		t.Errorf("nothing asked: %v", err)
	}
	table := strings.Join(job.BudgetTable(m), "\n")
	for _, row := range m.Budget.Rows {
		if !strings.Contains(table, row.Source) {
			t.Errorf("the table lacks %q", row.Source)
		}
	}
}
