package laysheet

import (
	"math"

	"fairedge/internal/cloth"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// Figure draws the whole lay without a page of its own, to stand on another sheet: the
// largest usual scale at which it fits the width and height, mm, with its lower left
// corner at the origin. Numbers, names and sizes that cannot be read at that scale are
// left out. Nothing laid gives no items.
func Figure(laid *cloth.Laid, width, height float64) (items []sheet.Item, size plane.Vec, scale float64) {
	if laid == nil || len(laid.Pieces) == 0 {
		return nil, plane.Vec{}, 0
	}
	const arrowRoom = 7.0
	w := laid.Cloth.Width.Millimetres()
	from, to := -laid.Cloth.Squaring.Millimetres(), clothEnd(laid)
	scale = math.Max(scaleFor(w, width-leftRoom-arrowRoom), scaleFor(to-from, height-footRoom))
	p := &picture{page: &page{}, laid: laid, scale: scale, from: from, to: to, corner: at(leftRoom, footRoom)}
	p.draw(false)
	return p.items, plane.Vec{X: leftRoom + w/scale + arrowRoom, Y: footRoom + (to-from)/scale}, scale
}
