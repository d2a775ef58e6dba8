package testscene

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// polygonArea is the inside of a closed path.
type polygonArea struct {
	chains
	inside []bool // of the middle of each square
}

// newPolygonArea indexes with a margin of a square's diagonal: a square that is
// near no chord lies wholly inside or outside, and in the others the nearest
// chord is the true one, so that its side decides.
func newPolygonArea(path curve.Path) *polygonArea {
	a := &polygonArea{}
	a.addChain(flatten(path), true)
	a.index(gridMM*math.Sqrt2 + slackMM)
	a.inside = make([]bool, len(a.buckets))
	for r := range a.rows {
		a.fillRow(r)
	}
	return a
}

// fillRow decides the squares of a row by counting crossings to the left of each
// middle.
func (a *polygonArea) fillRow(r int) {
	y := a.centreOf(r * a.cols).Y
	for i := range a.from {
		p, q := a.from[i], a.to[i]
		if (p.Y > y) == (q.Y > y) {
			continue
		}
		x := p.X + (y-p.Y)/(q.Y-p.Y)*(q.X-p.X)
		first := int(math.Ceil((x-a.origin.X)/gridMM - 0.5))
		for k := max(first, 0); k < a.cols; k++ {
			a.inside[r*a.cols+k] = !a.inside[r*a.cols+k]
		}
	}
}

func (a *polygonArea) cover(p plane.Point, f footprint) (float64, bool) {
	k, r := a.square(p)
	if k < 0 || r < 0 || k >= a.cols || r >= a.rows {
		return 0, false
	}
	chord, distance, t := a.nearest(p)
	if chord < 0 {
		if a.inside[r*a.cols+k] {
			return 1, false
		}
		return 0, false
	}
	inside := a.isLeft(chord, t, p)
	if f.reach == 0 || distance >= f.reach {
		if inside {
			return 1, false
		}
		return 0, false
	}
	if len(a.sharp) > 0 && a.nearSharp(p, 3*f.reach) {
		return 0.5, true
	}
	n := a.awayFrom(chord, p)
	if inside {
		return f.share(distance, n), false
	}
	return f.share(-distance, n.Neg()), false
}

// isLeft reports whether p lies to the left of the path, its inside. At a corner
// the mean of the two chords' normals decides (the angle-weighted pseudonormal of
// Baerentzen and Aanaes, "Signed distance computation using the angle weighted
// pseudonormal", IEEE TVCG 11(3), 2005, whose weights are equal in the plane).
func (c *chains) isLeft(chord int32, t float64, p plane.Point) bool {
	corner, other := c.from[chord], int32(-1)
	switch t {
	case 0:
		other = c.before[chord]
	case 1:
		corner, other = c.to[chord], c.nextTo[chord]
	}
	n := c.to[chord].Sub(c.from[chord]).Unit().TurnLeft()
	if other >= 0 {
		n = n.Add(c.to[other].Sub(c.from[other]).Unit().TurnLeft())
	}
	return p.Sub(corner).Dot(n) >= 0
}

// touches counts the inside in, where no chord is near.
func (a *polygonArea) touches(r plane.Rect) bool { return overlap(a.box, r) }

// covers reports whether r lies wholly inside and away from the border.
func (a *polygonArea) covers(r plane.Rect) bool {
	c0, r0 := a.square(r.Min)
	c1, r1 := a.square(r.Max)
	if c0 < 0 || r0 < 0 || c1 >= a.cols || r1 >= a.rows {
		return false
	}
	for row := r0; row <= r1; row++ {
		for k := c0; k <= c1; k++ {
			i := row*a.cols + k
			if len(a.buckets[i]) > 0 || !a.inside[i] {
				return false
			}
		}
	}
	return true
}
