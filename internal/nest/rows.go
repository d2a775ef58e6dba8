package nest

import (
	"math"
	"slices"
)

// rows lays the pieces as one would chalk them by hand: box beside box across the
// cloth until it is full, then the next row; the longest pieces first. Returns the
// lay; every other result has to be as short.
func (s *searcher) rows(length float64) bool {
	in := s.in
	s.lay.strip.length = length
	order := make([]int, 0, len(in.pieces))
	for k := range in.pieces {
		if in.pieces[k].fixed {
			return false // rows do not go round fixed pieces
		}
		s.lay.pose[k] = s.lowestPose(k)
		order = append(order, k)
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return compareFloat(in.forms[s.lay.poseOf(b).form].size.x, in.forms[s.lay.poseOf(a).form].size.x)
	})
	x, y, next := in.edge, in.edge, in.edge
	for _, k := range order {
		if p, ok := s.inRow(k, vec{x, y}); ok {
			s.lay.at[k] = p
		} else {
			x = next
			if p, ok = s.inRow(k, vec{x, in.edge}); !ok {
				return false
			}
			s.lay.at[k] = p
		}
		size := in.forms[s.lay.poseOf(k).form].size
		y = s.lay.at[k].y + size.y + in.buffer
		next = math.Max(next, s.lay.at[k].x+size.x+in.buffer)
	}
	return true
}

// lowestPose returns the pose that takes least of the length.
func (s *searcher) lowestPose(k int) int {
	best, least := 0, math.Inf(1)
	for i, p := range s.in.pieces[k].poses {
		if w := s.in.forms[p.form].size.x; w < least {
			best, least = i, w
		}
	}
	return best
}

// inRow returns the first allowed place at or after p, along and across.
func (s *searcher) inRow(k int, p vec) (vec, bool) {
	for _, b := range s.boundsOf(k, s.lay.pose[k]) {
		b.min = vec{math.Max(b.min.x, p.x), math.Max(b.min.y, p.y)}
		if at, ok := b.lattice.snapped(b.min, b.box); ok {
			return at, true
		}
	}
	return p, false
}
