package testscene

import (
	"math"

	"fairedge/internal/card"
	"fairedge/internal/plane"
)

// cardArea is the printed field of a card. Design.IsInk decides at single points;
// where one border passes through a pixel its share is exact.
type cardArea struct {
	design    card.Design
	fromPlane plane.Rigid
	sx, sy    float64
	box       plane.Rect
	cells     []uint8 // bit flags, row by row
}

const (
	cellPrinted = 1 << iota
	cellDark
	cellDot
)

func newCardArea(c Placement, design card.Design) *cardArea {
	a := &cardArea{design: design, fromPlane: c.PlaneFromCard.Inverse(), box: plane.EmptyRect()}
	a.sx, a.sy = c.scales()
	for _, corner := range [][2]int{{0, 0}, {design.Cols, 0}, {design.Cols, design.Rows}, {0, design.Rows}} {
		a.box = a.box.Include(c.planeFromArtwork(design.CellMin(corner[0], corner[1])))
	}
	a.cells = make([]uint8, design.Cols*design.Rows)
	for r := range design.Rows {
		for k := range design.Cols {
			a.cells[r*design.Cols+k] = cellFlags(design, k, r)
		}
	}
	return a
}

func cellFlags(d card.Design, c, r int) uint8 {
	var f uint8
	if d.HasCell(c, r) {
		f |= cellPrinted
		if d.IsDark(c, r) {
			f |= cellDark
		}
		if d.HasDot(c, r) {
			f |= cellDot
		}
	}
	return f
}

func (a *cardArea) touches(b plane.Rect) bool { return overlap(a.box.Grow(1), b) }

func (a *cardArea) flags(c, r int) uint8 {
	if c < 0 || r < 0 || c >= a.design.Cols || r >= a.design.Rows {
		return 0
	}
	return a.cells[r*a.design.Cols+c]
}

// ground returns 1 where the cell's ground is ink.
func (a *cardArea) ground(c, r int) float64 {
	if a.flags(c, r)&cellDark != 0 {
		return 1
	}
	return 0
}

func (a *cardArea) cover(p plane.Point, f footprint) (float64, bool) {
	q := a.fromPlane.Apply(p)
	q.X, q.Y = q.X/a.sx, q.Y/a.sy
	if f.reach == 0 {
		if a.design.IsInk(q) {
			return 1, false
		}
		return 0, false
	}
	x, y := (q.X-a.design.FieldMin.X)/card.Pitch, (q.Y-a.design.FieldMin.Y)/card.Pitch
	dx, dy := (x-math.Round(x))*card.Pitch*a.sx, (y-math.Round(y))*card.Pitch*a.sy
	nearX, nearY := math.Abs(dx) < f.reach, math.Abs(dy) < f.reach
	c, r := int(math.Floor(x)), int(math.Floor(y))
	switch {
	case nearX && nearY || f.reach > 1:
		return 0.5, true
	case nearX:
		right := int(math.Round(x))
		t := f.share(dx, plane.Vec{X: a.fromPlane.Cos, Y: -a.fromPlane.Sin})
		return (1-t)*a.ground(right-1, r) + t*a.ground(right, r), false
	case nearY:
		upper := int(math.Round(y))
		t := f.share(dy, plane.Vec{X: a.fromPlane.Sin, Y: a.fromPlane.Cos})
		return (1-t)*a.ground(c, upper-1) + t*a.ground(c, upper), false
	}
	return a.inCell(c, r, x, y, f)
}

// inCell is cover away from the cell's borders: the ground and perhaps its dot.
// The pixel may be taken for smaller than the dot's curvature only up to a point:
// the chord's error is 1/(24 R) of a pixel for a dot of R pixels, 0.01 px at 4 px;
// below that the share is called unsure.
func (a *cardArea) inCell(c, r int, x, y float64, f footprint) (float64, bool) {
	ground := a.ground(c, r)
	if a.flags(c, r)&cellDot == 0 {
		return ground, false
	}
	ox, oy := (x-float64(c)-0.5)*card.Pitch, (y-float64(r)-0.5)*card.Pitch
	distance := math.Hypot(ox, oy)
	d := card.DotRadius - distance
	switch {
	case d >= f.reach:
		return 1 - ground, false
	case d <= -f.reach:
		return ground, false
	case f.reach > card.DotRadius/6 || a.sx != 1 || a.sy != 1:
		return 0.5, true
	}
	// The inward normal in the card frame, turned into the bench frame.
	n := a.fromPlane.Inverse().ApplyVec(plane.Vec{X: -ox / distance, Y: -oy / distance})
	t := f.share(d, n)
	return ground + t*(1-2*ground), false
}
