package curve

// fitStale knows the joints where changes are worth trying. At first that is all of
// them; after a change the joints about it, and those where another change would have
// helped. Elsewhere the trials would end as they did.
type fitStale struct {
	begun bool
	names []int
}

// of returns the numbers of the stale joints and takes them off the list.
func (s *fitStale) of(c *fitChain) []int {
	var out []int
	for j := range c.joints {
		if !s.begun || s.has(c.joints[j].name) {
			out = append(out, j)
		}
	}
	s.begun, s.names = true, s.names[:0]
	return out
}

func (s *fitStale) has(name int) bool {
	for _, n := range s.names {
		if n == name {
			return true
		}
	}
	return false
}

// keep puts a joint on the list.
func (s *fitStale) keep(name int) {
	if !s.has(name) {
		s.names = append(s.names, name)
	}
}

// about puts the joints on the list whose changes a new piece i bears on: its own
// and the next on either side.
func (s *fitStale) about(c *fitChain, i int) {
	m := len(c.joints)
	for d := -1; d <= 2; d++ {
		s.keep(c.joints[((i+d)%m+m)%m].name)
	}
}
