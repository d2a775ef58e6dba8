package job

import (
	"encoding/binary"
	"image"
	"math"

	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// straightened is the photo as seen square on from above, in the seat frame, for
// people to look at. Nothing is measured on it.
type straightened struct {
	Image   *image.RGBA
	area    plane.Rect // shown, seat frame
	pxPerMM float64
}

// straightenedSide is the longer side of the straightened picture in pixels: as
// large as a phone shows when zoomed in once.
const straightenedSide = 1600

// straightenedMargin is what is shown around the outline, mm: enough for cards.
const straightenedMargin = 90.0

// straighten looks every pixel of the wanted view up in the reduced photo, whose
// pixels are factor photo pixels wide. The way there is worked out exactly at the
// corners of a lattice and carried over in between, which is right to a fraction
// of a pixel.
func (m *Measured) straighten(reduced *image.RGBA, factor int) straightened {
	v := straightened{area: m.Shape.Net.Bounds().Grow(straightenedMargin)}
	v.pxPerMM = straightenedSide / math.Max(v.area.Width(), v.area.Height())
	w, h := int(v.area.Width()*v.pxPerMM), int(v.area.Height()*v.pxPerMM)
	v.Image = image.NewRGBA(image.Rect(0, 0, w, h))
	planeFromSeat := m.Shape.SeatFromPlane.Inverse()
	inPhoto := func(x, y int) photo.Point {
		p := m.Calibration.PhotoFromPlane(planeFromSeat.Apply(v.seatFromView(float64(x), float64(y))))
		return photo.Point{X: p.X / float64(factor), Y: p.Y / float64(factor)}
	}
	for y0 := 0; y0 < h; y0 += lattice {
		for x0 := 0; x0 < w; x0 += lattice {
			v.fill(reduced, x0, y0, [4]photo.Point{
				inPhoto(x0, y0), inPhoto(x0+lattice, y0), inPhoto(x0, y0+lattice), inPhoto(x0+lattice, y0+lattice),
			})
		}
	}
	return v
}

// lattice is the spacing in pixels of the places that are worked out exactly.
const lattice = 16

// fill paints one lattice cell whose corners lie at the given places of the photo.
func (v straightened) fill(from *image.RGBA, x0, y0 int, corner [4]photo.Point) {
	b := v.Image.Bounds()
	for y := y0; y < min(y0+lattice, b.Max.Y); y++ {
		t := (float64(y-y0) + 0.5) / lattice
		left, right := lerp(corner[0], corner[2], t), lerp(corner[1], corner[3], t)
		start := v.Image.PixOffset(x0, y)
		copyAlong(v.Image.Pix[start:][:4*(min(x0+lattice, b.Max.X)-x0)], from, left, right)
	}
}

func lerp(a, b photo.Point, t float64) photo.Point {
	return photo.Point{X: a.X + t*(b.X-a.X), Y: a.Y + t*(b.Y-a.Y)}
}

// copyAlong copies the pixels that lie under a row of a lattice cell, from the place
// of its left end to that of its right end; grey where the photo ends.
func copyAlong(to []uint8, from *image.RGBA, left, right photo.Point) {
	width, height := from.Rect.Dx(), from.Rect.Dy()
	stepX, stepY := (right.X-left.X)/lattice, (right.Y-left.Y)/lattice
	x, y := left.X+stepX/2, left.Y+stepY/2
	for ; len(to) >= 4; to = to[4:] {
		pixel := uint32(0xff808080)
		if column, row := int(math.Floor(x)), int(math.Floor(y)); uint(column) < uint(width) && uint(row) < uint(height) {
			pixel = binary.LittleEndian.Uint32(from.Pix[row*from.Stride+4*column:])
		}
		binary.LittleEndian.PutUint32(to, pixel)
		x, y = x+stepX, y+stepY
	}
}

// seatFromView returns the place on the seat of a point of the view, y turned over.
func (v straightened) seatFromView(x, y float64) plane.Point {
	return plane.Point{X: v.area.Min.X + x/v.pxPerMM, Y: v.area.Max.Y - y/v.pxPerMM}
}

// viewFromSeat is the way back, as picture coordinates.
func (v straightened) viewFromSeat(p plane.Point) photo.Point {
	return photo.Point{X: (p.X - v.area.Min.X) * v.pxPerMM, Y: (v.area.Max.Y - p.Y) * v.pxPerMM}
}
