package curve

import "fairedge/internal/plane"

// How the point at parameter t of a piece moves along the unit normal n when the unknowns
// change: by orthogonality the change of t itself does not count (variable projection).
// With Bernstein weights b0..b3,
//
//	B = b0 P + b1 (P + a u) + b2 (Q - b v) + b3 Q,  u, v the end directions,
//
// so that the eight own numbers of a piece say it all: P, Q, the logarithms of a and b, the
// angles of u and v. Where u is the direction of the line from R to S, turning it by dθ
// means dθ = u⊥·(dS - dR)/|RS|. The equations are summed in the own numbers and
// put in terms of the unknowns once per piece.

// pieceNumbers is how many own numbers a cubic has; a line has the first four.
const pieceNumbers = 8

// pieceEquations is J'WJ (lower triangle) and J'Wr of one piece in its own numbers.
type pieceEquations struct {
	n    int
	a    [pieceNumbers][pieceNumbers]float64
	g    [pieceNumbers]float64
	u, v plane.Vec // end directions, times the handles
}

// blockEquations adds the blocks, piece by piece.
func (st *fitState) blockEquations(l *fitLayout, s *fitSystem) {
	var e pieceEquations
	piece := -1
	for _, k := range st.blocks {
		if i := st.piece[k]; i != piece {
			e.addTo(s, &st.chain, l, piece)
			e.begin(st, i)
			piece = i
		}
		e.take(st.t[k], st.normal[k], st.tr.blocks[k].weight*st.robust[k], st.residual[k])
	}
	e.addTo(s, &st.chain, l, piece)
}

func (e *pieceEquations) begin(st *fitState, i int) {
	*e = pieceEquations{n: pieceNumbers}
	g := &st.segments[i]
	e.u, e.v = g.P1.Sub(g.P0), g.P3.Sub(g.P2)
	if g.Straight {
		e.n = 4
	}
}

// take adds one block at parameter t.
func (e *pieceEquations) take(t float64, n plane.Vec, weight, residual float64) {
	w := 1 - t
	row := [pieceNumbers]float64{n.X * w, n.Y * w, n.X * t, n.Y * t}
	if e.n > 4 {
		b1, b2 := 3*w*w*t, 3*w*t*t
		start, end := w*w*w+b1, b2+t*t*t
		row = [pieceNumbers]float64{n.X * start, n.Y * start, n.X * end, n.Y * end,
			b1 * n.Dot(e.u), -b2 * n.Dot(e.v), b1 * n.Dot(e.u.TurnLeft()), -b2 * n.Dot(e.v.TurnLeft())}
	}
	for p := range e.n {
		wp := weight * row[p]
		e.g[p] += wp * residual
		line := &e.a[p]
		for q := 0; q <= p; q++ {
			line[q] += wp * row[q]
		}
	}
}

// fitTerms says how one own number follows from the unknowns.
type fitTerms struct {
	n     int
	index [4]int
	value [4]float64
}

func (f *fitTerms) add(index int, value float64) {
	f.index[f.n], f.value[f.n] = index, value
	f.n++
}

// ownTerms returns those of piece i.
func (c *fitChain) ownTerms(l *fitLayout, i int) [pieceNumbers]fitTerms {
	var own [pieceNumbers]fitTerms
	j := c.next(i)
	for k, index := range [...]int{2 * i, 2*i + 1, 2 * j, 2*j + 1} {
		own[k].add(index, 1)
	}
	if c.pieces[i].line {
		return own
	}
	own[4].add(l.handle[i], 1)
	own[5].add(l.handle[i]+1, 1)
	own[6] = c.directionTerms(l.out[i], c.prev(i), c.joints[i].out)
	own[7] = c.directionTerms(l.in[i], j, c.joints[j].in)
	return own
}

// directionTerms returns the terms of a direction: one unknown, or both ends of the line
// that gives it.
func (c *fitChain) directionTerms(index, line int, angle float64) fitTerms {
	var f fitTerms
	if index >= 0 {
		f.add(index, 1)
		return f
	}
	p, q := line, c.next(line)
	side := heading(angle).TurnLeft().Scale(1 / c.joints[p].at.DistanceTo(c.joints[q].at))
	f.add(2*q, side.X)
	f.add(2*q+1, side.Y)
	f.add(2*p, -side.X)
	f.add(2*p+1, -side.Y)
	return f
}

// addTo adds the sums of piece i to the system.
func (e *pieceEquations) addTo(s *fitSystem, c *fitChain, l *fitLayout, i int) {
	if i < 0 {
		return
	}
	own := c.ownTerms(l, i)
	for p := range e.n {
		for k, index := range own[p].index[:own[p].n] {
			if place := s.place[index]; place >= 0 {
				s.g[place] += own[p].value[k] * e.g[p]
			}
		}
		for q := range e.n {
			s.addTerms(&own[p], &own[q], e.a[max(p, q)][min(p, q)])
		}
	}
}

// addTerms adds one entry of a piece's equations.
func (s *fitSystem) addTerms(p, q *fitTerms, value float64) {
	for k, i := range p.index[:p.n] {
		for m, j := range q.index[:q.n] {
			s.add(i, j, p.value[k]*q.value[m]*value)
		}
	}
}
