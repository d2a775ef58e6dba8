package likeness

import "math/bits"

// coverSearch looks for the fewest sets that cover everything, by branch and bound. Sets
// and what they cover are rows of bits.
type coverSearch struct {
	n      int
	covers []chairSet // what each template fits
	best   []int
	nodes  int
}

// mostNodes bounds the search: half a second for a hundred chairs.
const mostNodes = 100000

func newCoverSearch(p *Pairs) *coverSearch {
	s := &coverSearch{n: p.n, covers: make([]chairSet, p.n)}
	for i := range s.covers {
		s.covers[i] = newChairSet(p.n)
		for k := range p.n {
			if p.Between(i, k).Max <= p.within {
				s.covers[i].add(k)
			}
		}
	}
	return s
}

// run returns the smallest cover found and a lower bound; they agree if the search was
// finished.
func (s *coverSearch) run() (chosen []int, atLeast int) {
	all := newChairSet(s.n)
	for k := range s.n {
		all.add(k)
	}
	s.best = s.greedy(all)
	bound := s.packing(all)
	if bound < len(s.best) {
		s.branch(all, nil)
	}
	if s.nodes <= mostNodes {
		return s.best, len(s.best)
	}
	return s.best, bound
}

// greedy takes the template that fits most of what is left, until nothing is.
func (s *coverSearch) greedy(left chairSet) []int {
	left = left.clone()
	var chosen []int
	for !left.isEmpty() {
		best, most := 0, -1
		for i, c := range s.covers {
			if n := c.common(left); n > most {
				best, most = i, n
			}
		}
		chosen = append(chosen, best)
		left.remove(s.covers[best])
	}
	return chosen
}

// packing returns how many of the chairs can be picked so that no template fits two of
// them: each needs a template of its own. Chairs that few templates fit are picked first.
func (s *coverSearch) packing(left chairSet) int {
	left = left.clone()
	count := 0
	for !left.isEmpty() {
		k := s.hardest(left)
		count++
		for i := range s.covers {
			if s.covers[i].has(k) {
				left.remove(s.covers[i])
			}
		}
		left.drop(k)
	}
	return count
}

// hardest returns the chair that the fewest templates fit.
func (s *coverSearch) hardest(left chairSet) int {
	best, least := -1, s.n+1
	for k := range s.n {
		if !left.has(k) {
			continue
		}
		// Fitting is mutual, so the templates that fit k are the chairs that k's fits.
		if n := s.covers[k].size(); n < least {
			best, least = k, n
		}
	}
	return best
}

// branch tries every template that fits the hardest chair left.
func (s *coverSearch) branch(left chairSet, chosen []int) {
	if s.nodes++; s.nodes > mostNodes {
		return
	}
	if left.isEmpty() {
		if len(chosen) < len(s.best) {
			s.best = append([]int(nil), chosen...)
		}
		return
	}
	if len(chosen)+s.packing(left) >= len(s.best) {
		return
	}
	k := s.hardest(left)
	var candidates []int
	for i := range s.n {
		if s.covers[i].has(k) {
			candidates = append(candidates, i)
		}
	}
	sortBy(candidates, func(i int) float64 { return -float64(s.covers[i].common(left)) })
	for _, i := range candidates {
		rest := left.clone()
		rest.remove(s.covers[i])
		s.branch(rest, append(chosen[:len(chosen):len(chosen)], i))
	}
}

// chairSet is a set of chairs, a bit each.
type chairSet []uint64

func newChairSet(n int) chairSet { return make(chairSet, (n+63)/64) }

func (c chairSet) add(k int)       { c[k/64] |= 1 << (k % 64) }
func (c chairSet) drop(k int)      { c[k/64] &^= 1 << (k % 64) }
func (c chairSet) has(k int) bool  { return c[k/64]&(1<<(k%64)) != 0 }
func (c chairSet) clone() chairSet { return append(chairSet(nil), c...) }

func (c chairSet) remove(d chairSet) {
	for i := range c {
		c[i] &^= d[i]
	}
}

func (c chairSet) common(d chairSet) int {
	n := 0
	for i := range c {
		n += bits.OnesCount64(c[i] & d[i])
	}
	return n
}

func (c chairSet) size() int { return c.common(c) }

func (c chairSet) isEmpty() bool { return c.size() == 0 }
