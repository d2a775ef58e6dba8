package sheet

import (
	"math"
	"strings"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// pen collects the items of one sheet.
type pen struct{ items []Item }

func at(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

func (p *pen) stroke(id string, role Role, path curve.Path) {
	p.items = append(p.items, Stroke{ID: id, Path: path, Role: role})
}

// line draws a straight line.
func (p *pen) line(role Role, from, to plane.Point) {
	p.stroke("", role, curve.OpenPath(curve.Line(from, to)))
}

// box draws an upright rectangle.
func (p *pen) box(role Role, r plane.Rect) { p.stroke("", role, rectangle(r)) }

func (p *pen) area(id string, ink Ink, paths ...curve.Path) {
	p.items = append(p.items, Area{ID: id, Paths: paths, Ink: ink})
}

func (p *pen) text(t Text) { p.items = append(p.items, t) }

// paragraph writes lines below one another; the first base line is at t.At.
func (p *pen) paragraph(t Text, leading float64, lines ...string) {
	down := plane.RigidFromAngle(t.Angle*math.Pi/180, plane.Vec{}).ApplyVec(plane.Vec{Y: -leading})
	for i, words := range lines {
		line := t
		line.Words = words
		line.At = t.At.Add(down.Scale(float64(i)))
		p.text(line)
	}
}

// arrow draws a line with a filled head of the given length at its end.
func (p *pen) arrow(role Role, from, to plane.Point, head float64) {
	along := to.Sub(from).Unit()
	neck := to.Add(along.Scale(-head))
	p.line(role, from, neck)
	side := along.TurnLeft().Scale(head * 0.36)
	p.area("", role.Style().Ink, curve.Polygon(to, neck.Add(side), neck.Add(side.Neg())))
}

// rectangle returns the outline of the box, counter-clockwise from its lower left.
func rectangle(r plane.Rect) curve.Path {
	return curve.Polygon(r.Min, at(r.Max.X, r.Min.Y), r.Max, at(r.Min.X, r.Max.Y))
}

// circle returns four cubic quarter circles, counter-clockwise. With handles of
// 4/3 (√2-1) r the radius is right to 2.7e-4 of itself.
func circle(centre plane.Point, radius float64) curve.Path {
	handle := 4.0 / 3 * (math.Sqrt2 - 1) * radius
	pieces := make([]curve.Segment, 4)
	out := plane.Vec{X: radius}
	for i := range pieces {
		next := out.TurnLeft()
		a, b := centre.Add(out), centre.Add(next)
		pieces[i] = curve.Cubic(a, a.Add(next.Scale(handle/radius)), b.Add(out.Scale(handle/radius)), b)
		out = next
	}
	return curve.ClosedPath(pieces...)
}

// Wrapped breaks the words into lines no wider than width mm in the style of t. A word
// that is wider stands on a line of its own.
func (t Text) Wrapped(width float64, words string) []string { return wrap(t, width, words) }

// wrap breaks the words into lines no wider than width mm in the style of t.
func wrap(t Text, width float64, words string) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(words) {
		longer := strings.TrimSpace(line + " " + word)
		t.Words = longer
		if line != "" && t.Width() > width {
			lines = append(lines, line)
			longer = word
		}
		line = longer
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
