package measure_test

import (
	"context"
	"testing"

	"fairedge/internal/sweep"
)

// A few scenes of the main cases. The median of 8 scenes scatters by a quarter, so the
// goals are widened by a half; "fairedge accuracy" measures the table proper.
func TestReachQuick(t *testing.T) {
	var points, outlines, n float64
	for _, c := range sweep.ReachCases() {
		if !c.Quick {
			continue
		}
		all, err := sweep.Run(context.Background(), c.Case, 8, nil)
		if err != nil {
			t.Fatal(err)
		}
		got := all.Row()
		if got.Failed > 0 || got.RMS > 1.5*c.Goal.RMS || got.P95 > 1.5*c.Goal.P95 {
			t.Errorf("%s, %s, %s priors: %+v; goal %.2f / - / %.2f", c.World.Name, c.Layout, c.Priors, got, c.Goal.RMS, c.Goal.P95)
		}
		points, outlines, n = points+got.Points, outlines+got.Outlines, n+1
	}
	// 56 scenes, each all right or all wrong at worst: 0.95 scatters by 0.03.
	if points/n < 0.88 || outlines/n < 0.88 {
		t.Errorf("the stated band covers %.3f of the points and %.3f of the outlines, want 0.95", points/n, outlines/n)
	}
}
