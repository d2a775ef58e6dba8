package nest

import (
	"math"
	"slices"
)

// The no-fit polygon of A and B holds the displacements q of B for which the
// interiors of A and B + q meet: the Minkowski sum of int A and -int B (Art 1966;
// Cuninghame-Green 1989). With convex parts A_i and B_j it is the union of the open
// convex sums A_i ⊕ -B_j: two interiors that meet share an open set, and the common
// borders of the parts cannot cover one.

// convexSum returns P ⊕ -Q of two convex outlines: their edges in order of
// direction. All coordinates stay whole.
func convexSum(p, q ring) ring {
	minus := make(ring, len(q))
	for i, v := range q {
		minus[i] = vec{-v.x, -v.y}
	}
	i0, j0 := lowest(p), lowest(minus)
	out := make(ring, 0, len(p)+len(minus))
	for i, j := 0, 0; i < len(p) || j < len(minus); {
		a, b := at(p, i0+i), at(minus, j0+j)
		out = append(out, a.add(b))
		if i == len(p) {
			j++
			continue
		}
		if j == len(minus) {
			i++
			continue
		}
		turn := crossSign(at(p, i0+i+1).sub(a), at(minus, j0+j+1).sub(b))
		if turn >= 0 {
			i++
		}
		if turn <= 0 {
			j++
		}
	}
	return out
}

func at(r ring, i int) vec { return r[i%len(r)] }

// lowest returns the vertex with the least y, then the least x.
func lowest(r ring) int {
	best := 0
	for i, p := range r {
		if p.y < r[best].y || (p.y == r[best].y && p.x < r[best].x) {
			best = i
		}
	}
	return best
}

// halfPlane is the open side n·q > c of a line; n has length 1.
type halfPlane struct{ nx, ny, c float64 }

func (h halfPlane) height(q vec) float64 { return h.nx*q.x + h.ny*q.y - h.c }

// sum is one convex sum with its sides; sides[i] belongs to the edge from
// vertices[i] to vertices[i+1].
type sum struct {
	vertices ring
	sides    []halfPlane
	box      box
}

func newSum(vertices ring) sum {
	s := sum{vertices: vertices, box: boxOf(vertices), sides: make([]halfPlane, len(vertices))}
	for i, a := range vertices {
		d := at(vertices, i+1).sub(a)
		u := d.scale(1 / d.length())
		s.sides[i] = halfPlane{-u.y, u.x, -u.y*a.x + u.x*a.y}
	}
	return s
}

// segment is a piece of the border of a no-fit polygon, the inside on its left:
// from a in the unit direction u over the length l.
type segment struct {
	a, u vec
	l    float64
}

const (
	// touchNM: heights of a point over a line are exact to 1e-6 nm; below this a
	// point counts as lying on it. Larger would hide real gaps, smaller would trust
	// rounding.
	touchNM = 1e-3
	// crumbNM: shorter pieces of border are leftovers of touchNM and dropped. The
	// distance to the border is then wrong by at most this; inside or outside is
	// decided by the sums and stays exact.
	crumbNM = 1000
)

// border returns the border of the union of the open sums: of every edge the part
// that lies in no sum.
func border(sums []sum) []segment {
	var out []segment
	var covered [][2]float64
	for i := range sums {
		for e, a := range sums[i].vertices {
			b := at(sums[i].vertices, e+1)
			covered = covered[:0]
			for j := range sums {
				if t0, t1, ok := coverage(sums, i, j, a, b); ok {
					covered = append(covered, [2]float64{t0, t1})
				}
			}
			out = appendFree(out, a, b, covered)
		}
	}
	return out
}

// coverage returns the share of the edge ab of sum i that lies in the open sum j.
// Where the edge runs along an edge of j in the same direction, the first of the
// two sums keeps it.
func coverage(sums []sum, i, j int, a, b vec) (t0, t1 float64, ok bool) {
	s := &sums[j]
	if i == j || max(a.x, b.x) < s.box.min.x || min(a.x, b.x) > s.box.max.x || max(a.y, b.y) < s.box.min.y || min(a.y, b.y) > s.box.max.y {
		return 0, 0, false
	}
	t1 = 1
	for _, side := range s.sides {
		ha, hb := side.height(a)-touchNM, side.height(b)-touchNM
		if j < i && math.Abs(ha+touchNM) < touchNM && math.Abs(hb+touchNM) < touchNM && (b.x-a.x)*side.ny-(b.y-a.y)*side.nx > 0 {
			continue
		}
		switch {
		case ha <= 0 && hb <= 0:
			return 0, 0, false
		case ha <= 0:
			t0 = math.Max(t0, ha/(ha-hb))
		case hb <= 0:
			t1 = math.Min(t1, ha/(ha-hb))
		}
	}
	return t0, t1, t0 < t1
}

// appendFree appends what of the edge ab is left when the covered shares are taken out.
func appendFree(out []segment, a, b vec, covered [][2]float64) []segment {
	slices.SortFunc(covered, func(p, q [2]float64) int {
		if p[0] != q[0] {
			if p[0] < q[0] {
				return -1
			}
			return 1
		}
		return 0
	})
	d := b.sub(a)
	l := d.length()
	free := func(t0, t1 float64) {
		if (t1-t0)*l > crumbNM || (t0 == 0 && t1 == 1) {
			out = append(out, segment{a.add(d.scale(t0)), d.scale(1 / l), (t1 - t0) * l})
		}
	}
	reached := 0.0
	for _, c := range covered {
		if c[0] > reached {
			free(reached, c[0])
		}
		reached = math.Max(reached, c[1])
	}
	if reached < 1 {
		free(reached, 1)
	}
	return out
}
