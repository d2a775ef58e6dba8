package shapefile

import (
	"math"
	"slices"
	"sort"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// outline is a closed line of a drawing, counter-clockwise.
type outline struct {
	name string
	path curve.Path
}

// leastPiece is the length in mm below which a piece is a slip of the drawing program,
// not shape: its direction is chance and would make a corner.
const leastPiece = 1e-3

// closedLines returns the closed lines of a drawing, the largest first: those drawn
// closed, those whose ends meet within reach (mm), and the borders of what open lines
// enclose together. loose counts the lines that are part of none.
func closedLines(strokes []stroke, reach float64) (found []outline, loose int) {
	var open []stroke
	for _, s := range strokes {
		s.segments = slices.DeleteFunc(s.segments, func(g curve.Segment) bool { return controlLength(g) < leastPiece })
		switch {
		case len(s.segments) == 0:
		case s.closed, s.start().DistanceTo(s.end()) <= reach && curve.OpenPath(s.segments...).ArcLength(1e-2) > 4*reach:
			found = append(found, outline{s.name, joinedUp(s.segments)})
		default:
			open = append(open, s)
		}
	}
	net := newStrokeNet(open, reach)
	net.prune()
	borders, used := net.borders()
	found = append(found, borders...)
	found = slices.DeleteFunc(found, func(o outline) bool { return math.Abs(o.path.SignedArea()) < leastArea })
	for i := range found {
		found[i].path = found[i].path.CounterClockwise()
	}
	sort.SliceStable(found, func(i, k int) bool { return found[i].path.SignedArea() > found[k].path.SignedArea() })
	return found, len(open) - used
}

// leastArea is the area in mm² below which a closed line is a dot or a drilled hole.
const leastArea = 1.0

// nearEnough is the gap in mm that is closed by moving both ends; a wider one gets a
// straight piece, for moving would bend what meets there.
const nearEnough = 0.2

// joinedUp returns the closed path along the pieces, whose ends lie near each other.
// Straight pieces that carry on straight become one.
func joinedUp(segments []curve.Segment) curve.Path {
	var out []curve.Segment
	for i, s := range segments {
		out = append(out, s)
		next := segments[(i+1)%len(segments)]
		if s.P3.DistanceTo(next.P0) > nearEnough {
			out = append(out, curve.Line(s.P3, next.P0))
		}
	}
	n := len(out)
	for i := range out {
		k := (i + 1) % n
		if out[i].P3 != out[k].P0 {
			m := out[i].P3.Lerp(out[k].P0, 0.5)
			out[i], out[k] = withEnd(out[i], m), withStart(out[k], m)
		}
	}
	return curve.ClosedPath(mergedLines(out)...)
}

// withEnd moves the end of the piece, and its handle with it.
func withEnd(s curve.Segment, q plane.Point) curve.Segment {
	if s.Straight {
		return curve.Line(s.P0, q)
	}
	s.P2, s.P3 = s.P2.Add(q.Sub(s.P3)), q
	return s
}

func withStart(s curve.Segment, q plane.Point) curve.Segment {
	return withEnd(s.Reversed(), q).Reversed()
}

// mergedLines makes one line of those that carry on straight, so that an edge is one
// piece: every corner between them lies within leastPiece of it.
func mergedLines(segments []curve.Segment) []curve.Segment {
	var out []curve.Segment
	var passed []plane.Point // corners inside the last line
	for _, s := range rotatedToCorner(segments) {
		if n := len(out); n > 0 && len(passed) < mostPassed && s.Straight && out[n-1].Straight && isStraightOn(out[n-1], append(passed, s.P0), s.P3) {
			passed = append(passed, s.P0)
			out[n-1] = curve.Line(out[n-1].P0, s.P3)
			continue
		}
		out, passed = append(out, s), nil
	}
	return out
}

// mostPassed bounds the corners that one line takes in, whose check takes its square.
const mostPassed = 1000

// rotatedToCorner lets the outline start where no line carries on straight.
func rotatedToCorner(segments []curve.Segment) []curve.Segment {
	n := len(segments)
	for i, s := range segments {
		before := segments[(i+n-1)%n]
		if !s.Straight || !before.Straight || !isStraightOn(before, []plane.Point{s.P0}, s.P3) {
			return append(slices.Clone(segments[i:]), segments[:i]...)
		}
	}
	return segments
}

// isStraightOn reports whether the line may run on to q past the corners.
func isStraightOn(line curve.Segment, corners []plane.Point, q plane.Point) bool {
	u := q.Sub(line.P0).Unit()
	at := 0.0
	for _, c := range corners {
		v := c.Sub(line.P0)
		if math.Abs(u.Cross(v)) > leastPiece || u.Dot(v) < at {
			return false
		}
		at = u.Dot(v)
	}
	return q.Sub(line.P0).Dot(u) > at
}
