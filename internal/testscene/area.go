package testscene

import (
	"math"

	"fairedge/internal/plane"
)

// footprint is the parallelogram that one pixel covers on a surface: the steps to
// the next pixel across and down, mm. The zero footprint is a point.
type footprint struct {
	across, down plane.Vec
	reach        float64 // no point of the pixel lies farther from its middle, mm
}

func newFootprint(across, down plane.Vec) footprint {
	return footprint{across, down, (across.Length() + down.Length()) / 2}
}

// share returns how much of the pixel lies where the signed distance is positive,
// when it is d at the pixel's middle and grows along the unit vector n: the exact
// area of a square cut by a straight line.
//
// In pixels the distance is s = d/|g| along the unit direction (a, b) = Jᵀn/|g|.
// The square's shadow on that direction is a trapezoid, the convolution of boxes
// of widths |a| and |b|; share is its integral up to s.
func (f footprint) share(d float64, n plane.Vec) float64 {
	if d >= f.reach {
		return 1
	}
	if d < -f.reach {
		return 0
	}
	a, b := math.Abs(f.across.Dot(n)), math.Abs(f.down.Dot(n))
	if a < b {
		a, b = b, a
	}
	half, level, t := (a+b)/2, (a-b)/2, math.Abs(d)
	var above float64 // share on the side where the middle is
	switch {
	case t >= half:
		above = 1
	case t <= level:
		above = 0.5 + t/a
	default:
		above = 1 - (half-t)*(half-t)/(2*a*b)
	}
	if d < 0 {
		return 1 - above
	}
	return above
}

// area is a region of a surface.
type area interface {
	// touches reports whether the region may reach into r.
	touches(r plane.Rect) bool
	// cover returns which share of the footprint about p lies in the region. When
	// more than one border passes, it reports that the share is not to be trusted;
	// for the zero footprint it always is, and is 0 or 1.
	cover(p plane.Point, f footprint) (share float64, unsure bool)
}

// rectArea is a rectangle about the origin of its own frame.
type rectArea struct {
	halfW, halfH float64
	fromPlane    plane.Rigid
	box          plane.Rect
}

func newRectArea(width, height float64, planeFromRect plane.Rigid) *rectArea {
	r := &rectArea{halfW: width / 2, halfH: height / 2, fromPlane: planeFromRect.Inverse()}
	r.box = plane.EmptyRect()
	for _, c := range []plane.Point{{X: -1, Y: -1}, {X: 1, Y: -1}, {X: 1, Y: 1}, {X: -1, Y: 1}} {
		r.box = r.box.Include(planeFromRect.Apply(plane.Point{X: c.X * r.halfW, Y: c.Y * r.halfH}))
	}
	return r
}

func (r *rectArea) touches(b plane.Rect) bool { return overlap(r.box, b) }

func overlap(a, b plane.Rect) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X && a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y
}

func (r *rectArea) cover(p plane.Point, f footprint) (float64, bool) {
	q := r.fromPlane.Apply(p)
	dx, dy := r.halfW-math.Abs(q.X), r.halfH-math.Abs(q.Y)
	switch {
	case dx < -f.reach || dy < -f.reach:
		return 0, false
	case dx >= f.reach && dy >= f.reach:
		return 1, false
	case dx >= f.reach:
		return f.share(dy, plane.Vec{X: r.fromPlane.Sin, Y: r.fromPlane.Cos}), false
	case dy >= f.reach:
		return f.share(dx, plane.Vec{X: r.fromPlane.Cos, Y: -r.fromPlane.Sin}), false
	}
	return 0.5, true
}

// gridArea is the lines of a cutting mat: two families of stripes.
type gridArea struct {
	rect        *rectArea
	pitch, half float64
}

func (g gridArea) touches(b plane.Rect) bool { return g.rect.touches(b) }

func (g gridArea) cover(p plane.Point, f footprint) (float64, bool) {
	q := g.rect.fromPlane.Apply(p)
	if math.Abs(q.X) > g.rect.halfW || math.Abs(q.Y) > g.rect.halfH {
		return 0, false
	}
	x := q.X - g.pitch*math.Round(q.X/g.pitch)
	y := q.Y - g.pitch*math.Round(q.Y/g.pitch)
	dx, dy := math.Abs(x), math.Abs(y)
	nearX, nearY := dx < g.half+f.reach, dy < g.half+f.reach
	switch {
	case nearX && nearY && f.reach > 0:
		return 0.5, true
	case nearX:
		return f.strip(dx, g.half, plane.Vec{X: g.rect.fromPlane.Cos, Y: -g.rect.fromPlane.Sin}), false
	case nearY:
		return f.strip(dy, g.half, plane.Vec{X: g.rect.fromPlane.Sin, Y: g.rect.fromPlane.Cos}), false
	}
	return 0, false
}

// strip returns the share of the pixel on a stripe of the given half width whose
// middle lies d away along n.
func (f footprint) strip(d, half float64, n plane.Vec) float64 {
	return f.share(half-d, n) + f.share(half+d, n) - 1
}
