package plane

import "math"

// Rect is an upright box on the bench, in millimetres. The zero value and any
// box with Max below Min are empty; EmptyRect is the one to grow from.
type Rect struct{ Min, Max Point }

// EmptyRect returns the box that holds nothing; Include makes it grow.
func EmptyRect() Rect {
	inf := math.Inf(1)
	return Rect{Point{inf, inf}, Point{-inf, -inf}}
}

// RectFromPoints returns the smallest box that holds all the points.
func RectFromPoints(points ...Point) Rect {
	r := EmptyRect()
	for _, p := range points {
		r = r.Include(p)
	}
	return r
}

// Include returns the smallest box that holds r and p.
func (r Rect) Include(p Point) Rect {
	return Rect{
		Point{math.Min(r.Min.X, p.X), math.Min(r.Min.Y, p.Y)},
		Point{math.Max(r.Max.X, p.X), math.Max(r.Max.Y, p.Y)},
	}
}

// Union returns the smallest box that holds both boxes.
func (r Rect) Union(s Rect) Rect {
	if s.IsEmpty() {
		return r
	}
	return r.Include(s.Min).Include(s.Max)
}

// Grow returns r with each side moved outward by d millimetres (inward when
// negative).
func (r Rect) Grow(d float64) Rect {
	return Rect{Point{r.Min.X - d, r.Min.Y - d}, Point{r.Max.X + d, r.Max.Y + d}}
}

// IsEmpty reports whether the box holds no point.
func (r Rect) IsEmpty() bool { return !(r.Min.X <= r.Max.X && r.Min.Y <= r.Max.Y) }

// Width returns the extent along x in millimetres.
func (r Rect) Width() float64 { return r.Max.X - r.Min.X }

// Height returns the extent along y in millimetres.
func (r Rect) Height() float64 { return r.Max.Y - r.Min.Y }

// Centre returns the middle of the box.
func (r Rect) Centre() Point { return r.Min.Lerp(r.Max, 0.5) }

// Contains reports whether p lies in the box or on its border.
func (r Rect) Contains(p Point) bool {
	return p.X >= r.Min.X && p.X <= r.Max.X && p.Y >= r.Min.Y && p.Y <= r.Max.Y
}
