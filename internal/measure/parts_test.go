package measure_test

import (
	"math"
	"strings"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/measure"
)

// The parts add up to the budget in every point, row and size, with a taped size and
// without; only the draws of Within differ, whose 95th of 100 is known to 2 %.
func TestPartsAddUpToTheBudget(t *testing.T) {
	for _, sizes := range [][]measure.TapedSize{nil, {measure.TapedWidth}} {
		p := withTapes(t, realistic(), several(), 3, func(set *measure.Set) {
			production(set)
			set.Prints = []card.Print{card.UnmeasuredPrint(card.A4, false)}
			set.Candidates[0].TemplateHeight, set.Candidates[0].TemplateBuckle, set.Candidates[0].Line = 0.1, 0.2, 0.05
		}, sizes...)
		c, o := p.c, p.o
		if len(sizes) > 0 {
			var err error
			if c, err = c.WithTaped(o, p.taped); err != nil {
				t.Fatal(err)
			}
		}
		o.Sigma = make([]float64, len(o.Points))
		for i := range o.Sigma {
			o.Sigma[i] = 0.04
		}
		want := budget(t, c, o)
		parts, err := c.ErrorParts(o)
		if err != nil {
			t.Fatal(err)
		}
		got := measure.BudgetOfParts(o, parts)
		same := func(what string, a, b, share float64) {
			t.Helper()
			if math.Abs(a-b) > share*math.Max(math.Abs(b), 1e-3) {
				t.Errorf("%d tapes: %s = %.6f by parts, %.6f in the budget", len(sizes), what, a, b)
			}
		}
		for i := range want.Point {
			same("point", got.Point[i], want.Point[i], 1e-6)
		}
		same("within", got.Within, want.Within, 0.05)
		same("U of the width", got.Width.U, want.Width.U, 1e-6)
		same("U of the depth", got.Depth.U, want.Depth.U, 1e-6)
		same("U of the perimeter", got.Perimeter.U, want.Perimeter.U, 1e-6)
		same("U of the area", got.Area.U, want.Area.U, 1e-6)
		if len(got.Rows) != len(want.Rows) {
			t.Fatalf("%d rows by parts, %d in the budget", len(got.Rows), len(want.Rows))
		}
		for i, r := range want.Rows {
			if got.Rows[i].Source != r.Source || got.Rows[i].Type != r.Type {
				t.Errorf("row %d is %v by parts, %v in the budget", i, got.Rows[i], r)
			}
			// The warp is seen both by the fit and at the outline: by parts it is one error,
			// in the budget what the fit knows of it and what it does not.
			if !strings.Contains(r.Source, "height") && !strings.Contains(r.Source, "edge") {
				continue
			}
			same(r.Source, got.Rows[i].Shape, r.Shape, 1e-6)
		}
	}
}
