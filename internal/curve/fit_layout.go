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
