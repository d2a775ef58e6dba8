package sheet

import "math"

// band is a row (or column) of pages side by side, all upright or all turned.
type band struct {
	turned bool
	pages  int // how many it may have
}

// search finds the fewest pages that show a cover. Pages lie in bands; each band is
// of upright or of turned pages and is shifted on its own. Given where a band begins
// and how many pages it may have, it best reaches as far as it can: what is left is
// then part of what would be left otherwise. So the search goes over counts and
// directions alone, and finds the fewest exactly (to a strip's height).
type search struct {
	cover
	axes          axes
	width, height float64 // of what an upright page shows, mm
	overlap       float64
	best          map[int]*answer
}

// answer is the best way to show all from a strip on.
type answer struct {
	cost  float64
	bands []band
}

// What a plan costs beside its pages: each further band is a long join to tape, and
// turned pages are a little harder to follow. A page outweighs them all.
const (
	pageCost   = 1000.0
	bandCost   = 10.0
	turnedCost = 1.0
)

// reach returns, for n = 1, 2, ... pages, the strip at which a band that begins at
// strip i must end (the first strip that it does not show); 0 where n pages are not
// enough for one strip.
func (s *search) reach(i int, turned bool, most int) []int {
	u, v := s.axes.window(s.width, s.height, turned)
	var ends []int
	var acc, spare spans
	for j := i; j < len(s.strips) && s.place(j+1)-s.place(i) <= v+1e-9; j++ {
		acc, spare = acc.union(s.strips[j], spare), acc
		n := acc.count(u, s.overlap)
		if n > most {
			break
		}
		for len(ends) < n {
			ends = append(ends, 0)
		}
		if n > 0 {
			ends[n-1] = j + 1
		}
	}
	for n := 1; n < len(ends); n++ {
		ends[n] = max(ends[n], ends[n-1])
	}
	return ends
}

// next returns the strip at which the band after one that ends at the strip begins:
// an overlap earlier, or where there is something to show again.
func (s *search) next(end int) int {
	i := s.strip(s.place(end) - s.overlap)
	for i < len(s.strips)-1 && len(s.strips[i]) == 0 {
		i++
	}
	return i
}

// endBefore returns the strip up to which a band must show all when the next one
// begins at strip i: an overlap more, unless the paper between them is blank.
func (s *search) endBefore(i int) int {
	if i > 0 && len(s.strips[i-1]) == 0 {
		for i > 0 && len(s.strips[i-1]) == 0 {
			i--
		}
		return i
	}
	return min(len(s.strips), int(math.Ceil((s.place(i)+s.overlap-s.cover.from)/s.tall-1e-9)))
}

// answerFrom returns the best answer for the strips from i on.
func (s *search) answerFrom(i int) *answer {
	if known, ok := s.best[i]; ok {
		return known
	}
	best := &answer{cost: math.Inf(1)}
	s.best[i] = best
	for _, turned := range []bool{false, true} {
		for k, end := range s.reach(i, turned, mostPages) {
			a := &answer{}
			if end < len(s.strips) {
				if end == 0 || s.next(end) <= i {
					continue
				}
				a = s.answerFrom(s.next(end))
			}
			cost := a.cost + pageCost*float64(k+1) + bandCost
			if turned {
				cost += turnedCost
			}
			if cost < best.cost {
				*best = answer{cost, append([]band{{turned, k + 1}}, a.bands...)}
			}
		}
	}
	return best
}

// latest returns the last strip at which each band but the first can begin: every
// band reaches as far as it can.
func (s *search) latest(bands []band) []int {
	var starts []int
	i := 0
	for _, b := range bands[:len(bands)-1] {
		i = s.next(s.farthest(i, b))
		starts = append(starts, i)
	}
	return starts
}

// farthest returns the strip at which a band that begins at strip i must end.
func (s *search) farthest(i int, b band) int {
	ends := s.reach(i, b.turned, b.pages)
	if len(ends) == 0 {
		return i
	}
	return ends[len(ends)-1]
}

// earliest returns the first strip at which each band but the first can begin: the
// last band reaches up as far as it can, then the one before it.
func (s *search) earliest(bands []band) []int {
	starts := make([]int, len(bands)-1)
	end := len(s.strips)
	for k := len(bands) - 1; k > 0; k-- {
		starts[k-1] = s.highest(end, bands[k])
		end = s.endBefore(starts[k-1])
	}
	return starts
}

// highest returns the first strip from which the band shows all up to the end.
func (s *search) highest(end int, b band) int {
	u, v := s.axes.window(s.width, s.height, b.turned)
	var acc, spare spans
	i := end - 1
	for ; i >= 0 && s.place(end)-s.place(i) <= v+1e-9; i-- {
		acc, spare = acc.union(s.strips[i], spare), acc
		if acc.count(u, s.overlap) > b.pages {
			break
		}
	}
	return i + 1
}
