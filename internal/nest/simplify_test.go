package nest

import (
	"math"
	"testing"

	"fairedge/internal/plane"

	"pgregory.net/rapid"
)

// wavyOutline is a closed curve with hollows, flattened finely.
func wavyOutline(n, waves int, depth float64) []plane.Point {
	out := make([]plane.Point, n)
	for i := range out {
		a := 2 * math.Pi * float64(i) / float64(n)
		r := 200 * (1 + depth*math.Cos(float64(waves)*a))
		out[i] = plane.Point{X: r * math.Cos(a), Y: 0.9 * r * math.Sin(a)}
	}
	return out
}

// TestSimplerHoldsTheOutline: the simpler outline is simple, as high and as wide, has
// fewer corners, every corner of the true outline lies in it, and no point of it is
// further out than the tolerance allows each cut (cuts on cuts add up; four have not
// been seen).
func TestSimplerHoldsTheOutline(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := wavyOutline(rapid.IntRange(240, 400).Draw(t, "n"), rapid.IntRange(1, 6).Draw(t, "waves"), rapid.Float64Range(0, 0.3).Draw(t, "depth"))
		r := cleaned(turned(nmPoints(points), rapid.Float64Range(0, 360).Draw(t, "turn"), false))
		s := simpler(r)
		if _, _, crosses := s.crossingEdges(); crosses || len(s) >= len(r) || boxOf(s) != boxOf(r) || s.doubleArea() < r.doubleArea() {
			t.Fatalf("%d corners of %d, box %v of %v, crossing %v", len(s), len(r), boxOf(s), boxOf(r), crosses)
		}
		for _, v := range r {
			if !holds(s, v) {
				t.Fatalf("corner %v of the outline lies outside", v)
			}
		}
		far := 4 * simplerBy * math.Sqrt(r.doubleArea()/2)
		for _, v := range s {
			if d := distanceToRing(r, v); d > far {
				t.Fatalf("corner %v is %v nm out, more than %v", v, d, far)
			}
		}
	})
}

// holds reports whether v lies in the closed outline: winding by exact signs.
func holds(r ring, v vec) bool {
	odd := false
	for i, a := range r {
		b := at(r, i+1)
		if turnSign(a, b, v) == 0 && v.x >= min(a.x, b.x) && v.x <= max(a.x, b.x) && v.y >= min(a.y, b.y) && v.y <= max(a.y, b.y) {
			return true
		}
		if (a.y > v.y) != (b.y > v.y) && (turnSign(a, b, v) > 0) == (b.y > a.y) {
			odd = !odd
		}
	}
	return odd
}

func distanceToRing(r ring, v vec) float64 {
	least := math.Inf(1)
	for i, a := range r {
		d := at(r, i+1).sub(a)
		s := segment{a, d.scale(1 / d.length()), d.length()}
		least = math.Min(least, math.Sqrt(s.distanceSq(v)))
	}
	return least
}

// TestFineOutlinesAreLaid: the proof is made with the true outlines.
func TestFineOutlinesAreLaid(t *testing.T) {
	p := &Problem{Width: 1370, Buffer: 2, Items: []Item{{Outline: wavyOutline(240, 3, 0.2), Demand: 6, Turns: []float64{0, 90, 180, 270}}}}
	r := solve(t, p, 200_000)
	if err := prove(p, r); err != nil {
		t.Error(err)
	}
	r.Placements[0].At.X += 3
	if err := prove(p, r); err == nil {
		t.Error("a piece moved by more than the buffer goes unnoticed")
	}
}
