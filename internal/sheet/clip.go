package sheet

import (
	"math"
	"slices"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// run is a stretch of a path that lies inside a window.
type run struct {
	path   curve.Path
	before float64 // length of the path before the run, mm
}

// clip returns the stretches of the path that lie inside the window, exactly: lines
// and cubics are split where they cross its border (to 1e-9 of their parameter), not
// flattened. A path that lies wholly inside is returned as it is.
func clip(path curve.Path, window plane.Rect) []run {
	if b := path.Bounds(); window.Contains(b.Min) && window.Contains(b.Max) {
		return []run{{path, 0}}
	}
	var runs []run
	var open []curve.Segment
	length, before := 0.0, 0.0
	finish := func() {
		if len(open) > 0 {
			runs = append(runs, run{curve.OpenPath(open...), before})
		}
		open = nil
	}
	for _, s := range path.Segments() {
		for _, part := range splitAtBorder(s, window) {
			if window.Contains(part.At(0.5)) {
				if len(open) == 0 {
					before = length
				}
				open = append(open, part)
			} else {
				finish()
			}
			length += part.ArcLength(0.01)
		}
	}
	finish()
	return runs
}

// splitAtBorder cuts the piece where it crosses a side of the window.
func splitAtBorder(s curve.Segment, window plane.Rect) []curve.Segment {
	var cuts []float64
	for _, side := range []struct {
		normal plane.Vec
		offset float64
	}{
		{plane.Vec{X: 1}, window.Min.X}, {plane.Vec{X: 1}, window.Max.X},
		{plane.Vec{Y: 1}, window.Min.Y}, {plane.Vec{Y: 1}, window.Max.Y},
	} {
		cuts = append(cuts, crossings(s, side.normal, side.offset)...)
	}
	slices.Sort(cuts)
	var parts []curve.Segment
	done := 0.0
	for _, t := range cuts {
		if t-done < 1e-9 || 1-t < 1e-9 {
			continue
		}
		before, after := s.Split((t - done) / (1 - done))
		parts = append(parts, before)
		s, done = after, t
	}
	return append(parts, s)
}

// crossings returns the parameters at which the piece crosses the line of points q
// with normal . q = offset. Between the turning points of the height over the line
// the piece crosses it at most once, so that bisection finds every crossing.
func crossings(s curve.Segment, normal plane.Vec, offset float64) []float64 {
	height := func(t float64) float64 { return normal.Dot(s.At(t).Sub(plane.Point{})) - offset }
	stops := append([]float64{0}, turningPoints(s, normal)...)
	stops = append(stops, 1)
	var found []float64
	for i := 1; i < len(stops); i++ {
		lo, hi := stops[i-1], stops[i]
		if (height(lo) < 0) == (height(hi) < 0) {
			continue
		}
		rising := height(lo) < 0
		for hi-lo > 1e-14 {
			mid := (lo + hi) / 2
			if mid == lo || mid == hi {
				break
			}
			if (height(mid) < 0) == rising {
				lo = mid
			} else {
				hi = mid
			}
		}
		found = append(found, (lo+hi)/2)
	}
	return found
}

// turningPoints returns, in order, the parameters inside (0, 1) at which the piece
// stops rising or falling along the normal: the roots of a quadratic.
func turningPoints(s curve.Segment, normal plane.Vec) []float64 {
	if s.Straight {
		return nil
	}
	a, b, c := normal.Dot(s.P1.Sub(s.P0)), normal.Dot(s.P2.Sub(s.P1)), normal.Dot(s.P3.Sub(s.P2))
	// a(1-t)² + 2b(1-t)t + ct² = (a-2b+c)t² + 2(b-a)t + a
	k2, k1, k0 := a-2*b+c, b-a, a
	disc := k1*k1 - k2*k0
	if disc < 0 {
		return nil
	}
	// The stable form of the two roots: q = -(k1 + sign(k1) √disc), q/k2 and k0/q.
	q := -(k1 + math.Copysign(math.Sqrt(disc), k1))
	var roots []float64
	for _, t := range []float64{q / k2, k0 / q} {
		if t > 0 && t < 1 { // false for NaN
			roots = append(roots, t)
		}
	}
	slices.Sort(roots)
	return roots
}

// clipArea returns the part of the filled outline inside the window as a polygon
// within 0.01 mm of the outline (Sutherland and Hodgman, "Reentrant polygon
// clipping", 1974), or nothing.
func clipArea(path curve.Path, window plane.Rect) (clipped curve.Path, any bool) {
	b := path.Bounds()
	if window.Contains(b.Min) && window.Contains(b.Max) {
		return path, true
	}
	points := path.Flatten(0.01)
	for _, side := range []struct {
		inward plane.Vec
		on     plane.Point
	}{
		{plane.Vec{X: 1}, window.Min}, {plane.Vec{Y: 1}, window.Min},
		{plane.Vec{X: -1}, window.Max}, {plane.Vec{Y: -1}, window.Max},
	} {
		points = keepInward(points, side.inward, side.on)
	}
	if len(points) < 3 {
		return curve.Path{}, false
	}
	return curve.Polygon(points...), true
}

func keepInward(points []plane.Point, inward plane.Vec, on plane.Point) []plane.Point {
	var kept []plane.Point
	for i, p := range points {
		next := points[(i+1)%len(points)]
		u, v := inward.Dot(p.Sub(on)), inward.Dot(next.Sub(on))
		if u >= 0 {
			kept = append(kept, p)
		}
		if (u >= 0) != (v >= 0) {
			kept = append(kept, p.Lerp(next, u/(u-v)))
		}
	}
	return kept
}
