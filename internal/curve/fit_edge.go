package curve

import (
	"math"

	"fairedge/internal/plane"
)

// straightenFrom returns the chain with the longest run of pieces from joint j on
// that is one straight edge made a line, as piece 0.
func (f *fitSelector) straightenFrom(st *fitState, j int) (fitChain, int, bool) {
	m := len(st.chain.joints)
	run := 0
	for n := 1; n <= m-2; n++ {
		i := (j + n - 1) % m
		if n > 1 && st.chain.joints[i].corner {
			break
		}
		if f.isEdge(st, j, n) && !(n == 1 && st.chain.pieces[i].line) {
			run = n
		}
	}
	if run == 0 {
		return fitChain{}, 0, false
	}
	c := fitChain{joints: []fitJoint{st.chain.joints[j]}, pieces: []fitArm{{line: true}}}
	for n := run; n < m; n++ {
		i := (j + n) % m
		c.joints = append(c.joints, st.chain.joints[i])
		c.pieces = append(c.pieces, st.chain.pieces[i])
	}
	c.aim()
	return c, 0, true
}

// isEdge reports whether n pieces from joint j on are one straight edge and not a
// flat spot on a bow: they are long, bow little, and both ends are corners or run
// into pieces EdgeContrast times as curved as EdgeBow allows the edge to be: a bow of
// curvature κ rises κL²/8 over length L.
func (f *fitSelector) isEdge(st *fitState, j, n int) bool {
	c := &st.chain
	m := len(c.joints)
	after := (j + n) % m
	from, to := c.joints[j].s, c.joints[after].s
	if to <= from {
		to += f.tr.length
	}
	length := to - from
	rise := f.params.EdgeBow * f.params.Resolution
	data := f.tr.dataBetween(from, to)
	if length < f.params.LineLength || len(data) < 4 || bowOf(data, from, to) > rise {
		return false
	}
	least := f.params.EdgeContrast * 8 * rise / (length * length)
	return f.isBeyondEdge(st, j, c.prev(j), least) && f.isBeyondEdge(st, after, after, least)
}

// isBeyondEdge reports whether an edge may end at the joint, which the given piece
// follows or precedes: it is a corner or that piece bends by least, 1/mm, or more.
func (f *fitSelector) isBeyondEdge(st *fitState, joint, piece int, least float64) bool {
	if st.chain.joints[joint].corner {
		return true
	}
	bend := math.Abs(cubicTurn(st.segments[piece])) / f.lengthOf(st, piece)
	return !st.chain.pieces[piece].line && bend >= least
}

// bowOf returns how high the parabola through the data rises over its chord, mm.
func bowOf(data []fitDatum, s0, s1 float64) float64 {
	q, ok := fitQuinticTo(data, s0, s1, 2)
	if !ok {
		return math.Inf(1)
	}
	// x₂ P₂(u) = x₂ (3u² - 1)/2 falls by 1.5 x₂ from the ends to the middle.
	return 1.5 * math.Abs(q.along(0).Unit().Cross(plane.Vec{X: q.x[2], Y: q.y[2]}))
}
