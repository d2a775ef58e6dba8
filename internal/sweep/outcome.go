package sweep

import (
	"cmp"
	"math"

	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// Outcome is one scene measured.
type Outcome struct {
	Err      error
	Budget   measure.Budget // zero when it was not asked for
	Measured []plane.Point  // brought onto the bench
	Truth    []plane.Point
	NotAll   bool // of several photos some were left out
}

// OutlineOf returns the scene's outline as a calibration measures it.
func OutlineOf(c *measure.Calibration, s Scene) []plane.Point {
	points := make([]plane.Point, len(s.Outline))
	for i, p := range s.Outline {
		points[i] = c.PlaneFromPhoto(s.Truth.See(p.X, p.Y, s.Truth.OutlineHeight))
	}
	return points
}

// Measure measures the scene; with its budget, which takes longer than all else, or
// without.
func (s Scene) Measure(params measure.Params, withBudget bool) (o Outcome) {
	c, err := measure.CalibrateWith(s.Set, params)
	o.Truth = s.Outline
	if err != nil {
		o.Err = err
		return o
	}
	points := OutlineOf(c, s)
	if withBudget {
		o.Budget, o.Err = c.Budget(measure.Outline{Points: points, Closed: true})
	}
	m := plane.BestRigid(points, s.Outline)
	for _, p := range points {
		o.Measured = append(o.Measured, m.Apply(p))
	}
	return o
}

// Tally gathers the scenes of one line of a table.
type Tally struct {
	RMS, Worst []float64 // of each scene's outline, mm
	Failed     int
	NotAll     int // scenes of which some photos were left out
	FirstError error
	// Points, Outlines and Widths count what lies inside the stated 95 %: each scene adds
	// its share of the outline's points, and 1 or 0.
	Points, Outlines, Widths float64
	stated, found            float64 // sums of squares
}

// Add adds one scene.
func (t *Tally) Add(o Outcome) {
	if o.Err != nil {
		t.Failed++
		t.FirstError = cmp.Or(t.FirstError, o.Err)
		return
	}
	if o.NotAll {
		t.NotAll++
	}
	e := AcrossErrors(o.Measured, o.Truth)
	t.RMS, t.Worst = append(t.RMS, RMS(e)), append(t.Worst, Greatest(e))
	if o.Budget.Point != nil {
		t.judge(o, e)
	}
}

// judge counts what the stated band covers.
func (t *Tally) judge(o Outcome, e []float64) {
	n := float64(len(e))
	for i, v := range e {
		if math.Abs(v) <= 1.96*o.Budget.Point[i] {
			t.Points += 1 / n
		}
		t.stated += o.Budget.Point[i] * o.Budget.Point[i] / n
		t.found += v * v / n
	}
	if Greatest(e) <= o.Budget.Within {
		t.Outlines++
	}
	width := plane.RectFromPoints(o.Truth...).Width()
	if math.Abs(plane.RectFromPoints(o.Measured...).Width()-width) <= o.Budget.Width.U {
		t.Widths++
	}
}

// Row is a tally as numbers for a table: mm, and shares of 1.
type Row struct {
	Scenes, Failed           int
	NotAll                   int     `json:",omitempty"`
	FirstError               string  `json:",omitempty"`
	RMS, Worst, P95          float64 // medians of the rms and of the worst, 95th percentile of the worst
	Points, Outlines, Widths float64
	Stated, True             float64 // rms over all scenes of the standard uncertainty stated and of the error made
}

// Row returns the tally's numbers.
func (t *Tally) Row() Row {
	r := Row{Scenes: len(t.RMS) + t.Failed, Failed: t.Failed, NotAll: t.NotAll}
	if t.FirstError != nil {
		r.FirstError = t.FirstError.Error()
	}
	n := float64(len(t.RMS))
	if n == 0 {
		return r
	}
	r.RMS, r.Worst, r.P95 = Quantile(t.RMS, 0.5), Quantile(t.Worst, 0.5), Quantile(t.Worst, 0.95)
	r.Points, r.Outlines, r.Widths = t.Points/n, t.Outlines/n, t.Widths/n
	r.Stated, r.True = math.Sqrt(t.stated/n), math.Sqrt(t.found/n)
	return r
}
