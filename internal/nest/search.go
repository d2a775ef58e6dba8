package nest

import (
	"math"
	"math/rand/v2"
)

// searcher moves pieces of one layout; it belongs to one goroutine.
type searcher struct {
	in     *instance
	params *searchParams
	rng    *rand.Rand
	lay    layout
	before layout // kept while pieces are moved on trial
	con    *conflicts
	work   int64 // evaluations of a piece at a place
	limit  int64 // of work: a separation ends when it is reached
	stop   func() bool
	// interrupted: the last separation met the limit of work.
	interrupted bool

	near, close []neighbour
	bounds      [][]bounds // [form's pose] cache for the current strip, see boundsOf
	boundsAt    float64
	contacts    []contact
	list        shortlist
	pairs       []pairOf
	order       []int
	everyone    []int // 0, 1, 2 ...
}

// neighbour is another piece as the moving one sees it: the displacement to ask the
// field for is sign·p + offset, and only inside the box can there be contact.
type neighbour struct {
	box
	offset vec
	sign   float64
	weight float64
	field  *field
}

// place is a candidate for the moving piece.
type place struct {
	pose int
	at   vec
	cost float64
}

// look fills s.near with what piece k would meet of the others in the pose.
func (s *searcher) look(k, pose int, others []int) {
	a := s.in.pieces[k].poses[pose].form
	row := s.in.sights[a*len(s.in.forms) : (a+1)*len(s.in.forms)]
	weights := s.con.weight[k*s.con.n : (k+1)*s.con.n]
	s.near = s.near[:0]
	for _, j := range others {
		if j == k {
			continue
		}
		at, v := s.lay.at[j], &row[s.lay.poseOf(j).form]
		s.near = append(s.near, neighbour{
			box{at.add(v.min), at.add(v.max)}, v.shift.sub(at.scale(v.sign)), v.sign, weights[j], v.field,
		})
	}
}

// cost returns the weighted depth of the moving piece at p, or something not below
// the bound when it reaches that.
func (s *searcher) cost(near []neighbour, p vec, bound float64) float64 {
	s.work++
	total := 0.0
	for i := range near {
		n := &near[i]
		if p.x <= n.min.x || p.x >= n.max.x || p.y <= n.min.y || p.y >= n.max.y {
			continue
		}
		if d := n.field.depth(vec{n.sign*p.x + n.offset.x, n.sign*p.y + n.offset.y}); d > 0 {
			total += d * n.weight
			if total >= bound {
				return total
			}
		}
	}
	return total
}

// boundsOf returns where the pose of piece k may lie in the current strip.
func (s *searcher) boundsOf(k, pose int) []bounds {
	if s.boundsAt != s.lay.strip.length {
		clear(s.bounds)
		s.boundsAt = s.lay.strip.length
	}
	slot := &s.bounds[s.in.firstPose[k]+pose]
	if *slot == nil {
		*slot = s.lay.strip.boundsFor(&s.in.pieces[k].poses[pose])
		if *slot == nil {
			*slot = []bounds{}
		}
	}
	return *slot
}

// anywhere returns a random allowed place.
func (s *searcher) anywhere(all []bounds) vec {
	b := &all[0]
	if len(all) > 1 {
		b = &all[s.rng.IntN(len(all))]
	}
	p := vec{b.min.x + s.rng.Float64()*(b.max.x-b.min.x), b.min.y + s.rng.Float64()*(b.max.y-b.min.y)}
	if b.lattice.free() {
		return p.rounded()
	}
	p, _ = b.lattice.snapped(p, b.box)
	return p
}

// around returns a random allowed place not further than reach from p, both ways.
func (s *searcher) around(all []bounds, p, reach vec) vec {
	p = p.add(vec{(2*s.rng.Float64() - 1) * reach.x, (2*s.rng.Float64() - 1) * reach.y})
	p, _ = nearestIn(all, p)
	return p
}

// shortlist keeps the best few places seen.
type shortlist struct {
	places []place
	size   int
}

// bound is the cost that a place must beat to enter.
func (l *shortlist) bound() float64 {
	if len(l.places) < l.size {
		return math.Inf(1)
	}
	return l.places[len(l.places)-1].cost
}

func (l *shortlist) add(p place) {
	i := len(l.places)
	if i < l.size {
		l.places = append(l.places, p)
	} else {
		i--
		l.places[i] = p
	}
	for ; i > 0 && l.places[i-1].cost > l.places[i].cost; i-- {
		l.places[i-1], l.places[i] = l.places[i], l.places[i-1]
	}
}

// bestPlace looks for the place of least weighted overlap for piece k: the best of many
// random places, all over and near by and in all poses, slide to contact, and so does
// the place where it lies.
func (s *searcher) bestPlace(k int) place {
	now := place{s.lay.pose[k], s.lay.at[k], s.con.weighted(k)}
	best := now
	for _, p := range append(s.samples(k), now) {
		all := s.boundsOf(k, p.pose)
		if len(all) == 0 {
			continue
		}
		s.look(k, p.pose, s.everyone)
		if p = s.slide(k, p, all); p.cost < best.cost {
			best = p
		}
		if best.cost == 0 {
			break
		}
	}
	return best
}

// samples returns the best few of many random places for piece k.
func (s *searcher) samples(k int) []place {
	poses := s.in.pieces[k].poses
	s.list.places = s.list.places[:0]
	s.list.size = s.params.refined
	wide := (s.params.wide + len(poses) - 1) / len(poses)
	for i := range poses {
		all := s.boundsOf(k, i)
		if len(all) == 0 {
			continue
		}
		s.look(k, i, s.everyone)
		for range wide {
			s.try(s.near, i, s.anywhere(all))
		}
		if i == s.lay.pose[k] {
			reach := s.in.forms[poses[i].form].size.scale(s.params.nearShare)
			s.narrow(s.lay.at[k], math.Max(reach.x, reach.y))
			for range s.params.narrow {
				s.try(s.close, i, s.around(all, s.lay.at[k], reach))
			}
		}
	}
	return s.list.places
}

// try evaluates a sample and keeps it when it is among the best.
func (s *searcher) try(near []neighbour, pose int, at vec) {
	bound := s.list.bound()
	if c := s.cost(near, at, bound); c < bound {
		s.list.add(place{pose, at, c})
	}
}

// move puts piece k to its best place when that is better than where it lies.
func (s *searcher) move(k int) bool {
	before := s.con.weighted(k)
	p := s.bestPlace(k)
	if p.cost >= before {
		return false
	}
	s.lay.pose[k], s.lay.at[k] = p.pose, p.at
	s.con.measurePiece(&s.lay, k)
	return true
}
