package sheet

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// plateWords writes on the piece what must not get lost when it is cut out: which
// side is up, where the back is, whose it is and how large.
func (p *pen) plateWords(plate Plate, origin plane.Point, label Label, block string) {
	inner := plate.inner()
	ring := inner.Flatten(0.2)
	b := inner.Bounds()
	size := plate.wordSize()
	centre := at(origin.X, b.Centre().Y)
	if !inner.Contains(centre) {
		centre = b.Centre()
	}
	p.sides(ring, centre, size, plate.Mirrored)
	top := centre.Add(plane.Vec{Y: 2.6 * size})
	first, second := "TOP, this side up", "This is the side that shows."
	if plate.Mirrored {
		first, second = "SECOND PLATE, mirrored", "Underside of the pad: this side up when you cut it."
	}
	p.text(Text{At: top, Words: first, Size: 1.5 * size, Anchor: Middle, Bold: true, Block: block})
	lines := append([]string{second}, plate.sizes()...)
	if label.Job != "" {
		lines = append(lines, label.Job)
	}
	wrapped := []string{}
	body := Text{At: top.Add(plane.Vec{Y: -1.9 * size}), Size: 0.8 * size, Anchor: Middle, Block: block}
	for _, l := range lines {
		wrapped = append(wrapped, wrap(body, 0.62*b.Width(), l)...)
	}
	p.paragraph(body, 1.15*size, wrapped...)
	if !plate.Fabric.IsEmpty() {
		p.grain(ring, at(centre.X+0.36*b.Width(), centre.Y), size)
	}
}

// wordSize returns the size of type in mm that the plate's words are set by: larger on
// a larger plate, readable on a small one.
func (p Plate) wordSize() float64 {
	b := p.inner().Bounds()
	return math.Max(3, math.Min(12, math.Min(b.Width(), b.Height())/28))
}

// sides writes BACK, FRONT, LEFT and RIGHT inside the outline, as seen from the
// middle of the piece.
func (p *pen) sides(ring []plane.Point, centre plane.Point, size float64, mirrored bool) {
	left, right := "LEFT", "RIGHT"
	if mirrored {
		left, right = right, left
	}
	for _, s := range []struct {
		words     string
		direction plane.Vec
		angle     float64
		clear     float64 // from the outline to the base line, in sizes
	}{
		{"BACK", plane.Vec{Y: 1}, 0, 2.2},
		{"FRONT", plane.Vec{Y: -1}, 0, 1.0},
		{left, plane.Vec{X: -1}, 90, 1.9},
		{right, plane.Vec{X: 1}, 90, 1.0},
	} {
		reach := distanceAlong(ring, centre, s.direction) - s.clear*size
		if reach < 3*size {
			continue // no room: the piece is tiny or hollow there
		}
		p.text(Text{At: centre.Add(s.direction.Scale(reach)), Words: s.words, Size: 1.2 * size,
			Angle: s.angle, Anchor: Middle, Bold: true})
	}
}

// grain draws the grain arrow, upright through the point, where the outline leaves
// room for it.
func (p *pen) grain(ring []plane.Point, middle plane.Point, size float64) {
	up, down := distanceAlong(ring, middle, plane.Vec{Y: 1}), distanceAlong(ring, middle, plane.Vec{Y: -1})
	half := math.Min(math.Min(up, down)*0.6, 8*size)
	if half < 2*size {
		return
	}
	p.arrow(GrainLine, middle, middle.Add(plane.Vec{Y: half}), 0.7*size)
	p.arrow(GrainLine, middle, middle.Add(plane.Vec{Y: -half}), 0.7*size)
	p.text(Text{At: middle.Add(plane.Vec{X: -0.5 * size}), Words: "grain", Size: 0.8 * size, Angle: 90, Anchor: Middle})
}

// distanceAlong returns how far the nearest crossing of the closed ring lies from the
// point in the unit direction, or 0 when there is none.
func distanceAlong(ring []plane.Point, from plane.Point, direction plane.Vec) float64 {
	nearest := math.Inf(1)
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		u, v := direction.Cross(a.Sub(from)), direction.Cross(b.Sub(from))
		if (u < 0) == (v < 0) {
			continue
		}
		d := direction.Dot(a.Lerp(b, u/(u-v)).Sub(from))
		if d > 0 {
			nearest = math.Min(nearest, d)
		}
	}
	if math.IsInf(nearest, 1) {
		return 0
	}
	return nearest
}

// sizes returns what a tape would read of the plate's outlines.
func (p Plate) sizes() []string {
	var lines []string
	for _, o := range []struct {
		name string
		path curve.Path
	}{{"Foam", p.Foam}, {"Fabric", p.Fabric}} {
		if o.path.IsEmpty() {
			continue
		}
		b := o.path.Bounds()
		w, d := length.Length(b.Width()), length.Length(b.Height())
		lines = append(lines, fmt.Sprintf("%s %.1f x %.1f mm (%s x %s)",
			o.name, w.Millimetres(), d.Millimetres(), w.Imperial(), d.Imperial()))
	}
	return lines
}
