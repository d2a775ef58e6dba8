package pad

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// leftHalf returns the part of the closed counter-clockwise path left of x = 0,
// closed by the straight fold, and the fold from front to back. ok is false where
// the path does not cross x = 0 exactly twice.
func leftHalf(path curve.Path) (half curve.Path, fold Stroke, ok bool) {
	open, ok := between(path)
	if !ok {
		return curve.Path{}, Stroke{}, false
	}
	back, front := open[0].P0, open[len(open)-1].P3
	return curve.ClosedPath(append(open, curve.Line(front, back))...), Stroke{front, back}, true
}

// between returns the pieces from where the path crosses x = 0 at the back, leftward,
// to where it crosses it in front, split at both and with both ends put exactly on
// the line.
func between(path curve.Path) ([]curve.Segment, bool) {
	b := path.Bounds()
	reach := b.Height() + 2
	top, ok1 := alongRay(path, plane.Point{Y: b.Max.Y + 1}, plane.Vec{Y: -1}, 0, reach)
	low, ok2 := alongRay(path, plane.Point{Y: b.Min.Y - 1}, plane.Vec{Y: 1}, 0, reach)
	if !ok1 || !ok2 {
		return nil, false
	}
	back, _ := path.Nearest(plane.Point{Y: b.Max.Y + 1 - top})
	fromBack, _ := startingAt(path, make([]int, path.Len()), back)
	front, _ := fromBack.Nearest(plane.Point{Y: b.Min.Y - 1 + low})
	var open []curve.Segment
	for i := range front.Piece {
		open = append(open, fromBack.Segment(i))
	}
	if front.T > 1e-9 {
		before, _ := fromBack.Segment(front.Piece).Split(front.T)
		open = append(open, before)
	}
	for _, s := range open {
		if math.Max(s.At(0.5).X, s.P3.X) > 1e-3 {
			return nil, false
		}
	}
	if len(open) == 0 {
		return nil, false
	}
	open[0] = onFold(open[0], true)
	open[len(open)-1] = onFold(open[len(open)-1], false)
	return open, true
}

// onFold returns the piece with its start or its end put exactly on x = 0.
func onFold(s curve.Segment, start bool) curve.Segment {
	p0, p3 := s.P0, s.P3
	if start {
		p0.X = 0
	} else {
		p3.X = 0
	}
	if s.Straight {
		return curve.Line(p0, p3)
	}
	return curve.Cubic(p0, s.P1, s.P2, p3)
}
