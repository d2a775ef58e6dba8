package render

import (
	"image"
	"image/color"

	"fairedge/internal/photo"
)

// Layer is something to show over a photo. All places are in pixels of the full
// photo.
type Layer struct {
	Ink     color.NRGBA
	Width   float64 // of lines, px of the picture; 0 for the usual
	Lines   []Line
	Points  []photo.Point
	Dot     float64 // diameter of points, px of the picture; 0 for the usual
	Crosses bool    // points as crosses instead of dots
	Labels  []PointLabel
}

// Line is a chain of places.
type Line struct {
	Points []photo.Point
	Closed bool
}

// PointLabel is a word or two at a place of the photo.
type PointLabel struct {
	At    photo.Point
	Words string
}

// Every layer is drawn twice: dark and wider first, so that its colour reads on
// white paper as well as on dark wood.
var halo = color.NRGBA{0, 0, 0, 190}

// The usual sizes, in thousandths of the picture's longer side, and the halo on
// either side. A halo under leastHalo px is blurred away by the colour beside it.
const (
	usualLine = 1.6
	usualDot  = 3.2
	usualHalo = 0.8
	leastHalo = 1.5
)

// picture is a photo made smaller, on which layers are drawn.
type picture struct {
	img      *image.RGBA
	perPixel float64 // photo px per picture px
	unit     float64 // a thousandth of the longer side, px
	mask     *mask
}

// newPicture returns a copy of the base with room below.
func newPicture(base *image.RGBA, perPixel float64, below int) *picture {
	size := base.Bounds().Size()
	img := image.NewRGBA(image.Rect(0, 0, size.X, size.Y+below))
	for y := range size.Y {
		start := base.PixOffset(base.Rect.Min.X, base.Rect.Min.Y+y)
		copy(img.Pix[y*img.Stride:], base.Pix[start:start+4*size.X])
	}
	return &picture{
		img: img, perPixel: perPixel, unit: float64(max(size.X, size.Y)) / 1000,
		mask: newMask(size),
	}
}

func (p *picture) place(q photo.Point) photo.Point {
	return photo.Point{X: q.X / p.perPixel, Y: q.Y / p.perPixel}
}

func (p *picture) draw(l Layer) {
	for _, pass := range []struct {
		wider float64
		ink   color.NRGBA
	}{{2 * max(usualHalo*p.unit, leastHalo), halo}, {0, l.Ink}} {
		p.coverLines(l, orUsual(l.Width, usualLine*p.unit)+pass.wider)
		p.coverPoints(l, orUsual(l.Dot, usualDot*p.unit), pass.wider)
		p.mask.paint(p.img, pass.ink)
	}
}

func orUsual(size, usual float64) float64 {
	if size > 0 {
		return size
	}
	return usual
}

func (p *picture) coverLines(l Layer, width float64) {
	for _, line := range l.Lines {
		n := len(line.Points)
		for i := range n {
			if i == n-1 && !line.Closed {
				break
			}
			p.mask.line(p.place(line.Points[i]), p.place(line.Points[(i+1)%n]), width)
		}
	}
}

func (p *picture) coverPoints(l Layer, size, wider float64) {
	for _, at := range l.Points {
		q := p.place(at)
		if !l.Crosses {
			p.mask.line(q, q, size+wider)
			continue
		}
		r := size / 2
		thin := size/4 + wider
		p.mask.line(photo.Point{X: q.X - r, Y: q.Y}, photo.Point{X: q.X + r, Y: q.Y}, thin)
		p.mask.line(photo.Point{X: q.X, Y: q.Y - r}, photo.Point{X: q.X, Y: q.Y + r}, thin)
	}
}

// DebugPicture returns the base with the layers drawn over it. A place q of the full
// photo lies at q/perPixel of the base, as photo.Photo.Colour makes it.
func DebugPicture(base *image.RGBA, perPixel float64, layers ...Layer) (*image.RGBA, error) {
	if err := checkBase(base, perPixel); err != nil {
		return nil, err
	}
	p := newPicture(base, perPixel, 0)
	for _, l := range layers {
		p.draw(l)
	}
	return p.img, p.labels(layers)
}
