package detect

import (
	"math"

	"fairedge/internal/card"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// Region returns the outline of the card's body in the photo, grown outwards by
// margin millimetres, as closed rings for the even-odd rule: one for a loose card,
// an outer and an inner one for the frame. It is for leaving cards out of other
// searches, not for measuring: a plain homography through the sighting's marks,
// without lens distortion, good to a pixel or two near the marks. ok is false when
// the marks do not determine it.
func (s Sighting) Region(margin float64) (rings [][]photo.Point, ok bool) {
	d, err := card.DesignOf(s.Card)
	if err != nil {
		return nil, false
	}
	var from []plane.Point
	var to []photo.Point
	for _, m := range s.Marks {
		from, to = append(from, d.Mark(m.At.I, m.At.J)), append(to, m.Photo)
	}
	h, ok := photoFromCard(from, to)
	if !ok {
		return nil, false
	}
	body := plane.Rect{
		Min: plane.Point{X: -d.Width / 2, Y: -d.Height / 2},
		Max: plane.Point{X: d.Width / 2, Y: d.Height / 2},
	}
	rings = append(rings, h.outline(body.Grow(margin)))
	if d.Ring > 0 {
		hole := plane.Rect{Min: d.CellMin(d.Ring, d.Ring), Max: d.CellMin(d.Cols-d.Ring, d.Rows-d.Ring)}
		if hole = hole.Grow(-margin); !hole.IsEmpty() {
			rings = append(rings, h.outline(hole))
		}
	}
	return rings, true
}

// homography maps the card's plane to the photo. Both sides are scaled to about
// 1 about their middles, which keeps its equations well conditioned (Hartley,
// "In defense of the eight-point algorithm", PAMI 19, 1997).
type homography struct {
	cardX, cardY, cardSize    float64
	photoX, photoY, photoSize float64
	h                         [8]float64
}

// outline returns the corners of a box and points between them as seen.
func (h *homography) outline(r plane.Rect) []photo.Point {
	corners := [4]plane.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}}
	const perSide = 8
	var ring []photo.Point
	for k, c := range corners {
		for n := range perSide {
			ring = append(ring, h.photo(c.Lerp(corners[(k+1)%4], float64(n)/perSide)))
		}
	}
	return ring
}

func (h *homography) photo(p plane.Point) photo.Point {
	x, y := (p.X-h.cardX)/h.cardSize, (p.Y-h.cardY)/h.cardSize
	w := h.h[6]*x + h.h[7]*y + 1
	return photo.Point{
		X: h.photoX + h.photoSize*(h.h[0]*x+h.h[1]*y+h.h[2])/w,
		Y: h.photoY + h.photoSize*(h.h[3]*x+h.h[4]*y+h.h[5])/w,
	}
}

// photoFromCard fits the homography by linear least squares: each pair gives two
// equations, u (h6 x + h7 y + 1) = h0 x + h1 y + h2 and likewise for v.
func photoFromCard(from []plane.Point, to []photo.Point) (homography, bool) {
	var h homography
	if len(from) < 4 {
		return h, false
	}
	h.normalise(from, to)
	var normal fitMatrix
	var right [fitUnknowns]float64
	for k := 8; k < fitUnknowns; k++ {
		normal[k][k] = 1 // unused unknowns stay zero
	}
	for k := range from {
		x, y := (from[k].X-h.cardX)/h.cardSize, (from[k].Y-h.cardY)/h.cardSize
		u, v := (to[k].X-h.photoX)/h.photoSize, (to[k].Y-h.photoY)/h.photoSize
		addEquation(&normal, &right, [8]float64{x, y, 1, 0, 0, 0, -u * x, -u * y}, u)
		addEquation(&normal, &right, [8]float64{0, 0, 0, x, y, 1, -v * x, -v * y}, v)
	}
	solution, ok := dampedStep(&normal, &right, 0)
	copy(h.h[:], solution[:8])
	return h, ok
}

// normalise sets the middles and mean distances from them of both sides.
func (h *homography) normalise(from []plane.Point, to []photo.Point) {
	n := float64(len(from))
	for k := range from {
		h.cardX, h.cardY = h.cardX+from[k].X/n, h.cardY+from[k].Y/n
		h.photoX, h.photoY = h.photoX+to[k].X/n, h.photoY+to[k].Y/n
	}
	for k := range from {
		h.cardSize += math.Hypot(from[k].X-h.cardX, from[k].Y-h.cardY) / n
		h.photoSize += math.Hypot(to[k].X-h.photoX, to[k].Y-h.photoY) / n
	}
	h.cardSize, h.photoSize = math.Max(h.cardSize, 1e-9), math.Max(h.photoSize, 1e-9)
}

func addEquation(normal *fitMatrix, right *[fitUnknowns]float64, row [8]float64, value float64) {
	for a := range row {
		for b := a; b < len(row); b++ {
			normal[a][b] += row[a] * row[b]
		}
		right[a] += row[a] * value
	}
}
