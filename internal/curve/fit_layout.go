package curve

import (
	"math"

	"fairedge/internal/plane"
)

// fitLayout says which free number of the chain stands at which place of the
// unknowns: joint i's coordinates at 2i and 2i+1, then directions and handles.
type fitLayout struct {
	count   int
	out, in []int // direction of a piece at its start joint, at its end joint; -1 = given by a line
	handle  []int // first of the two handles of a piece; -1 for lines
}

func (c *fitChain) layout() fitLayout {
	m := len(c.joints)
	l := fitLayout{count: 2 * m, out: make([]int, m), in: make([]int, m), handle: make([]int, m)}
	take := func(k int) int { l.count += k; return l.count - k }
	for j := range m {
		before := c.prev(j)
		l.in[before], l.out[j] = -1, -1
		lineIn, lineOut := c.pieces[before].line, c.pieces[j].line
		if c.joints[j].corner {
			if !lineIn {
				l.in[before] = take(1)
			}
			if !lineOut {
				l.out[j] = take(1)
			}
		} else if !lineIn && !lineOut {
			l.in[before] = take(1)
			l.out[j] = l.in[before]
		}
	}
	for i, p := range c.pieces {
		l.handle[i] = -1
		if !p.line {
			l.handle[i] = take(2)
		}
	}
	return l
}

// fitRow is one row of the Jacobian: at most ten entries.
type fitRow struct {
	index [16]int
	value [16]float64
	n     int
}

func (r *fitRow) add(index int, value float64) {
	for k := 0; k < r.n; k++ {
		if r.index[k] == index {
			r.value[k] += value
			return
		}
	}
	r.index[r.n], r.value[r.n] = index, value
	r.n++
}

// jacobian fills how the point at parameter t of piece i moves along the unit
// normal n when the unknowns change. By orthogonality the change of t itself does
// not count (variable projection). With Bernstein weights b0..b3,
//
//	B = b0 P + b1 (P + a u) + b2 (Q - b v) + b3 Q,  u, v the end directions,
//
// and where u is the direction of the line from R to S, turning it by dθ means
// dθ = u⊥·(dS - dR)/|RS|.
func (c *fitChain) jacobian(l *fitLayout, i int, t float64, n plane.Vec, row *fitRow) {
	row.n = 0
	j := c.next(i)
	if c.pieces[i].line {
		row.addPoint(i, n.Scale(1-t))
		row.addPoint(j, n.Scale(t))
		return
	}
	w := 1 - t
	b0, b1, b2, b3 := w*w*w, 3*w*w*t, 3*w*t*t, t*t*t
	u, v := heading(c.joints[i].out), heading(c.joints[j].in)
	a, b := c.pieces[i].a, c.pieces[i].b
	row.addPoint(i, n.Scale(b0+b1))
	row.addPoint(j, n.Scale(b2+b3))
	row.add(l.handle[i], b1*a*n.Dot(u))
	row.add(l.handle[i]+1, -b2*b*n.Dot(v))
	c.addDirection(l.out[i], c.prev(i), u, b1*a*n.Dot(u.TurnLeft()), row)
	c.addDirection(l.in[i], j, v, -b2*b*n.Dot(v.TurnLeft()), row)
}

func (r *fitRow) addPoint(joint int, v plane.Vec) {
	r.add(2*joint, v.X)
	r.add(2*joint+1, v.Y)
}

// addDirection adds the effect of a direction: one unknown, or both ends of the
// line that gives it.
func (c *fitChain) addDirection(index, line int, u plane.Vec, value float64, row *fitRow) {
	if index >= 0 {
		row.add(index, value)
		return
	}
	p, q := line, c.next(line)
	side := u.TurnLeft().Scale(value / c.joints[p].at.DistanceTo(c.joints[q].at))
	row.addPoint(q, side)
	row.addPoint(p, side.Neg())
}

// moved returns the chain with the unknowns changed by delta; handles change in
// proportion, so that they stay positive.
func (c *fitChain) moved(l *fitLayout, delta []float64) fitChain {
	out := c.clone()
	for j := range out.joints {
		out.joints[j].at = out.joints[j].at.Add(plane.Vec{X: delta[2*j], Y: delta[2*j+1]})
	}
	for i := range out.pieces {
		if k := l.out[i]; k >= 0 {
			out.joints[i].out += delta[k]
		}
		if k := l.in[i]; k >= 0 {
			out.joints[out.next(i)].in += delta[k]
		}
		if k := l.handle[i]; k >= 0 {
			out.pieces[i].a *= math.Exp(math.Max(-0.7, math.Min(0.7, delta[k])))
			out.pieces[i].b *= math.Exp(math.Max(-0.7, math.Min(0.7, delta[k+1])))
		}
	}
	out.aim()
	return out
}
