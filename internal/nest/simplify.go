package nest

import (
	"math"
	"slices"
)

// Flattened curves have many corners that say little about how pieces fit, and the
// time to prepare a pair of pieces grows with the product of their corners. The search
// therefore lays a simpler outline that holds the true one: it is nowhere further out
// than a small share of the piece's size and not larger in height or width. The proof
// of a lay is made with the true outlines.

const (
	// plainCorners: outlines of so many corners or fewer stay as they are.
	plainCorners = 40
	// simplerBy is how far out the simpler outline may be, as a share of the root of
	// the area: 0.2 mm for a seat of 450 mm. More wastes cloth, less keeps more corners.
	simplerBy = 0.0005
)

// simpler returns an outline of fewer corners that holds the given one.
func simpler(r ring) ring {
	tolerance := simplerBy * math.Sqrt(r.doubleArea()/2)
	limits := boxOf(r)
	out := append(ring(nil), r...)
	for len(out) > plainCorners {
		c, ok := cheapestCut(out, tolerance, limits)
		if !ok {
			break
		}
		out = c.applied(out)
	}
	return out
}

// cut takes corners away: the hollow corner at i, or, when joined, the edge from i to
// i+1, whose neighbours then run on until they meet at corner.
type cut struct {
	i      int
	joined bool
	corner vec
	out    float64 // how far out of the outline it goes, nm
}

// cheapestCut returns the cut that goes least far out, within the tolerance.
func cheapestCut(r ring, tolerance float64, limits box) (cut, bool) {
	var cuts []cut
	for i := range r {
		if c, ok := cutAt(r, i, limits); ok && c.out <= tolerance {
			cuts = append(cuts, c)
		}
	}
	slices.SortStableFunc(cuts, func(a, b cut) int { return compareFloat(a.out, b.out) })
	for _, c := range cuts {
		if c.isFree(r) {
			return c, true
		}
	}
	return cut{}, false
}

// cutAt returns the cut at corner i: of a hollow corner itself, of the edge from it
// when both its ends are convex.
func cutAt(r ring, i int, limits box) (cut, bool) {
	n := len(r)
	p, a, b, q := r[(i+n-1)%n], r[i], r[(i+1)%n], r[(i+2)%n]
	if turnSign(p, a, b) <= 0 {
		d := b.sub(p)
		return cut{i: i, out: math.Abs(d.cross(a.sub(p))) / d.length()}, true
	}
	if turnSign(a, b, q) <= 0 || crossSign(a.sub(p), q.sub(b)) <= 0 {
		return cut{}, false
	}
	u, v := a.sub(p), q.sub(b)
	x := a.add(u.scale(b.sub(a).cross(v) / u.cross(v)))
	d := b.sub(a)
	outward := vec{d.y, -d.x}.scale(1 / d.length())
	for step := 0.0; step < 64; step = 2*step + 1 { // until rounding keeps both edges outside
		corner := x.add(outward.scale(step)).rounded()
		if turnSign(p, corner, a) >= 0 && turnSign(corner, q, b) >= 0 {
			inside := corner.x >= limits.min.x && corner.x <= limits.max.x && corner.y >= limits.min.y && corner.y <= limits.max.y
			return cut{i: i, joined: true, corner: corner, out: corner.sub(a).dot(outward)}, inside
		}
	}
	return cut{}, false
}

// isFree reports whether the added triangle meets no other edge of the outline.
func (c cut) isFree(r ring) bool {
	n := len(r)
	first, last, tip := r[(c.i+n-1)%n], r[(c.i+1)%n], r[(c.i+1)%n]
	skipped := []int{(c.i + n - 2) % n, (c.i + n - 1) % n, c.i, (c.i + 1) % n} // edges at the changed corners
	if c.joined {
		last, tip = r[(c.i+2)%n], c.corner
		skipped = append(skipped, (c.i+2)%n)
	}
	for k := range r {
		if slices.Contains(skipped, k) {
			continue
		}
		if a, b := r[k], r[(k+1)%n]; segmentsMeet(first, tip, a, b) || segmentsMeet(tip, last, a, b) {
			return false
		}
	}
	return true
}

// applied returns the outline after the cut.
func (c cut) applied(r ring) ring {
	out := append(ring(nil), r...)
	if !c.joined {
		return append(out[:c.i], out[c.i+1:]...)
	}
	out[c.i] = c.corner
	j := (c.i + 1) % len(r)
	return append(out[:j], out[j+1:]...)
}
