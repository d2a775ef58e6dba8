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

// pairOf is a pair of pieces; the field is asked for second - first.
type pairOf struct {
	first, second int
	field         *field
}

// listPairs lists the pairs that are close to each other.
func (s *searcher) listPairs() {
	s.pairs = s.pairs[:0]
	reach := s.in.width * s.params.pairReach
	for i := range s.lay.at {
		for j := range i {
			a, b := j, i
			if s.lay.poseOf(a).form > s.lay.poseOf(b).form {
				a, b = i, j
			}
			f := s.in.fieldOf(s.lay.poseOf(a).form, s.lay.poseOf(b).form)
			q := s.lay.at[b].sub(s.lay.at[a])
			if q.x > f.min.x-reach && q.x < f.max.x+reach && q.y > f.min.y-reach && q.y < f.max.y+reach {
				s.pairs = append(s.pairs, pairOf{a, b, f})
			}
		}
	}
}

// sweep pushes every listed pair in conflict apart; it returns true when there was none.
func (s *searcher) sweep(margin float64, backwards bool) bool {
	s.work++
	clear := true
	for i := range s.pairs {
		if backwards {
			i = len(s.pairs) - 1 - i
		}
		p := &s.pairs[i]
		q := s.lay.at[p.second].sub(s.lay.at[p.first])
		if p.field.depth(q) == 0 {
			continue
		}
		clear = false
		if n, depth, ok := p.field.touch(q); ok {
			push := n.scale((depth + margin) / 2)
			s.push(p.second, push)
			s.push(p.first, push.scale(-1))
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
