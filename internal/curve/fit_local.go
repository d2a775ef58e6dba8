package curve

// nearby solves a changed chain in the surroundings of piece i only: the pieces
// within two of it, and one more wherever a line would otherwise turn a piece that
// stays. Blocks of the other pieces keep the residuals they have in from.
func (f *fitSelector) nearby(from *fitState, chain fitChain, i int, robust []float64) *fitState {
	m := len(chain.pieces)
	st := newUnsolvedState(f.tr, chain, robust, f.pull())
	active := make([]bool, m)
	active[i] = true
	grow := func(at int, step func(int) int, forward bool) {
		for n := 0; n < 2 || chain.pieces[at].line; n++ {
			joint := at
			if forward {
				joint = chain.next(at)
			}
			next := step(at)
			if active[next] || chain.joints[joint].corner && n >= 1 {
				return
			}
			at = next
			active[at] = true
		}
	}
	grow(i, chain.next, true)
	grow(i, chain.prev, false)
	st.freeze(active)
	copy(st.residual, from.residual)
	st.takePart(active)
	st.project()
	return st
}

// freeze marks every unknown that an inactive piece feels.
func (st *fitState) freeze(active []bool) {
	c := &st.chain
	l := c.layout()
	st.frozen = make([]bool, l.count)
	for i := range c.pieces {
		if active[i] {
			continue
		}
		j := c.next(i)
		for _, k := range [...]int{2 * i, 2*i + 1, 2 * j, 2*j + 1, l.out[i], l.in[i]} {
			if k >= 0 {
				st.frozen[k] = true
			}
		}
		if k := l.handle[i]; k >= 0 {
			st.frozen[k], st.frozen[k+1] = true, true
		}
	}
	st.freezeLines(active, &l)
}

// freezeLines fixes both ends of every line that gives an inactive piece its
// direction.
func (st *fitState) freezeLines(active []bool, l *fitLayout) {
	c := &st.chain
	for i, p := range c.pieces {
		if !p.line {
			continue
		}
		before, after := c.prev(i), c.next(i)
		if !c.joints[i].corner && !active[before] || !c.joints[after].corner && !active[after] {
			for _, k := range [...]int{2 * i, 2*i + 1, 2 * after, 2*after + 1} {
				st.frozen[k] = true
			}
		}
	}
}
