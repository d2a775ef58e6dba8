package nestcheck

import (
	"math"
	"math/big"
)

// point is a place in whole nanometres.
type point struct{ x, y int64 }

// polygon is a simple outline, counter-clockwise.
type polygon []point

// side returns the sign of the determinant |b-a, c-a|: +1 when c lies left of ab, -1
// right, 0 on the line. The floating-point value decides when it is larger than its
// error, else whole numbers of any size do (Shewchuk 1997, stage A of orient2d; the
// differences are exact here because coordinates stay below 2⁵²).
func side(a, b, c point) int {
	left := float64(b.x-a.x) * float64(c.y-a.y)
	right := float64(b.y-a.y) * float64(c.x-a.x)
	det := left - right
	const errorBound = 4 * 0x1p-53
	if limit := errorBound * (math.Abs(left) + math.Abs(right)); det > limit {
		return 1
	} else if det < -limit {
		return -1
	}
	l := new(big.Int).Mul(big.NewInt(b.x-a.x), big.NewInt(c.y-a.y))
	r := new(big.Int).Mul(big.NewInt(b.y-a.y), big.NewInt(c.x-a.x))
	return l.Cmp(r)
}

// counterClockwise returns the polygon in that direction, by its exact area.
func counterClockwise(p polygon) polygon {
	area := new(big.Int)
	for i, a := range p {
		b := p[(i+1)%len(p)]
		area.Add(area, new(big.Int).Mul(big.NewInt(a.x), big.NewInt(b.y)))
		area.Sub(area, new(big.Int).Mul(big.NewInt(a.y), big.NewInt(b.x)))
	}
	if area.Sign() >= 0 {
		return p
	}
	out := make(polygon, len(p))
	for i, v := range p {
		out[len(p)-1-i] = v
	}
	return out
}

// boxWithin reports whether the boxes of the polygons come closer than d, or meet.
func (p polygon) boxWithin(q polygon, d int64) bool {
	pl, ph := p.box()
	ql, qh := q.box()
	return pl.x < qh.x+d && ql.x < ph.x+d && pl.y < qh.y+d && ql.y < ph.y+d
}

func (p polygon) box() (low, high point) {
	low, high = p[0], p[0]
	for _, v := range p {
		low = point{min(low.x, v.x), min(low.y, v.y)}
		high = point{max(high.x, v.x), max(high.y, v.y)}
	}
	return low, high
}

// interiorsMeet reports whether two simple polygons share an interior point.
//
// If two edges cross properly they do. Otherwise the borders touch only at corners of
// one or the other, so that edges cut at those corners are each wholly inside, outside
// or on the border of the other polygon. An edge inside means that interiors meet. If
// there is none, either the interiors are apart, or one border lies on the other's
// with the inside on the same side: an edge that runs along one of the same direction.
func interiorsMeet(p, q polygon) bool {
	return edgesCross(p, q) || someEdgeInside(p, q) || someEdgeInside(q, p)
}

// edgesCross reports whether some edges cross at a point inside both.
func edgesCross(p, q polygon) bool {
	for i, a := range p {
		b := p[(i+1)%len(p)]
		for j, c := range q {
			d := q[(j+1)%len(q)]
			if apart(a, b, c, d) {
				continue
			}
			if side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0 {
				return true
			}
		}
	}
	return false
}

// apart reports whether the boxes of two edges have no point in common.
func apart(a, b, c, d point) bool {
	return max(a.x, b.x) < min(c.x, d.x) || max(c.x, d.x) < min(a.x, b.x) ||
		max(a.y, b.y) < min(c.y, d.y) || max(c.y, d.y) < min(a.y, b.y)
}

// someEdgeInside reports whether some edge of p, cut at the corners of q that lie on
// it and at its contacts with edges of q, has a part inside q, or runs along an edge
// of q in the same direction.
func someEdgeInside(p, q polygon) bool {
	for i, a := range p {
		b := p[(i+1)%len(p)]
		cuts := cutsOf(a, b, q)
		for k := 1; k < len(cuts); k++ {
			if partInside(cuts[k-1], cuts[k], q) {
				return true
			}
		}
	}
	return false
}

// cutsOf returns a, the corners of q strictly between a and b in order, and b. (A
// corner of p on an edge of q ends an edge of p anyway.)
func cutsOf(a, b point, q polygon) []point {
	cuts := []point{a}
	for _, v := range q {
		if v != a && v != b && onSegment(a, b, v) {
			cuts = append(cuts, v)
		}
	}
	along := func(v point) int64 { return abs(v.x-a.x) + abs(v.y-a.y) }
	for i := 1; i < len(cuts); i++ {
		for k := i; k > 1 && along(cuts[k]) < along(cuts[k-1]); k-- {
			cuts[k], cuts[k-1] = cuts[k-1], cuts[k]
		}
	}
	return append(cuts, b)
}

func abs(v int64) int64 { return max(v, -v) }

// onSegment reports whether v lies on the closed segment ab.
func onSegment(a, b, v point) bool {
	return v.x >= min(a.x, b.x) && v.x <= max(a.x, b.x) && v.y >= min(a.y, b.y) && v.y <= max(a.y, b.y) && side(a, b, v) == 0
}

// partInside reports whether the middle of ab lies inside q, or on an edge of q that
// runs the same way. Twice all coordinates make the middle whole.
func partInside(a, b point, q polygon) bool {
	if a == b {
		return false
	}
	m := point{a.x + b.x, a.y + b.y}
	odd := false
	for j, c := range q {
		d := q[(j+1)%len(q)]
		c, d = point{2 * c.x, 2 * c.y}, point{2 * d.x, 2 * d.y}
		if onSegment(c, d, m) {
			return sameWay(a, b, c, d)
		}
		if (c.y > m.y) != (d.y > m.y) && (side(c, d, m) > 0) == (d.y > c.y) {
			odd = !odd // the ray to the right of m crosses the edge
		}
	}
	return odd
}

// sameWay reports whether two parallel segments run in the same direction.
func sameWay(a, b, c, d point) bool {
	if side(a, b, point{a.x + d.x - c.x, a.y + d.y - c.y}) != 0 {
		return false // they only touch: cannot be, contacts are cut out
	}
	if b.x != a.x {
		return (b.x > a.x) == (d.x > c.x)
	}
	return (b.y > a.y) == (d.y > c.y)
}

// closerThan reports whether two polygons that do not overlap come closer than d: the
// least distance is one from a corner to an edge.
func closerThan(p, q polygon, d int64) bool {
	return cornersCloser(p, q, d) || cornersCloser(q, p, d)
}

func cornersCloser(p, q polygon, d int64) bool {
	for _, v := range p {
		for j, a := range q {
			b := q[(j+1)%len(q)]
			if v.x < min(a.x, b.x)-d || v.x > max(a.x, b.x)+d || v.y < min(a.y, b.y)-d || v.y > max(a.y, b.y)+d {
				continue
			}
			if pointCloser(v, a, b, d) {
				return true
			}
		}
	}
	return false
}

// pointCloser reports whether v is closer than d to the segment ab, exactly:
// |ab × av|² < d²|ab|² where the foot falls between the ends.
func pointCloser(v, a, b point, d int64) bool {
	ux, uy := big.NewInt(b.x-a.x), big.NewInt(b.y-a.y)
	wx, wy := big.NewInt(v.x-a.x), big.NewInt(v.y-a.y)
	dot := dotOf(ux, uy, wx, wy)
	square := dotOf(ux, uy, ux, uy)
	limit := new(big.Int).Mul(big.NewInt(d), big.NewInt(d))
	if dot.Sign() <= 0 {
		return dotOf(wx, wy, wx, wy).Cmp(limit) < 0
	}
	if dot.Cmp(square) >= 0 {
		ex, ey := big.NewInt(v.x-b.x), big.NewInt(v.y-b.y)
		return dotOf(ex, ey, ex, ey).Cmp(limit) < 0
	}
	cross := dotOf(ux, uy, wy, new(big.Int).Neg(wx))
	return cross.Mul(cross, cross).Cmp(limit.Mul(limit, square)) < 0
}

func dotOf(ax, ay, bx, by *big.Int) *big.Int {
	return new(big.Int).Add(new(big.Int).Mul(ax, bx), new(big.Int).Mul(ay, by))
}
