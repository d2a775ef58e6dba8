package sheet

import (
	"math"
	"slices"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// room knows where nothing is drawn yet, and what has been written since.
type room struct {
	busy  *occupancy
	taken []plane.Rect
}

// newRoom returns the ground inside the closed line that the items leave free.
func newRoom(inner curve.Path, items []Item) *room {
	r := &room{busy: newOccupancy(inner.Bounds())}
	r.busy.outside(inner)
	for _, item := range items {
		r.busy.item(item, 0.7)
	}
	r.busy.total()
	return r
}

// free reports whether the box lies on free ground.
func (r *room) free(box plane.Rect) bool {
	if !r.busy.box.Contains(box.Min) || !r.busy.box.Contains(box.Max) || r.busy.count(box) > 0 {
		return false
	}
	for _, t := range r.taken {
		if box.Min.X < t.Max.X && t.Min.X < box.Max.X && box.Min.Y < t.Max.Y && t.Min.Y < box.Max.Y {
			return false
		}
	}
	return true
}

func (r *room) take(box plane.Rect) { r.taken = append(r.taken, box) }

// outside marks everything outside the closed line as drawn on.
func (o *occupancy) outside(line curve.Path) {
	ring := line.Flatten(0.2)
	var crossings []float64
	for row := range o.rows {
		y := o.box.Min.Y + float64(row) + 0.5
		crossings = crossings[:0]
		for i, a := range ring {
			if b := ring[(i+1)%len(ring)]; (a.Y <= y) != (b.Y <= y) {
				crossings = append(crossings, a.X+(b.X-a.X)*(y-a.Y)/(b.Y-a.Y))
			}
		}
		slices.Sort(crossings)
		inside, next := false, 0
		for col := range o.cols {
			x := o.box.Min.X + float64(col) + 0.5
			for next < len(crossings) && crossings[next] <= x {
				inside, next = !inside, next+1
			}
			if !inside {
				o.cells[row*o.cols+col] = 1
			}
		}
	}
	o.changed = true
}

// nearest returns the place nearest to the wanted one for the middle of a free box of
// that size.
func (r *room) nearest(box plane.Rect, wanted plane.Point) (centre plane.Point, found bool) {
	half := plane.Vec{X: box.Width()/2 + 1, Y: box.Height()/2 + 1}
	best := math.Inf(1)
	const step = 4.0
	for x := r.busy.box.Min.X + half.X; x <= r.busy.box.Max.X-half.X; x += step {
		for y := r.busy.box.Min.Y + half.Y; y <= r.busy.box.Max.Y-half.Y; y += step {
			q := at(x, y)
			if d := q.DistanceTo(wanted); d < best && r.free(plane.Rect{Min: q.Add(half.Neg()), Max: q.Add(half)}) {
				best, centre, found = d, q, true
			}
		}
	}
	return centre, found
}
