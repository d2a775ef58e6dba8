// Package curve fits, measures and offsets closed paths of straight lines and
// cubic Beziers. Millimetres, y up, counter-clockwise positive; a positive
// offset is outward.
package curve

import (
	"fmt"

	"fairedge/internal/plane"
)

// Path is a closed or open chain of segments, each starting where the one before
// ends. Immutable: methods return new paths. The zero value is the empty path.
type Path struct {
	segments []Segment
	closed   bool
}

// ClosedPath returns the closed path along the segments. It does not check them;
// Validate does.
func ClosedPath(segments ...Segment) Path { return Path{append([]Segment(nil), segments...), true} }

// OpenPath returns the open path along the segments. It does not check them;
// Validate does.
func OpenPath(segments ...Segment) Path { return Path{append([]Segment(nil), segments...), false} }

// Polygon returns the closed path of straight lines through the corners.
func Polygon(corners ...plane.Point) Path {
	segments := make([]Segment, len(corners))
	for i, c := range corners {
		segments[i] = Line(c, corners[(i+1)%len(corners)])
	}
	return Path{segments, true}
}

// Segments returns a copy of the pieces in order.
func (p Path) Segments() []Segment { return append([]Segment(nil), p.segments...) }

// Len returns the number of pieces.
func (p Path) Len() int { return len(p.segments) }

// Segment returns piece i, counted from 0.
func (p Path) Segment(i int) Segment { return p.segments[i] }

// IsClosed reports whether the path ends where it starts by intent.
func (p Path) IsClosed() bool { return p.closed }

// IsEmpty reports whether the path has no pieces.
func (p Path) IsEmpty() bool { return len(p.segments) == 0 }

// joinTolerance is how far apart, in millimetres, the end of one piece and the
// start of the next may lie: a thousandth of what any printer or blade resolves.
const joinTolerance = 1e-6

// Validate returns an error that names the first piece which breaks a rule:
// every coordinate is an ordinary number; each piece starts where the one before
// ends, within 1e-6 mm, and the first where the last ends if the path is closed.
func (p Path) Validate() error {
	for i, s := range p.segments {
		for _, q := range []plane.Point{s.P0, s.P1, s.P2, s.P3} {
			if !q.IsFinite() {
				return fmt.Errorf("piece %d has a coordinate that is not a number", i)
			}
		}
		next := i + 1
		if next == len(p.segments) {
			if !p.closed {
				break
			}
			next = 0
		}
		if d := s.P3.DistanceTo(p.segments[next].P0); d > joinTolerance {
			return fmt.Errorf("piece %d ends %.3g mm from the start of piece %d", i, d, next)
		}
	}
	return nil
}

// Reversed returns the path travelled the other way round.
func (p Path) Reversed() Path {
	n := len(p.segments)
	out := make([]Segment, n)
	for i, s := range p.segments {
		out[n-1-i] = s.Reversed()
	}
	return Path{out, p.closed}
}

// StartingAt returns the closed path with piece i first.
func (p Path) StartingAt(i int) Path {
	out := append(append([]Segment(nil), p.segments[i:]...), p.segments[:i]...)
	return Path{out, p.closed}
}

// Map returns the path with every control point moved by f, which must be affine
// for the result to trace the moved points.
func (p Path) Map(f func(plane.Point) plane.Point) Path {
	out := make([]Segment, len(p.segments))
	for i, s := range p.segments {
		out[i] = Segment{f(s.P0), f(s.P1), f(s.P2), f(s.P3), s.Straight}
	}
	return Path{out, p.closed}
}
