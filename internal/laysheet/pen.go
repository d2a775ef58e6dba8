package laysheet

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// pen collects the items of one page.
type pen struct{ items []sheet.Item }

func at(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

func (p *pen) line(role sheet.Role, from, to plane.Point) {
	if from.DistanceTo(to) > 1e-6 {
		p.items = append(p.items, sheet.Stroke{Path: curve.OpenPath(curve.Line(from, to)), Role: role})
	}
}

func (p *pen) box(role sheet.Role, r plane.Rect) {
	p.items = append(p.items, sheet.Stroke{Path: rectangle(r), Role: role})
}

func (p *pen) fill(ink sheet.Ink, polygon ...plane.Point) {
	if len(polygon) >= 3 {
		p.items = append(p.items, sheet.Area{Paths: []curve.Path{curve.Polygon(polygon...)}, Ink: ink})
	}
}

func (p *pen) text(t sheet.Text) {
	if t.Words != "" {
		p.items = append(p.items, t)
	}
}

// paragraph writes wrapped lines below one another and returns the next base line.
func (p *pen) paragraph(t sheet.Text, width float64, words string) float64 {
	for _, line := range t.Wrapped(width, words) {
		t.Words = line
		p.text(t)
		t.At.Y -= 1.35 * t.Size
	}
	return t.At.Y
}

// arrow draws a line with a filled head at its end.
func (p *pen) arrow(role sheet.Role, from, to plane.Point, head float64) {
	along := to.Sub(from).Unit()
	neck := to.Add(along.Scale(-head))
	p.line(role, from, neck)
	side := along.TurnLeft().Scale(0.32 * head)
	p.fill(sheet.Ink{}, to, neck.Add(side), neck.Add(side.Neg()))
}

// dimension draws a dimension line with a head at both ends and its words on it, turned
// along it.
func (p *pen) dimension(from, to plane.Point, words string, size float64) {
	middle := from.Lerp(to, 0.5)
	p.arrow(sheet.ScaleTick, middle, from, 2)
	p.arrow(sheet.ScaleTick, middle, to, 2)
	along := to.Sub(from).Unit()
	angle := math.Atan2(along.Y, along.X) * 180 / math.Pi
	p.text(sheet.Text{At: middle.Add(along.TurnLeft().Scale(0.35 * size)), Words: words, Size: size, Angle: angle, Anchor: sheet.Middle})
}

// cross marks a point to chalk.
func (p *pen) cross(q plane.Point) {
	const arm = 1.3
	p.line(sheet.ScaleLine, q.Add(plane.Vec{X: -arm}), q.Add(plane.Vec{X: arm}))
	p.line(sheet.ScaleLine, q.Add(plane.Vec{Y: -arm}), q.Add(plane.Vec{Y: arm}))
}

func rectangle(r plane.Rect) curve.Path {
	return curve.Polygon(r.Min, at(r.Max.X, r.Min.Y), r.Max, at(r.Min.X, r.Max.Y))
}

// smaller returns the text in the largest size up to its own that fits the width, and
// whether that is still legible.
func smaller(t sheet.Text, width, least float64) (sheet.Text, bool) {
	if w := t.Width(); w > width {
		t.Size *= width / w
	}
	return t, t.Size >= least
}
