package render

import (
	"image"
	"image/color"
	"math"

	"fairedge/internal/photo"
)

// mask is how much of each pixel some strokes cover, 0 to 255. Strokes of one mask
// that touch or cross make one even stain, however transparent it is painted.
//
// Coverage is taken from the distance d of the pixel's centre to the stroke's middle
// line: width/2 - d + 1/2, cut off at 0 and 1, which is exact for a straight edge
// along the pixels and within 0.1 otherwise. A few hundred short lines cost less
// this way than a general rasteriser, which clears and sums the whole picture for
// every layer.
type mask struct {
	cover         []uint8
	width, height int
	first, last   int        // rows touched
	touched       []pixelRun // pixels touched in each row
}

// pixelRun is a run of pixels of a row; empty when it ends before it begins.
type pixelRun struct{ from, to int }

func newMask(size image.Point) *mask {
	m := &mask{
		cover: make([]uint8, size.X*size.Y), width: size.X, height: size.Y,
		first: size.Y, last: -1, touched: make([]pixelRun, size.Y),
	}
	for y := range m.touched {
		m.touched[y] = m.untouched()
	}
	return m
}

func (m *mask) untouched() pixelRun { return pixelRun{m.width, -1} }

// line covers the stroke of the given width with round ends from a to b, in pixels.
func (m *mask) line(a, b photo.Point, width float64) {
	reach := width/2 + 0.5
	x0, x1 := m.span(math.Min(a.X, b.X)-reach, math.Max(a.X, b.X)+reach, m.width)
	y0, y1 := m.span(math.Min(a.Y, b.Y)-reach, math.Max(a.Y, b.Y)+reach, m.height)
	if x0 > x1 || y0 > y1 {
		return
	}
	m.first, m.last = min(m.first, y0), max(m.last, y1)
	dx, dy := b.X-a.X, b.Y-a.Y
	perLength := 0.0
	if lengthSq := dx*dx + dy*dy; lengthSq > 0 {
		perLength = 1 / lengthSq
	}
	for y := y0; y <= y1; y++ {
		m.touched[y] = pixelRun{min(m.touched[y].from, x0), max(m.touched[y].to, x1)}
		row := m.cover[y*m.width:][:m.width]
		py := float64(y) + 0.5 - a.Y
		for x := x0; x <= x1; x++ {
			px := float64(x) + 0.5 - a.X
			t := (px*dx + py*dy) * perLength
			if t < 0 {
				t = 0
			} else if t > 1 {
				t = 1
			}
			ex, ey := px-t*dx, py-t*dy
			distanceSq := ex*ex + ey*ey
			if distanceSq >= reach*reach {
				continue
			}
			covered := math.Min(1, reach-math.Sqrt(distanceSq))
			row[x] = max(row[x], uint8(255*covered+0.5))
		}
	}
}

// span returns the pixels whose squares meet the range, inside the picture. A range
// that is no number has none.
func (m *mask) span(from, to float64, size int) (first, last int) {
	if !(from < float64(size) && to > 0) {
		return 0, -1
	}
	return int(math.Max(0, from)), int(math.Min(float64(size)-1, to))
}

// paint lays the colour over the picture where the mask covers it, and clears the
// mask.
func (m *mask) paint(img *image.RGBA, ink color.NRGBA) {
	for y := m.first; y <= m.last; y++ {
		row := m.cover[y*m.width:][:m.width]
		pix := img.Pix[y*img.Stride:]
		for x := m.touched[y].from; x <= m.touched[y].to; x++ {
			c := row[x]
			if c == 0 {
				continue
			}
			row[x] = 0
			a := uint32(c) * uint32(ink.A)
			q := pix[4*x:][:4]
			q[0] = blend(q[0], ink.R, a)
			q[1] = blend(q[1], ink.G, a)
			q[2] = blend(q[2], ink.B, a)
		}
		m.touched[y] = m.untouched()
	}
	m.first, m.last = m.height, -1
}

// blend returns the mix of below and above; a is the share of above in 1/65025.
func blend(below, above uint8, a uint32) uint8 {
	return uint8((uint32(below)*(65025-a) + uint32(above)*a + 32512) / 65025)
}
