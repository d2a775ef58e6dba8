package pad_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fairedge/internal/pad"
)

// The slow way: try every set of places on the grid, the fewest strips first.
func slowJoins(n int, limit float64, cost []float64, step float64) (least float64, strips int) {
	for strips = 1; strips <= n; strips++ {
		if least = slowBest(0, n, strips, limit, cost, step); !math.IsInf(least, 1) {
			return least, strips
		}
	}
	return math.Inf(1), 0
}

func slowBest(from, n, strips int, limit float64, cost []float64, step float64) float64 {
	if strips == 1 {
		if float64(n-from)*step <= limit+1e-9 {
			return 0
		}
		return math.Inf(1)
	}
	best := math.Inf(1)
	for k := from + 1; k < n && float64(k-from)*step <= limit+1e-9; k++ {
		best = math.Min(best, cost[k]+slowBest(k, n, strips-1, limit, cost, step))
	}
	return best
}

func TestJoinsAreTheCheapest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const step = 5.0
		n := rapid.IntRange(2, 24).Draw(t, "n")
		cost := make([]float64, n+1)
		for i := range cost {
			cost[i] = float64(rapid.IntRange(0, 9).Draw(t, "cost"))
		}
		limit := step * float64(rapid.IntRange(max(2, n/4), n+1).Draw(t, "limit"))
		want, strips := slowJoins(n, limit, cost, step)
		at := func(x float64) float64 { return cost[int(math.Round(x/step))] }
		places, ok := pad.Joins(step*float64(n), limit, step, at)
		got := 0.0
		for _, x := range places {
			got += at(x)
		}
		if !ok || len(places)+1 != strips || got != want {
			t.Fatalf("joins %v cost %v with %d strips, want %v with %d", places, got, len(places)+1, want, strips)
		}
	})
}

func TestJoinsGiveWayToForbiddenPlaces(t *testing.T) {
	// Two strips of 600 would have to be joined between 400 and 600, which is forbidden.
	cost := func(x float64) float64 {
		if x > 390 && x < 610 {
			return 100
		}
		return 1
	}
	places, ok := pad.Joins(1000, 600, 5, cost)
	if !ok || len(places) != 2 {
		t.Errorf("joins %v, %v: want a third strip", places, ok)
	}
	if _, ok := pad.Joins(1000, 600, 5, func(float64) float64 { return 100 }); ok {
		t.Error("no place is right, yet one was found")
	}
}
