package testscene

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// Paths are flattened into chords of about chordMM: on a radius of 30 mm the
// chord lies 0.0010 mm from the curve at most, 0.005 px at 0.2 mm per pixel, and
// 0.0007 mm in the mean.
const chordMM = 0.5

// gridMM is the side of the squares that chords are sorted into, and slackMM how
// far beyond a region a pixel may reach into it.
const (
	gridMM  = 4.0
	slackMM = 1.0
)

// sharpTurn is the angle between chords, rad, from which a corner counts as
// sharp: pixels at a sharp corner are sampled finely. A chord on a radius of 3 mm
// turns by 0.17.
const sharpTurn = 0.2

// chains is a set of polylines in a grid for finding the nearest chord.
type chains struct {
	from, to   []plane.Point
	nextTo     []int32 // the chord after, or -1
	before     []int32 // the chord before, or -1
	sharp      []plane.Point
	box        plane.Rect
	origin     plane.Point
	cols, rows int
	buckets    [][]int32
}

// flatten returns points along the path about chordMM apart, ends included.
func flatten(p curve.Path) []plane.Point {
	var points []plane.Point
	for i := range p.Len() {
		s := p.Segment(i)
		n := 1
		if !s.Straight {
			length := s.P0.DistanceTo(s.P1) + s.P1.DistanceTo(s.P2) + s.P2.DistanceTo(s.P3)
			n = max(4, int(math.Ceil(length/chordMM)))
		}
		for k := range n {
			points = append(points, s.At(float64(k)/float64(n)))
		}
		if i == p.Len()-1 {
			points = append(points, s.P3)
		}
	}
	return points
}

// addChain adds the polyline; when it is closed its first and last chord are
// neighbours. Chords longer than 20 mm are cut so that they fall in few squares.
func (c *chains) addChain(points []plane.Point, closed bool) {
	first := int32(len(c.from))
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		if a == b {
			continue
		}
		n := int(math.Ceil(a.DistanceTo(b) / 20))
		for k := range n {
			c.from = append(c.from, a.Lerp(b, float64(k)/float64(n)))
			c.to = append(c.to, a.Lerp(b, float64(k+1)/float64(n)))
		}
	}
	last := int32(len(c.from)) - 1
	for i := first; i <= last; i++ {
		before, next := i-1, i+1
		if i == first {
			before = -1
		}
		if i == last {
			next = -1
		}
		c.before, c.nextTo = append(c.before, before), append(c.nextTo, next)
	}
	if closed && last > first {
		c.before[first], c.nextTo[last] = last, first
	}
	for i := first; i <= last; i++ {
		if n := c.nextTo[i]; n >= 0 {
			turn := c.to[i].Sub(c.from[i]).AngleTo(c.to[n].Sub(c.from[n]))
			if math.Abs(turn) > sharpTurn {
				c.sharp = append(c.sharp, c.to[i])
			}
		}
	}
}

// index sorts the chords into the squares that they come within margin of, mm.
func (c *chains) index(margin float64) {
	c.box = plane.EmptyRect()
	for i := range c.from {
		c.box = c.box.Include(c.from[i]).Include(c.to[i])
	}
	if c.box.IsEmpty() {
		return
	}
	c.box = c.box.Grow(margin)
	c.origin = c.box.Min
	c.cols = int(c.box.Width()/gridMM) + 1
	c.rows = int(c.box.Height()/gridMM) + 1
	c.buckets = make([][]int32, c.cols*c.rows)
	for i := range c.from {
		b := plane.RectFromPoints(c.from[i], c.to[i]).Grow(margin)
		c0, r0 := c.square(b.Min)
		c1, r1 := c.square(b.Max)
		for r := max(r0, 0); r <= min(r1, c.rows-1); r++ {
			for k := max(c0, 0); k <= min(c1, c.cols-1); k++ {
				c.buckets[r*c.cols+k] = append(c.buckets[r*c.cols+k], int32(i))
			}
		}
	}
	for i := range c.buckets {
		c.prune(i)
	}
}

func (c *chains) square(p plane.Point) (col, row int) {
	return int(math.Floor((p.X - c.origin.X) / gridMM)), int(math.Floor((p.Y - c.origin.Y) / gridMM))
}

func (c *chains) centreOf(i int) plane.Point {
	return c.origin.Add(plane.Vec{X: (float64(i%c.cols) + 0.5) * gridMM, Y: (float64(i/c.cols) + 0.5) * gridMM})
}

// prune drops the chords that can be nearest to no point of square i: those
// farther from its middle than the nearest one by more than its diagonal.
func (c *chains) prune(i int) {
	middle, best := c.centreOf(i), math.Inf(1)
	distances := make([]float64, len(c.buckets[i]))
	for k, s := range c.buckets[i] {
		d2, _ := c.distanceSq(s, middle)
		distances[k] = math.Sqrt(d2)
		best = math.Min(best, distances[k])
	}
	kept := c.buckets[i][:0]
	for k, s := range c.buckets[i] {
		if distances[k] <= best+gridMM*math.Sqrt2 {
			kept = append(kept, s)
		}
	}
	c.buckets[i] = kept
}

func (c *chains) distanceSq(s int32, p plane.Point) (d2, t float64) {
	a, b := c.from[s], c.to[s]
	ux, uy := b.X-a.X, b.Y-a.Y
	px, py := p.X-a.X, p.Y-a.Y
	t = (px*ux + py*uy) / (ux*ux + uy*uy)
	t = math.Max(0, math.Min(1, t))
	dx, dy := px-t*ux, py-t*uy
	return dx*dx + dy*dy, t
}

// nearest returns the chord nearest to p among those of p's square, or -1 when
// none comes within the margin.
func (c *chains) nearest(p plane.Point) (chord int32, distance, t float64) {
	k, r := c.square(p)
	if k < 0 || r < 0 || k >= c.cols || r >= c.rows {
		return -1, 0, 0
	}
	best, chord := math.Inf(1), int32(-1)
	for _, s := range c.buckets[r*c.cols+k] {
		if d2, u := c.distanceSq(s, p); d2 < best {
			best, chord, t = d2, s, u
		}
	}
	return chord, math.Sqrt(best), t
}

// nearSharp reports whether a sharp corner lies within d of p.
func (c *chains) nearSharp(p plane.Point, d float64) bool {
	for _, q := range c.sharp {
		if p.DistanceSqTo(q) < d*d {
			return true
		}
	}
	return false
}

func (c *chains) touches(b plane.Rect) bool {
	if c.cols == 0 || !overlap(c.box, b) {
		return false
	}
	c0, r0 := c.square(b.Min)
	c1, r1 := c.square(b.Max)
	for r := max(r0, 0); r <= min(r1, c.rows-1); r++ {
		for k := max(c0, 0); k <= min(c1, c.cols-1); k++ {
			if len(c.buckets[r*c.cols+k]) > 0 {
				return true
			}
		}
	}
	return false
}

// strokeArea is the ink of a pen along a path, round at its ends.
type strokeArea struct {
	chains
	halfWidth float64
}

func newStrokeArea(path curve.Path, pen Pen) *strokeArea {
	a := &strokeArea{}
	points := flatten(path)
	if len(pen.Gaps) == 0 {
		a.addChain(points, path.IsClosed())
	}
	for _, part := range withoutGaps(points, pen) {
		a.addChain(part, false)
	}
	a.halfWidth = pen.WidthMM / 2
	a.index(a.halfWidth + slackMM)
	return a
}

func (a *strokeArea) cover(p plane.Point, f footprint) (float64, bool) {
	chord, distance, _ := a.nearest(p)
	if chord < 0 || distance > a.halfWidth+f.reach {
		return 0, false
	}
	if f.reach == 0 || distance <= a.halfWidth-f.reach {
		return 1, false
	}
	if len(a.sharp) > 0 && a.nearSharp(p, 3*a.halfWidth+f.reach) {
		return 0.5, true
	}
	n := a.awayFrom(chord, p)
	return f.strip(distance, a.halfWidth, n), false
}

// awayFrom returns the unit vector from the nearest point of the chord to p.
func (c *chains) awayFrom(chord int32, p plane.Point) plane.Vec {
	d2, t := c.distanceSq(chord, p)
	if d2 > 1e-18 {
		return p.Sub(c.from[chord].Lerp(c.to[chord], t)).Unit()
	}
	return c.to[chord].Sub(c.from[chord]).Unit().TurnRight()
}

// withoutGaps cuts the pen's gaps out of the polyline. Caps are round, so each
// part ends half a pen's width before the gap.
func withoutGaps(points []plane.Point, pen Pen) [][]plane.Point {
	if len(pen.Gaps) == 0 {
		return nil
	}
	var parts [][]plane.Point
	var part []plane.Point
	travelled := 0.0
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		length := a.DistanceTo(b)
		pieces := max(1, int(math.Ceil(length/(chordMM/5))))
		for k := range pieces {
			t0, t1 := float64(k)/float64(pieces), float64(k+1)/float64(pieces)
			if inGap(pen, travelled+t0*length) || inGap(pen, travelled+t1*length) {
				if len(part) > 1 {
					parts = append(parts, part)
				}
				part = nil
				continue
			}
			if part == nil {
				part = append(part, a.Lerp(b, t0))
			}
			if k == pieces-1 || inGap(pen, travelled+(t1+1/float64(pieces))*length) {
				part = append(part, a.Lerp(b, t1))
			}
		}
		travelled += length
	}
	if len(part) > 1 {
		parts = append(parts, part)
	}
	return parts
}

func inGap(pen Pen, s float64) bool {
	for _, g := range pen.Gaps {
		if s > g.FromMM-pen.WidthMM/2 && s < g.FromMM+g.LengthMM+pen.WidthMM/2 {
			return true
		}
	}
	return false
}
