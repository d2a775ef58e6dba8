package curve

// fitAttempts is a kind of change with what trying it at each joint came to, so that
// after a change only the joints about it are tried again.
type fitAttempts struct {
	change fitChange
	names  []int     // of the joints tried
	off    []float64 // how far the samples then leave the changed part; +Inf = out of the question
}

// offsets returns the outcome for every joint of the chain, trying where it is unknown.
func (a *fitAttempts) offsets(f *fitSelector, st *fitState, robust []float64) []float64 {
	off := make([]float64, len(st.chain.joints))
	var unknown []int
	for j, joint := range st.chain.joints {
		if i := a.find(joint.name); i >= 0 {
			off[j] = a.off[i]
		} else {
			unknown = append(unknown, j)
		}
	}
	inTwo(len(unknown), func(k int) { _, _, off[unknown[k]] = f.tryChange(st, robust, a.change, unknown[k]) })
	for _, j := range unknown {
		a.remember(st.chain.joints[j].name, off[j])
	}
	return off
}

func (a *fitAttempts) find(name int) int {
	for i, n := range a.names {
		if n == name {
			return i
		}
	}
	return -1
}

func (a *fitAttempts) remember(name int, off float64) {
	if i := a.find(name); i >= 0 {
		a.off[i] = off
		return
	}
	a.names, a.off = append(a.names, name), append(a.off, off)
}

// forget drops what was found at the joints that a new piece i bears on: its own and
// the next on either side.
func (a *fitAttempts) forget(c *fitChain, i int) {
	m := len(c.joints)
	for d := -1; d <= 2; d++ {
		if k := a.find(c.joints[((i+d)%m+m)%m].name); k >= 0 {
			a.names = append(a.names[:k], a.names[k+1:]...)
			a.off = append(a.off[:k], a.off[k+1:]...)
		}
	}
}
