package sweep

import (
	"context"
	"math"
	"os"
	"strings"
	"testing"
)

// slow skips a sweep of many scenes unless FAIREDGE_SLOW is set: "fairedge accuracy" makes
// the same tables, and ACCURACY.md has them.
func slow(t *testing.T) {
	t.Helper()
	if os.Getenv("FAIREDGE_SLOW") == "" {
		t.Skip("many scenes: set FAIREDGE_SLOW=1")
	}
}

func rowOf(t *testing.T, c Case, n int) Row {
	t.Helper()
	all, err := Run(context.Background(), c, n, nil)
	if err != nil {
		t.Fatal(err)
	}
	return all.Row()
}

// Every line of the reach table keeps its goal.
func TestReachGoals(t *testing.T) {
	slow(t)
	for _, c := range ReachCases() {
		got := rowOf(t, c.Case, 120)
		if got.Failed > 0 || got.RMS > c.Goal.RMS || got.P95 > c.Goal.P95 {
			t.Errorf("%s, %s, %s priors: %+v; goal %+v", c.World.Name, c.Layout, c.Priors, got, c.Goal)
		}
	}
}

// The goals are 0.93 to 0.97 of the points and 0.90 to 0.98 of the outlines for the
// realistic world, and 0.85 of the points at least with a lens twice as bad as the prior.
// A share of 400 scenes, each nearly all right or all wrong, scatters by 0.01: that much
// is allowed on either side.
func TestCoverageGoals(t *testing.T) {
	slow(t)
	const chance = 0.01
	for _, c := range CoverageCases() {
		got := rowOf(t, c, 400)
		t.Logf("%s, %s, %s priors: %.3f of points, %.3f of outlines", c.World.Name, c.Layout, c.Priors, got.Points, got.Outlines)
		switch {
		case got.Failed > 0:
			t.Errorf("%d scenes were not measured: %s", got.Failed, got.FirstError)
		case strings.Contains(c.World.Name, "twice as bad"):
			if got.Points < 0.85-chance {
				t.Errorf("%s, %s: %.3f of the points", c.World.Name, c.Layout, got.Points)
			}
		case got.Points < 0.93-chance || got.Points > 0.97+chance || got.Outlines < 0.90-chance || got.Outlines > 0.98+chance:
			t.Errorf("%s, %s: %.3f of the points, %.3f of the outlines", c.World.Name, c.Layout, got.Points, got.Outlines)
		}
	}
}

// Thresholds and priors turned by 20 % leave the medians within 15 %.
func TestVariedMedians(t *testing.T) {
	slow(t)
	var plain []float64
	for _, v := range VaryCases(20) {
		for k, c := range v.Cases {
			got := rowOf(t, c, 120)
			if v.Factor == 1 {
				plain = append(plain, got.RMS)
			}
			if moved := got.RMS/plain[k] - 1; math.Abs(moved) > 0.15 {
				t.Errorf("%s x %.2f, %s: the median moves by %.0f %%", v.Name, v.Factor, c.Layout, 100*moved)
			}
		}
	}
}

// Three photos are better than one; cards laid anew in between are better than cards left
// lying. The band holds for both as for one.
func TestSeveralPhotosAreBetter(t *testing.T) {
	n, most := 2, 1.2 // so few tell only that nothing is wrong
	if os.Getenv("FAIREDGE_SLOW") != "" {
		n, most = 60, 0.6
	}
	var one, left, anew, cover float64
	for _, c := range SeveralCases() {
		alone, fused, err := RunSeveral(context.Background(), c, n, nil)
		if err != nil {
			t.Fatal(err)
		}
		a, f := alone.Row(), fused.Row()
		if a.Failed+f.Failed > 0 {
			t.Fatalf("%s: %s", c.Layout, f.FirstError)
		}
		if cover += f.Points / float64(len(SeveralCases())); c.LaidAnew {
			anew += f.True * f.True
		} else {
			one, left = one+a.True*a.True, left+f.True*f.True
		}
	}
	t.Logf("true rms error: one %.2f, three %.2f, laid anew %.2f (sums over layouts); band covers %.3f", math.Sqrt(one), math.Sqrt(left), math.Sqrt(anew), cover)
	if anew > most*one || left > 1.2*one {
		t.Errorf("errors, squared: one photo %.3f, three %.3f, cards laid anew %.3f", one, left, anew)
	}
	if cover < 0.88 {
		t.Errorf("the band covers %.3f of the points", cover)
	}
}
