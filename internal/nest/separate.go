package nest

// separate tries to move the pieces of s.lay apart within the strip. It returns true
// when nothing overlaps any more; otherwise s.lay is the layout of least loss seen. A
// separation that the limit of work interrupted goes on with the weights it had.
func (s *searcher) separate(patience, strikes int) bool {
	if !s.interrupted {
		s.con.resetWeights()
	}
	s.interrupted = false
	s.con.measure(&s.lay)
	if s.relaxed(s.con.loss()) {
		return true
	}
	best, bestLoss := s.lay.clone(), s.con.loss()
	for strike := 0; strike < strikes; strike++ {
		atStart := bestLoss
		for idle := 0; idle < patience; idle++ {
			if bestLoss == 0 {
				break
			}
			if s.work >= s.limit || s.stop() {
				s.lay.copyFrom(&best)
				s.interrupted = true
				return false
			}
			s.pass()
			loss := s.con.loss()
			if (loss < bestLoss || idle%s.params.relaxEvery == 0) && s.relaxed(loss) {
				return true
			}
			if loss < bestLoss {
				if loss < s.params.better*bestLoss {
					idle = 0
				}
				best.copyFrom(&s.lay)
				bestLoss = loss
			}
			s.con.learn(s.params)
		}
		s.lay.copyFrom(&best)
		s.con.measure(&s.lay)
		if bestLoss == 0 {
			return true
		}
		if bestLoss < s.params.better*atStart {
			strike = -1
		}
	}
	return false
}

// relaxed tries to finish a layout that overlaps little by moving all pieces at once;
// when that fails the layout stays as it was.
func (s *searcher) relaxed(loss float64) bool {
	if loss > s.params.relaxBelow*s.in.width {
		return false
	}
	s.before.copyFrom(&s.lay)
	if s.relax() {
		s.con.measure(&s.lay)
		if s.con.loss() == 0 {
			return true
		}
	}
	s.lay.copyFrom(&s.before)
	s.con.measure(&s.lay)
	return false
}

// pass moves every piece in conflict once, in random order.
func (s *searcher) pass() {
	s.order = s.order[:0]
	for k := range s.in.pieces {
		if !s.in.pieces[k].fixed && s.con.weighted(k) > 0 {
			s.order = append(s.order, k)
		}
	}
	s.rng.Shuffle(len(s.order), func(i, j int) { s.order[i], s.order[j] = s.order[j], s.order[i] })
	for _, k := range s.order {
		if s.con.weighted(k) > 0 {
			s.move(k)
		}
	}
}
