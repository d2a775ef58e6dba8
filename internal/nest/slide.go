package nest

import "math"

// contact is a straight stretch of a no-fit border near the moving piece: it touches
// there when displaced by d with d·n = depth. Depth is positive where it overlaps.
type contact struct {
	n      vec
	depth  float64
	weight float64
}

const (
	mostContacts = 10
	// leastDet: two borders that cross at less than this (sine of the angle) give no
	// sound corner.
	leastDet = 0.02
)

// slide lessens the cost of a place by going to exact contacts: near a place the
// depth of every neighbour falls linearly towards its border, so that the least
// weighted sum is found where one border, or two, are just reached. It tries all
// such corners within reach, goes to the best, and repeats while that helps.
func (s *searcher) slide(k int, p place, all []bounds) place {
	reach := s.params.slideShare * math.Sqrt(s.in.pieces[k].area)
	for range s.params.slides {
		if p.cost == 0 {
			return p
		}
		s.narrow(p.at, reach)
		overlapping := s.findContacts(p.at, reach, all)
		best := p
		s.tryDownhill(&best, p.at, overlapping, reach, all)
		for i := range overlapping {
			s.tryContact(&best, p.at, s.contacts[i].alone(), reach, all)
			for j := i + 1; j < len(s.contacts); j++ {
				if d, ok := corner(s.contacts[i], s.contacts[j]); ok {
					s.tryContact(&best, p.at, d, reach, all)
				}
			}
		}
		if best.cost >= p.cost {
			return p
		}
		p = best
	}
	return p
}

// tryDownhill tries steps along the steepest descent of the weighted sum: the way out
// where overlaps are deeper than the reach.
func (s *searcher) tryDownhill(best *place, p vec, overlapping int, reach float64, all []bounds) {
	var d vec
	for _, c := range s.contacts[:overlapping] {
		d = d.add(c.n.scale(c.weight))
	}
	l := d.length()
	if l == 0 {
		return
	}
	for _, share := range [3]float64{1, 0.5, 0.2} {
		s.tryContact(best, p, d.scale(share*reach/l), reach, all)
	}
}

// narrow keeps in s.close the neighbours that can matter within reach of p.
func (s *searcher) narrow(p vec, reach float64) {
	s.close = s.close[:0]
	for i := range s.near {
		n := &s.near[i]
		if p.x+reach > n.min.x && p.x-reach < n.max.x && p.y+reach > n.min.y && p.y-reach < n.max.y {
			s.close = append(s.close, *n)
		}
	}
}

// findContacts lists the contacts within reach of p, the overlapping ones first, and
// returns how many those are.
func (s *searcher) findContacts(p vec, reach float64, all []bounds) (overlapping int) {
	s.contacts = s.contacts[:0]
	s.work++
	for i := range s.close {
		n := &s.close[i]
		q := vec{n.sign*p.x + n.offset.x, n.sign*p.y + n.offset.y}
		out, d, ok := n.field.touch(q)
		if !ok || d < -reach {
			continue
		}
		c := contact{out.scale(n.sign), d, n.weight}
		s.contacts = append(s.contacts, c)
		if d >= slantNM {
			last := len(s.contacts) - 1
			s.contacts[last], s.contacts[overlapping] = s.contacts[overlapping], c
			overlapping++
		}
	}
	s.addWalls(p, reach, all)
	if len(s.contacts) > mostContacts {
		s.contacts = s.contacts[:mostContacts]
	}
	return min(overlapping, mostContacts)
}

// addWalls adds the borders of the strip.
func (s *searcher) addWalls(p vec, reach float64, all []bounds) {
	for i := range all {
		b := &all[i]
		if p.x < b.min.x-reach || p.x > b.max.x+reach {
			continue
		}
		for _, c := range [4]contact{
			{vec{1, 0}, b.min.x - p.x, 0}, {vec{-1, 0}, p.x - b.max.x, 0},
			{vec{0, 1}, b.min.y - p.y, 0}, {vec{0, -1}, p.y - b.max.y, 0},
		} {
			if c.depth >= -reach {
				s.contacts = append(s.contacts, c)
			}
		}
	}
}

// goal is how far to go along n: where the border is slanted a little beyond, so
// that rounding to whole nanometres keeps the piece clear.
func (c contact) goal() float64 {
	if c.n.x == 0 || c.n.y == 0 {
		return c.depth
	}
	return c.depth + 2
}

func (c contact) alone() vec { return c.n.scale(c.goal()) }

// corner returns the displacement that reaches both contacts: d·n₁ = g₁, d·n₂ = g₂.
func corner(a, b contact) (vec, bool) {
	det := a.n.cross(b.n)
	if math.Abs(det) < leastDet {
		return vec{}, false
	}
	ga, gb := a.goal(), b.goal()
	return vec{(ga*b.n.y - gb*a.n.y) / det, (gb*a.n.x - ga*b.n.x) / det}, true
}

// tryContact replaces best when the place p + d is better.
func (s *searcher) tryContact(best *place, p, d vec, reach float64, all []bounds) {
	if math.Abs(d.x) > reach || math.Abs(d.y) > reach {
		return
	}
	at, ok := nearestIn(all, p.add(d))
	if !ok {
		return
	}
	if c := s.cost(s.close, at, best.cost); c < best.cost {
		best.at, best.cost = at, c
	}
}
