package curve

import (
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fairedge/internal/plane"
)

// TestFitSweep prints the table of misses of FIT.md: every outline under every noise
// with as many seeds as FAIREDGE_SWEEP says. It only measures: the goals are held by
// TestFitGoalsOnCommittedNoise and TestFitGoalsOnFreshNoise.
func TestFitSweep(t *testing.T) {
	seeds, err := strconv.Atoi(os.Getenv("FAIREDGE_SWEEP"))
	if err != nil {
		t.Skip("set FAIREDGE_SWEEP to the number of seeds")
	}
	first := 1001
	if n, err := strconv.Atoi(os.Getenv("FAIREDGE_SWEEP_FIRST")); err == nil {
		first = n
	}
	for _, name := range fitTruthNames {
		truth := loadFitTruth(t, name)
		points := sampleEvenly(truth.path, 0.3)
		t.Run(name[:2], func(t *testing.T) {
			for _, g := range fitGoals() {
				t.Log(sweepRow(t, truth, g, points, first, seeds))
			}
		})
	}
}

// sweepRow returns one row: how many fits miss which goal, and the spread of the
// greatest and the rms error.
func sweepRow(t *testing.T, truth fitTruth, g fitGoal, points []plane.Point, first, seeds int) string {
	scores := make([]fitScore, seeds)
	inTwo(seeds, func(i int) {
		scores[i] = scoreFit(t, truth, noisy(points, g.sigma, g.corr, uint64(first+i)))
	})
	missed := 0
	var worst, rms []float64
	for i, s := range scores {
		worst, rms = append(worst, s.worst), append(rms, s.rms)
		m := g.misses(s, truth)
		if len(m) == 0 {
			continue
		}
		missed++
		t.Logf("  %s, %s, seed %d: %s", truth.name, g.label, first+i, strings.Join(m, "; "))
	}
	slices.Sort(worst)
	slices.Sort(rms)
	return fmt.Sprintf("| %s | %s | %d of %d | %.3f / %.3f / %.3f | %.4f / %.4f |", truth.name, g.label, missed, seeds,
		worst[seeds/2], worst[seeds*95/100], worst[seeds-1], rms[seeds/2], rms[seeds-1])
}
