package cloth_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fairedge/internal/cloth"
	"fairedge/internal/length"
)

// TestWithinTwoPercentOfExhaustive lays five rectangles of random sizes and compares with
// every order laid to the lowest, then leftmost corner: an exhaustive search of all lays
// in which no rectangle can move down or left.
func TestWithinTwoPercentOfExhaustive(t *testing.T) {
	const width = 1000.0
	rng := rand.New(rand.NewPCG(7, 11))
	o := cloth.DefaultOptions()
	o.Params.Work = 200_000
	for round := range 6 {
		var boxes []box
		var orders []cloth.Order
		for i := range 5 {
			b := box{w: math.Round(150 + 450*rng.Float64()), h: math.Round(100 + 400*rng.Float64())}
			boxes = append(boxes, b)
			orders = append(orders, cloth.Order{Name: fmt.Sprint(i), Pad: block(length.Length(b.w), length.Length(b.h)), Pads: 1})
		}
		best := math.Inf(1)
		permute(boxes, 0, func(order []box) { best = math.Min(best, lowestLay(order, width)) })
		l := mustLay(t, bare(width), o, orders...)
		if got := l.Needed.Millimetres(); got > 1.02*best+1e-6 {
			t.Errorf("round %d, %v: needed %.1f mm, exhaustive %.1f", round, boxes, got, best)
		}
	}
}

type box struct{ w, h, x, y float64 }

func permute(boxes []box, k int, visit func([]box)) {
	if k == len(boxes) {
		visit(append([]box(nil), boxes...))
		return
	}
	for i := k; i < len(boxes); i++ {
		boxes[k], boxes[i] = boxes[i], boxes[k]
		permute(boxes, k+1, visit)
		boxes[k], boxes[i] = boxes[i], boxes[k]
	}
}

// lowestLay puts each box at the lowest, then leftmost corner of those before it.
func lowestLay(boxes []box, width float64) float64 {
	used := 0.0
	for k := range boxes {
		xs, ys := []float64{0}, []float64{0}
		for _, o := range boxes[:k] {
			xs, ys = append(xs, o.x+o.w), append(ys, o.y+o.h)
		}
		b := &boxes[k]
		found := false
		for _, y := range ys {
			for _, x := range xs {
				if x+b.w <= width && (!found || y < b.y || y == b.y && x < b.x) && isClear(boxes[:k], x, y, *b) {
					b.x, b.y, found = x, y, true
				}
			}
		}
		used = math.Max(used, b.y+b.h)
	}
	return used
}

func isClear(others []box, x, y float64, b box) bool {
	for _, o := range others {
		if x < o.x+o.w && o.x < x+b.w && y < o.y+o.h && o.y < y+b.h {
			return false
		}
	}
	return true
}
