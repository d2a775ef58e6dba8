package nest

// relax moves all pieces of s.lay apart at once: sweep by sweep every pair in conflict
// is pushed apart along its way out, each piece by half, and kept in the strip. Where
// what is left of overlap is little but the pieces stand wall to wall, single moves
// cannot help and this can: the little goes from piece to piece to where there is room
// (Imamichi et al. 2009 move all pieces by a quasi-Newton method; the sweeps are those
// of position-based dynamics, Müller et al. 2007). It returns true when nothing
// overlaps any more.
func (s *searcher) relax() bool {
	p := s.params
	for sweep := range p.sweeps {
		if sweep%p.sweepsPerList == 0 {
			s.listPairs()
		}
		// The pieces are pushed a little further than needed, less and less so, that
		// the end is reached in finitely many sweeps.
		margin := s.in.width * p.relaxMargin * float64(p.sweeps-sweep) / float64(p.sweeps)
		if s.sweep(margin, sweep%2 == 1) {
			s.listPairs()
			if s.sweep(0, false) {
				return true
			}
		}
	}
	return false
}

// pairsPerWork: looking at this many pairs takes as long as evaluating one place.
const pairsPerWork = 10

// pairOf is a pair of pieces and how the first sees the second.
type pairOf struct {
	first, second int
	sight         *sight
}

// listPairs lists the pairs that are close to each other.
func (s *searcher) listPairs() {
	s.pairs = s.pairs[:0]
	reach := s.in.width * s.params.pairReach
	for i := range s.lay.at {
		for j := range i {
			v := s.in.sightOf(s.lay.poseOf(i).form, s.lay.poseOf(j).form)
			d := s.lay.at[i].sub(s.lay.at[j])
			if d.x > v.min.x-reach && d.x < v.max.x+reach && d.y > v.min.y-reach && d.y < v.max.y+reach {
				s.pairs = append(s.pairs, pairOf{i, j, v})
			}
		}
	}
}

// sweep pushes every listed pair in conflict apart; it returns true when there was none.
func (s *searcher) sweep(margin float64, backwards bool) bool {
	s.work += 1 + int64(len(s.pairs)/pairsPerWork)
	clear := true
	for i := range s.pairs {
		if backwards {
			i = len(s.pairs) - 1 - i
		}
		p := &s.pairs[i]
		q := p.sight.displacement(s.lay.at[p.first].sub(s.lay.at[p.second]))
		if p.sight.field.depth(q) == 0 {
			continue
		}
		clear = false
		if n, depth, ok := p.sight.field.touch(q); ok {
			push := n.scale(p.sight.sign * (depth + margin) / 2)
			s.push(p.first, push)
			s.push(p.second, push.scale(-1))
		}
	}
	return clear
}

// push moves piece k by d as far as the strip lets it.
func (s *searcher) push(k int, d vec) {
	if s.in.pieces[k].fixed {
		return
	}
	if at, ok := nearestIn(s.boundsOf(k, s.lay.pose[k]), s.lay.at[k].add(d)); ok {
		s.lay.at[k] = at
	}
}
