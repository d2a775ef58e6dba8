package sheet

import (
	"math"

	"fairedge/internal/curve"
)

// Where a seam can lie in several places at no cost in pages, it keeps off what must
// be read or cut with care: notches, tight corners, and lines that run along it.

// What a seam costs, in mm of line that runs along it.
const (
	cornerCost = 40.0 // for a radian of turn inside the seam
	notchCost  = 60.0 // for a notch inside it
	thinPage   = 90.0 // mm; a page that shows less is a sliver
	sliverCost = 1.0  // for each mm less
	unevenCost = 0.001
	seamClear  = 4.0 // mm kept clear on either side of the overlap
)

// trouble is what a seam would meet at a place.
type trouble struct {
	uvPoint
	alongU, alongV float64 // mm of line in either direction
	other          float64
}

// troublesOf returns the lines that are cut along, in steps of about 2 mm.
func troublesOf(s Sheet, a axes) []trouble {
	var all []trouble
	for _, item := range s.Items {
		line, ok := item.(Stroke)
		if !ok {
			continue
		}
		switch line.Role {
		case Notch:
			all = append(all, notchTrouble(line.Path, a))
		case CutLine, FoamOutline, SeamLine, FoldLine:
			all = append(all, lineTrouble(line.Path, a)...)
		}
	}
	return all
}

func notchTrouble(path curve.Path, a axes) trouble {
	u, v := a.uv(path.Bounds().Centre())
	return trouble{uvPoint: uvPoint{u, v}, other: notchCost}
}

func lineTrouble(path curve.Path, a axes) []trouble {
	const step, tolerance = 2.0, 0.1
	around := path.ArcLength(tolerance)
	n := int(math.Ceil(around / step))
	lengths := make([]float64, n+1)
	for i := range lengths {
		lengths[i] = around * float64(i) / float64(n)
	}
	var all []trouble
	spots := path.AtLengths(lengths, tolerance)
	for i := 1; i < len(spots); i++ {
		u0, v0 := a.uv(spots[i-1].Point)
		u1, v1 := a.uv(spots[i].Point)
		tangent := path.Segment(spots[i].Piece).Tangent(spots[i].T)
		before := path.Segment(spots[i-1].Piece).Tangent(spots[i-1].T)
		all = append(all, trouble{
			uvPoint{(u0 + u1) / 2, (v0 + v1) / 2}, math.Abs(u1 - u0), math.Abs(v1 - v0),
			cornerCost * math.Abs(before.AngleTo(tangent)),
		})
	}
	return all
}

// profile is the trouble along one axis, in sums over steps of 1 mm.
type profile struct {
	from float64
	sums []float64 // sums[i]: of all before from + i mm
}

func newProfile(within span) profile {
	return profile{within.lo, make([]float64, int(math.Ceil(within.size()))+2)}
}

func (p profile) add(place, cost float64) {
	if i := int(place-p.from) + 1; i > 0 && i < len(p.sums) {
		p.sums[i] += cost
	}
}

func (p profile) total() {
	for i := 1; i < len(p.sums); i++ {
		p.sums[i] += p.sums[i-1]
	}
}

// between returns the trouble between two places.
func (p profile) between(lo, hi float64) float64 {
	i := max(0, min(len(p.sums)-1, int(lo-p.from)))
	j := max(0, min(len(p.sums)-1, int(hi-p.from)+1))
	return p.sums[j] - p.sums[i]
}

// seams is the choice of where pages (or bands of them) meet: page k shows from
// starts[k-1] to starts[k] + overlap.
type seams struct {
	whole   span
	overlap float64
	choices [][]float64 // for each seam the starts that it may have, in order
	may     func(k, from, to int) bool
	trouble profile
}

// choose returns the starts of least cost, or nil when none is allowed. Indices of
// choices are handed to may: -1 stands for the beginning, len for the end.
func (s seams) choose() []float64 {
	type state struct {
		cost float64
		back int
	}
	levels := make([][]state, len(s.choices))
	for k, starts := range s.choices {
		levels[k] = make([]state, len(starts))
		for i, start := range starts {
			best := state{math.Inf(1), -1}
			if k == 0 {
				if s.may(0, -1, i) {
					best.cost = s.cost(s.whole.lo, start)
				}
			} else {
				for j, before := range s.choices[k-1] {
					if c := levels[k-1][j].cost + s.cost(before, start); c < best.cost && s.may(k, j, i) {
						best = state{c, j}
					}
				}
			}
			best.cost += s.trouble.between(start-seamClear, start+s.overlap+seamClear)
			levels[k][i] = best
		}
	}
	last := len(s.choices) - 1
	best, at := math.Inf(1), -1
	for i, start := range s.choices[last] {
		if c := levels[last][i].cost + s.cost(start, s.whole.hi-s.overlap); c < best && s.may(last+1, i, len(s.choices[last])) {
			best, at = c, i
		}
	}
	if at < 0 {
		return nil
	}
	starts := make([]float64, len(s.choices))
	for k := last; k >= 0; k-- {
		starts[k] = s.choices[k][at]
		at = levels[k][at].back
	}
	return starts
}

// cost returns what a page from one start to the next costs by its size alone.
func (s seams) cost(from, next float64) float64 {
	size := next + s.overlap - from
	even := (s.whole.size() + float64(len(s.choices))*s.overlap) / float64(len(s.choices)+1)
	return sliverCost*math.Max(0, thinPage-size) + unevenCost*(size-even)*(size-even)
}
