package sheet

import (
	"math"

	"fairedge/internal/plane"
)

// occupancy knows what part of a sheet is drawn on, in cells of 1 mm.
type occupancy struct {
	box        plane.Rect
	cols, rows int
	cells      []uint8
	sums       []int32      // of the cells below and to the left; made by total
	changed    bool         // since the last total
	later      []plane.Rect // drawn on since, kept apart so that the sums stay
}

func newOccupancy(box plane.Rect) *occupancy {
	o := &occupancy{box: box, cols: max(1, int(math.Ceil(box.Width()))), rows: max(1, int(math.Ceil(box.Height())))}
	o.cells = make([]uint8, o.cols*o.rows)
	return o
}

// cellRange returns the cells that the box touches, cut to the sheet.
func (o *occupancy) cellRange(r plane.Rect) (x0, y0, x1, y1 int) {
	return max(0, int(math.Floor(r.Min.X-o.box.Min.X))), max(0, int(math.Floor(r.Min.Y-o.box.Min.Y))),
		min(o.cols, int(math.Ceil(r.Max.X-o.box.Min.X))), min(o.rows, int(math.Ceil(r.Max.Y-o.box.Min.Y)))
}

// rect marks a box as drawn on.
func (o *occupancy) rect(r plane.Rect) {
	x0, y0, x1, y1 := o.cellRange(r)
	o.changed = true
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			o.cells[y*o.cols+x] = 1
		}
	}
}

// item marks what an item covers, and clear mm around it.
func (o *occupancy) item(item Item, clear float64) {
	switch item := item.(type) {
	case Stroke:
		points := item.Path.Flatten(0.3)
		if item.Path.IsClosed() && len(points) > 0 {
			points = append(points, points[0])
		}
		for i := 1; i < len(points); i++ {
			n := int(math.Ceil(points[i-1].DistanceTo(points[i]))) + 1
			for k := range n + 1 {
				o.rect(plane.RectFromPoints(points[i-1].Lerp(points[i], float64(k)/float64(n))).Grow(clear))
			}
		}
	default:
		o.rect(item.Bounds().Grow(clear))
	}
}

// total makes the sums that count needs: a summed-area table (Crow, 1984).
func (o *occupancy) total() {
	w := o.cols + 1
	if o.sums != nil && !o.changed {
		return
	}
	o.changed = false
	if o.sums == nil {
		o.sums = make([]int32, w*(o.rows+1))
	}
	for y := range o.rows {
		cells := o.cells[y*o.cols:][:o.cols]
		below, above := o.sums[y*w+1:][:len(cells)], o.sums[(y+1)*w+1:][:len(cells)]
		row := int32(0)
		for x, cell := range cells {
			row += int32(cell)
			above[x] = below[x] + row
		}
	}
}

// laterRect marks a box as drawn on; count knows it at once.
func (o *occupancy) laterRect(r plane.Rect) { o.later = append(o.later, r) }

// count returns how much of the box is drawn on, mm², as of the last total and by every
// later box. Where boxes overlap they count twice.
func (o *occupancy) count(r plane.Rect) float64 {
	sum := o.cellCount(r)
	for _, l := range o.later {
		w, h := math.Min(r.Max.X, l.Max.X)-math.Max(r.Min.X, l.Min.X), math.Min(r.Max.Y, l.Max.Y)-math.Max(r.Min.Y, l.Min.Y)
		if w > 0 && h > 0 {
			sum += w * h
		}
	}
	return sum
}

func (o *occupancy) cellCount(r plane.Rect) float64 {
	x0, y0, x1, y1 := o.cellRange(r)
	if x0 >= x1 || y0 >= y1 {
		return 0
	}
	w := o.cols + 1
	return float64(o.sums[y1*w+x1] - o.sums[y0*w+x1] - o.sums[y1*w+x0] + o.sums[y0*w+x0])
}

// free returns the lower left corner of a box of the given size that is not drawn on:
// the lowest, and of these the leftmost.
func (o *occupancy) free(width, height float64) (corner plane.Point, found bool) {
	o.total()
	for y := 0; float64(y)+height <= o.box.Height(); y++ {
		for x := 0; float64(x)+width <= o.box.Width(); x++ {
			lower := o.box.Min.Add(plane.Vec{X: float64(x), Y: float64(y)})
			if o.count(plane.Rect{Min: lower, Max: lower.Add(plane.Vec{X: width, Y: height})}) == 0 {
				return lower, true
			}
		}
	}
	return plane.Point{}, false
}
