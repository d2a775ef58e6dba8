package pad

import (
	"math"

	"fairedge/internal/shape"
)

// The joins of a strip that goes along a seam are chosen together: of all ways to
// part the length into strips none of which is too long, the one whose joins lie at
// the least awkward places. Places are tried on a grid; the best choice follows by
// dynamic programming (R. Bellman, Dynamic Programming, 1957).

// parting is a stretch of length total to be sewn from strips.
type parting struct {
	total float64
	// limit returns the greatest length of strip k of n.
	limit func(k, n int) float64
	// cost returns how awkward a join at x is; from forbidden on it is never right.
	cost func(x float64) float64
	step float64
}

// forbidden is the cost of a place where no join may fall.
const forbidden = 100

// costUnits is how many whole units make a cost of 1. Costs are counted in whole
// numbers so that of equal places the first is taken, whatever rounding does.
const costUnits = 1e6

// unreachable is more than any sum of costs.
const unreachable = math.MaxInt64 / 4

// mostStrips bounds the number of strips tried.
const mostStrips = 60

// joins returns the places of the joins, in order, with the fewest strips that keep
// every join off the forbidden places. When no number within three of the fewest
// does, ok is false and the fewest strips are used. nil without ok: strips are too
// short for any.
func (p parting) joins() (places []float64, ok bool) {
	grid := p.grid()
	costs := make([]int64, len(grid))
	for i, x := range grid {
		costs[i] = int64(math.Round(p.cost(x) * costUnits))
	}
	var first []float64
	found := 0
	for n := 1; n <= mostStrips && found < 4; n++ {
		at, cost, possible := p.best(grid, costs, n)
		if !possible {
			continue
		}
		if cost < forbidden*costUnits {
			return at, true
		}
		if found == 0 {
			first = at
		}
		found++
	}
	return first, false
}

// grid returns the places that are tried, from 0 to total with both.
func (p parting) grid() []float64 {
	n := max(1, int(math.Round(p.total/p.step)))
	grid := make([]float64, n+1)
	for i := range grid {
		grid[i] = p.total * float64(i) / float64(n)
	}
	return grid
}

// best returns the cheapest joins of exactly n strips.
func (p parting) best(grid []float64, costs []int64, n int) (places []float64, cost int64, possible bool) {
	size := len(grid)
	sum := make([]int64, size) // least cost of reaching grid[i] with the strips so far
	from := make([][]int, n)
	for i := range sum {
		sum[i] = unreachable
	}
	sum[0] = 0
	for k := range n {
		sum, from[k] = p.oneMore(grid, costs, sum, p.limit(k, n), k == n-1)
	}
	end := size - 1
	if sum[end] >= unreachable {
		return nil, 0, false
	}
	places = make([]float64, n-1)
	for k, i := n-1, end; k > 0; k-- {
		i = from[k][i]
		places[k-1] = grid[i]
	}
	return places, sum[end], true
}

// oneMore extends the cheapest ways by one strip of at most the limit. The last
// strip ends at the end, which is no join.
func (p parting) oneMore(grid []float64, costs, sum []int64, limit float64, last bool) (next []int64, from []int) {
	next, from = make([]int64, len(grid)), make([]int, len(grid))
	for i := range grid {
		next[i] = unreachable
		if last && i < len(grid)-1 {
			continue
		}
		own := costs[i]
		if last {
			own = 0
		}
		for j := i - 1; j >= 0 && grid[i]-grid[j] <= limit+1e-9; j-- {
			if c := sum[j] + own; c < next[i] {
				next[i], from[i] = c, j
			}
		}
	}
	return next, from
}

// awkwardness returns how awkward a join at arc length s of the seam is: forbidden
// at the front centre and at corners; better the nearer the back; off the front edge
// and clear of ties, zip ends and the back centre where it can be.
func (m *maker) awkwardness(s float64, busy []float64) float64 {
	clear := m.params.JoinClear
	near := func(at, within float64) bool { return math.Abs(m.seam.signed(s-at)) < within }
	p := m.seam.point(s)
	b := m.seam.box
	forward := (b.Max.Y - p.Y) / b.Height()
	cost := forward * forward
	if near(m.front, clear) {
		cost += forbidden
	}
	for _, c := range m.corners {
		if near(c.s, clear) {
			cost += forbidden
		}
	}
	for _, bend := range m.bends {
		if s := m.seam.wrap(s); s > bend.from-clear/2 && s < bend.to+clear/2 {
			cost += forbidden
		}
	}
	if e := m.seam.edge[m.seam.spot(s).Piece]; e >= 0 && m.isFront(e) {
		cost += 5
	}
	for _, at := range busy {
		if near(at, clear) {
			cost += 3
		}
	}
	return cost
}

// isFront reports whether the edge is the front. Where one edge runs all round, it
// is not.
func (m *maker) isFront(edge int) bool {
	return m.hasBack && m.shape.Edges[edge].Name == shape.FrontEdge
}

// busy returns the arc lengths where other things already meet.
func (m *maker) busy() []float64 {
	all := []float64{0, m.pad.Opening.From, m.pad.Opening.To}
	return append(all, m.pad.Ties.At...)
}
