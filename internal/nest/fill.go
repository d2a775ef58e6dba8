package nest

import (
	"math"
	"slices"
)

// filler lays pieces one after the other, each as far left as it goes (then as far
// down), in the pose that ends furthest left: bottom-left fill over the corners of
// the no-fit borders, holes included.
type filler struct {
	*searcher
	sides []side
	all   []bounds
	best  place
	end   float64 // x where the best place ends
}

// side is a stretch of no-fit border as the moving corner sees it: it may lie on it.
type side struct {
	a, u   vec
	l      float64
	lo, hi vec // its box
}

// fill lays the given pieces in order; the fixed pieces lie already. The strip must be
// long enough for all of them; false says that it was not.
func (s *searcher) fill(order []int, length float64) bool {
	s.lay.strip.length = length
	f := filler{searcher: s}
	placed := s.fixedPieces()
	for _, k := range order {
		f.end = math.Inf(1)
		for i := range s.in.pieces[k].poses {
			f.all = s.boundsOf(k, i)
			s.look(k, i, placed)
			f.consider(k, i)
		}
		if math.IsInf(f.end, 1) {
			return false
		}
		s.lay.pose[k], s.lay.at[k] = f.best.pose, f.best.at
		placed = append(placed, k)
	}
	return true
}

func (s *searcher) fixedPieces() []int {
	var out []int
	for k := range s.in.pieces {
		if s.in.pieces[k].fixed {
			out = append(out, k)
		}
	}
	return out
}

// consider finds the best place for one pose.
func (f *filler) consider(k, pose int) {
	width := f.in.forms[f.in.pieces[k].poses[pose].form].size.x
	if len(f.all) > 0 && !f.all[0].lattice.free() {
		f.latticePlaces(pose, width)
		return
	}
	f.sides = f.sides[:0]
	for i := range f.near {
		f.appendSides(&f.near[i])
	}
	for i := range f.all {
		b := &f.all[i]
		f.try(pose, width, b.min)
		f.try(pose, width, vec{b.min.x, b.max.y})
	}
	for _, s := range f.sides {
		f.try(pose, width, s.a)
		f.try(pose, width, s.a.add(s.u.scale(s.l)))
		f.tryWalls(pose, width, s)
	}
	f.tryCrossings(pose, width)
}

// appendSides adds the border with one neighbour, moved out by the buffer.
func (f *filler) appendSides(n *neighbour) {
	for _, s := range n.field.border {
		u := s.u.scale(n.sign)
		a := s.a.sub(n.offset).scale(n.sign)
		c := contact{n: vec{u.y, -u.x}, depth: n.field.buffer}
		a = a.add(c.alone())
		e := a.add(u.scale(s.l))
		f.sides = append(f.sides, side{a, u, s.l,
			vec{math.Min(a.x, e.x), math.Min(a.y, e.y)}, vec{math.Max(a.x, e.x), math.Max(a.y, e.y)}})
	}
}

// try takes the place when it is free and better than the best.
func (f *filler) try(pose int, width float64, p vec) {
	p = p.rounded()
	end := p.x + width
	if end > f.end || (end == f.end && p.y >= f.best.at.y) {
		return
	}
	for i := range f.all {
		b := &f.all[i]
		if p.x >= b.min.x && p.x <= b.max.x && p.y >= b.min.y && p.y <= b.max.y {
			if f.cost(f.near, p, slantNM) == 0 {
				f.best, f.end = place{pose: pose, at: p}, end
			}
			return
		}
	}
}

// tryWalls tries where the side crosses the borders of the strip.
func (f *filler) tryWalls(pose int, width float64, s side) {
	for i := range f.all {
		b := &f.all[i]
		for _, y := range [2]float64{b.min.y, b.max.y} {
			if s.lo.y <= y && y <= s.hi.y && s.u.y != 0 {
				f.try(pose, width, vec{math.Ceil(s.a.x + (y-s.a.y)/s.u.y*s.u.x), y})
			}
		}
		if s.lo.x <= b.min.x && b.min.x <= s.hi.x && s.u.x != 0 {
			f.try(pose, width, vec{b.min.x, math.Ceil(s.a.y + (b.min.x-s.a.x)/s.u.x*s.u.y)})
		}
	}
}

// tryCrossings tries where two sides cross, as long as that can still be better.
func (f *filler) tryCrossings(pose int, width float64) {
	slices.SortStableFunc(f.sides, func(a, b side) int { return compareFloat(a.lo.x, b.lo.x) })
	for i := range f.sides {
		s := &f.sides[i]
		if s.lo.x+width > f.end {
			return
		}
		for j := i + 1; j < len(f.sides) && f.sides[j].lo.x <= s.hi.x; j++ {
			t := &f.sides[j]
			if t.lo.x+width > f.end {
				break
			}
			if t.lo.y > s.hi.y || s.lo.y > t.hi.y {
				continue
			}
			det := s.u.cross(t.u)
			if math.Abs(det) < leastDet {
				continue
			}
			r := t.a.sub(s.a).cross(t.u) / det
			w := t.a.sub(s.a).cross(s.u) / det
			if r >= -2 && r <= s.l+2 && w >= -2 && w <= t.l+2 {
				f.try(pose, width, s.a.add(s.u.scale(r)))
			}
		}
	}
}

// latticePlaces tries the places of the pattern from left to right.
func (f *filler) latticePlaces(pose int, width float64) {
	for i := range f.all {
		b := &f.all[i]
		stepX, stepY := b.lattice.dx, b.lattice.dy
		if b.lattice.half {
			stepX /= 2
		}
		if stepX == 0 {
			stepX = f.in.width / 64
		}
		if stepY == 0 {
			stepY = f.in.width / 64
		}
		for x := b.min.x; x <= math.Min(b.max.x, f.end-width); x += stepX {
			for y := b.min.y; y <= b.max.y+stepY/2; y += stepY {
				if p, ok := b.lattice.snapped(vec{x, y}, b.box); ok {
					f.try(pose, width, p)
				}
			}
		}
	}
}

func compareFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
