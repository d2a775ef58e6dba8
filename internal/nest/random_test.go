package nest

import (
	"math"

	"fairedge/internal/plane"

	"pgregory.net/rapid"
)

// anyOutline draws a simple outline: star-shaped about its middle, so that deep
// notches and long spikes are common, from 20 to 300 mm across.
func anyOutline(t *rapid.T, name string) []plane.Point {
	n := rapid.IntRange(3, 12).Draw(t, name+".n")
	size := rapid.Float64Range(20, 150).Draw(t, name+".size")
	out := make([]plane.Point, n)
	for i := range out {
		a := 2 * math.Pi * (float64(i) + rapid.Float64Range(0, 0.8).Draw(t, name+".a")) / float64(n)
		r := size * rapid.Float64Range(0.15, 1).Draw(t, name+".r")
		out[i] = plane.Point{X: r * math.Cos(a), Y: r * math.Sin(a)}
	}
	if r := cleaned(nmPoints(out)); r == nil || len(r) != n {
		t.Skip("degenerate")
	} else if _, _, crosses := r.crossingEdges(); crosses {
		t.Skip("the middle lies outside, edges cross")
	}
	return out
}

// anyProblem draws a few outlines on cloth wide enough for each.
func anyProblem(t *rapid.T) *Problem {
	p := &Problem{
		Width:      rapid.Float64Range(310, 700).Draw(t, "width"),
		Buffer:     rapid.SampledFrom([]float64{0, 0, 2.5, 10}).Draw(t, "buffer"),
		EdgeBuffer: rapid.SampledFrom([]float64{0, 0, 5}).Draw(t, "edge"),
	}
	turns := [][]float64{nil, {0, 180}, {0, 90, 180, 270}, {0, 45, 17.3}}
	for range rapid.IntRange(1, 4).Draw(t, "items") {
		p.Items = append(p.Items, Item{
			Outline: anyOutline(t, "outline"),
			Demand:  rapid.IntRange(0, 3).Draw(t, "demand"),
			Turns:   turns[rapid.IntRange(0, 3).Draw(t, "turns")],
			Flip:    rapid.Bool().Draw(t, "flip"),
		})
	}
	if rapid.Bool().Draw(t, "sheets") {
		p.SheetLength = rapid.Float64Range(310, 600).Draw(t, "sheet")
	}
	return p
}
