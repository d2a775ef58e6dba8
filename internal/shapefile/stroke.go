package shapefile

import (
	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// stroke is one line of a drawing, in mm, y up.
type stroke struct {
	name     string // of the object or layer that it belongs to
	segments []curve.Segment
	closed   bool
}

func (s stroke) start() plane.Point { return s.segments[0].P0 }

func (s stroke) end() plane.Point { return s.segments[len(s.segments)-1].P3 }

func (s stroke) reversed() stroke {
	s.segments = curve.OpenPath(s.segments...).Reversed().Segments()
	return s
}

// controlLength returns the length of the control polygon, mm: 0 only for a point.
func controlLength(s curve.Segment) float64 {
	if s.Straight {
		return s.P0.DistanceTo(s.P3)
	}
	return s.P0.DistanceTo(s.P1) + s.P1.DistanceTo(s.P2) + s.P2.DistanceTo(s.P3)
}

// mostSegments bounds what is read of a drawing, so that a hostile one ends in a sentence
// and not in an hour.
const mostSegments = 100000

// pen collects strokes drawn in the coordinates of an object, which mm maps to the
// bench.
type pen struct {
	mm      affine
	name    string
	strokes []stroke
	now     []curve.Segment
	start   plane.Point // of the present stroke, object coordinates
	at      plane.Point // object coordinates
	count   int
}

// moveTo ends the present stroke, if any, as it is and starts a new one.
func (p *pen) moveTo(q plane.Point) {
	p.finish(false)
	p.start, p.at = q, q
}

func (p *pen) lineTo(q plane.Point) {
	if q != p.at {
		p.add(curve.Line(p.mm.apply(p.at), p.mm.apply(q)))
	}
	p.at = q
}

func (p *pen) cubicTo(b, c, d plane.Point) {
	if b != p.at || c != p.at || d != p.at {
		p.add(curve.Cubic(p.mm.apply(p.at), p.mm.apply(b), p.mm.apply(c), p.mm.apply(d)))
	}
	p.at = d
}

// quadraticTo draws a parabola, which is a cubic with handles of two thirds.
func (p *pen) quadraticTo(control, q plane.Point) {
	p.cubicTo(p.at.Lerp(control, 2.0/3), q.Lerp(control, 2.0/3), q)
}

// arcTo draws part of the ellipse that the map makes of the unit circle, and ends exactly
// at q.
func (p *pen) arcTo(ellipse affine, from, sweep float64, q plane.Point) {
	segments := arc(p.mm.after(ellipse), from, sweep)
	segments[0].P0 = p.mm.apply(p.at)
	segments[len(segments)-1].P3 = p.mm.apply(q)
	p.add(segments...)
	p.at = q
}

// ring draws the whole ellipse as a stroke of its own.
func (p *pen) ring(ellipse affine) {
	p.moveTo(ellipse.apply(plane.Point{X: 1}))
	p.arcTo(ellipse, 0, fullTurn, p.at)
	p.finish(true)
}

// close draws back to the start and ends the stroke.
func (p *pen) close() {
	p.lineTo(p.start)
	p.finish(true)
}

func (p *pen) add(segments ...curve.Segment) {
	if p.count += len(segments); p.count <= mostSegments {
		p.now = append(p.now, segments...)
	}
}

func (p *pen) finish(closed bool) {
	if len(p.now) > 0 {
		p.strokes = append(p.strokes, stroke{p.name, p.now, closed})
	}
	p.now, p.at = nil, p.start
}

// farthestPlace is how far, mm, a line may lie from the origin of its drawing.
const farthestPlace = 1e7

// drawn returns the strokes, or why they cannot be used.
func (p *pen) drawn() ([]stroke, error) {
	p.finish(false)
	if p.count > mostSegments {
		return nil, drawingf("leave only the outline in it", "it has more than %d lines and curves", mostSegments)
	}
	for _, s := range p.strokes {
		for _, g := range s.segments {
			if !withinReach(g, farthestPlace) {
				return nil, drawingf("move the drawing to its origin, or say its unit", "%s lies farther than 10 km from the origin, or has a coordinate that is not a number", s.called())
			}
		}
	}
	return p.strokes, nil
}

func (s stroke) called() string {
	if s.name == "" {
		return "an object"
	}
	return "object " + quoted(s.name)
}

// drawingf returns the failure of a drawing that has no usable outline. What is wrong
// follows "the drawing cannot be used".
func drawingf(remedy, format string, args ...any) *problem.Error {
	return problem.Newf(problem.NotAShape, remedy, "the drawing cannot be used: "+format, args...)
}
