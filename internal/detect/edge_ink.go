package detect

import (
	"math"
	"sync"

	"fairedge/internal/card"
	"fairedge/internal/opencv"
	"fairedge/internal/plane"
)

// inkView is the bench view taken apart: the ground without thin dark strokes,
// and how much darker than the ground each pixel is.
type inkView struct {
	*benchView
	ground   []uint8
	contrast []uint8 // ground less luma; 0 on cards and where nothing is seen
	onCard   []bool
	labels   sync.Pool // of []int32, all zero: memory for regions
}

// newInkView separates strokes from ground by a closing as wide as the widest
// pen: a step between two surfaces is left alone, a stroke is filled.
func newInkView(v *benchView, cards [][]plane.Point, params EdgeParams) (*inkView, error) {
	size := int(params.PenWidest/v.scale+0.5) | 1
	ground, err := opencv.CloseGrey(v.luma, v.w, v.h, size)
	if err != nil {
		return nil, err
	}
	ink := &inkView{benchView: v, ground: ground, contrast: make([]uint8, len(ground)), onCard: make([]bool, len(ground))}
	for _, corners := range cards {
		ink.maskCard(corners)
	}
	for k, g := range ground {
		if ink.seen[k] && !ink.onCard[k] {
			ink.contrast[k] = g - v.luma[k]
		}
	}
	return ink, nil
}

// maskCard marks the pixels of a convex card, corners counter-clockwise.
func (v *inkView) maskCard(corners []plane.Point) {
	box := plane.RectFromPoints(corners...)
	x0, y0 := v.pixelOf(plane.Point{X: box.Min.X, Y: box.Max.Y})
	x1, y1 := v.pixelOf(plane.Point{X: box.Max.X, Y: box.Min.Y})
	for r := max(0, int(y0)); r <= min(v.h-1, int(y1)); r++ {
		for c := max(0, int(x0)); c <= min(v.w-1, int(x1)); c++ {
			if chain(corners).contains(v.pointOf(float64(c)+0.5, float64(r)+0.5)) {
				v.onCard[r*v.w+c] = true
			}
		}
	}
}

// cardCorners returns where the corners of the sighted cards lie on the bench,
// each card grown by margin, counter-clockwise.
func cardCorners(bench Bench, cards []Sighting, margin float64) [][]plane.Point {
	var all [][]plane.Point
	for _, s := range cards {
		design, err := card.DesignOf(s.Card)
		if err != nil || len(s.Marks) < 3 {
			continue
		}
		var from, to []plane.Point
		for _, m := range s.Marks {
			if q := bench.PlaneFromPhoto(m.Photo); q.IsFinite() {
				from = append(from, design.Mark(m.At.I, m.At.J))
				to = append(to, q)
			}
		}
		if len(to) < 3 {
			continue
		}
		planeFromCard := plane.BestRigid(from, to)
		x, y := design.Width/2+margin, design.Height/2+margin
		var corners []plane.Point
		for _, q := range []plane.Point{{X: -x, Y: -y}, {X: x, Y: -y}, {X: x, Y: y}, {X: -x, Y: y}} {
			corners = append(corners, planeFromCard.Apply(q))
		}
		all = append(all, corners)
	}
	return all
}

// darkest returns the greatest contrast within one pixel of k.
func (v *inkView) darkest(k int) uint8 {
	var best uint8
	for _, d := range [9]int{0, 1, -1, v.w, -v.w, v.w + 1, v.w - 1, -v.w + 1, -v.w - 1} {
		if q := k + d; q >= 0 && q < len(v.contrast) {
			best = max(best, v.contrast[q])
		}
	}
	return best
}

// index returns the pixel at a bench point, or -1 outside the view.
func (v *benchView) index(p plane.Point) int {
	x, y := v.pixelOf(p)
	c, r := int(math.Floor(x)), int(math.Floor(y))
	if c < 0 || r < 0 || c >= v.w || r >= v.h {
		return -1
	}
	return r*v.w + c
}

// surface returns the ground's grey and colour at a bench point; ok is false
// where nothing is known.
func (v *inkView) surface(p plane.Point) (grey, cb, cr float64, ok bool) {
	k := v.index(p)
	if k < 0 || !v.seen[k] || v.onCard[k] {
		return 0, 0, 0, false
	}
	c, r := k%v.w, k/v.w
	o := (r/chromaStep)*v.cw + c/chromaStep
	return float64(v.ground[k]), float64(v.cb[o]), float64(v.cr[o]), true
}
