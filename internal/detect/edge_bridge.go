package detect

import (
	"math"
	"slices"
	"sort"
)

// strokeEnd is a free end of a thinned stroke.
type strokeEnd struct {
	k      int     // pixel
	x, y   float64 // its place in view pixels
	dx, dy float64 // unit direction outward, as the stroke would go on
	trail  []int   // pixels from the end inward
}

// trace walks from a free end inward for at most limit pixels, to the first
// junction or other end. forked reports that it met a junction.
func (g *grid) trace(start, limit int) (trail []int, forked bool) {
	trail = []int{start}
	prev, k := -1, start
	for len(trail) < limit {
		next, n := g.onward(prev, k)
		if n == 0 {
			return trail, false
		}
		if n > 1 {
			return trail, true
		}
		prev, k = k, next
		trail = append(trail, k)
	}
	return trail, false
}

// onward returns the next pixel along a thin stroke that came from prev to k,
// and how many separate ways lead on. A way's two touching pixels count as one.
func (g *grid) onward(prev, k int) (next, ways int) {
	around := g.around()
	var open [8]bool
	for i, d := range around {
		q := k + d
		open[i] = g.pix[q] != 0 && q != prev && (prev < 0 || !g.touch(prev, q))
	}
	next = -1
	for i, d := range around {
		if !open[i] || (i%2 == 1 && (open[i-1] || open[(i+1)&7])) {
			continue // the straight neighbour beside a corner one stands for the same way
		}
		ways++
		if next < 0 {
			next = k + d
		}
	}
	return next, ways
}

func (g *grid) touch(a, b int) bool {
	dx, dy := a%g.w-b%g.w, a/g.w-b/g.w
	return dx >= -1 && dx <= 1 && dy >= -1 && dy <= 1
}

// freeEnds returns the ends of strokes in raster order.
func (g *grid) freeEnds() []int {
	var ends []int
	for _, k := range g.set() {
		code := g.code(int(k))
		if n := countBits(code); n == 1 || (n == 2 && crossings(code) == 1) {
			ends = append(ends, int(k))
		}
	}
	return ends
}

// dropSpurs removes side strokes of at most length pixels, which thinning leaves
// on rough ink.
func (g *grid) dropSpurs(length int) {
	for _, k := range g.freeEnds() {
		if trail, forked := g.trace(k, length+1); forked && len(trail) <= length {
			for _, q := range trail {
				g.pix[q] = 0
			}
		}
	}
}

func (g *grid) strokeEnds(back int) []strokeEnd {
	var ends []strokeEnd
	for _, k := range g.freeEnds() {
		trail, _ := g.trace(k, back)
		if len(trail) < back/3 {
			continue
		}
		far := trail[len(trail)-1]
		e := strokeEnd{k: k, x: float64(k%g.w) + 0.5, y: float64(k/g.w) + 0.5, trail: trail}
		e.dx, e.dy = e.x-float64(far%g.w)-0.5, e.y-float64(far/g.w)-0.5
		if l := math.Hypot(e.dx, e.dy); l > 0 {
			e.dx, e.dy = e.dx/l, e.dy/l
			ends = append(ends, e)
		}
	}
	return ends
}

// gapBridge is a way across a gap between two stroke ends.
type gapBridge struct {
	a, b int // indexes into the ends
	cost float64
}

// bridge joins stroke ends across gaps of up to gap pixels where both strokes
// head for each other, nearest and straightest first, then ends that stop just
// short of another stroke. It draws into g and returns what it drew.
func (g *grid) bridge(gap, turn, near float64) *grid {
	drawn := newGrid(g.w, g.h)
	ends := g.strokeEnds(16)
	used := make([]bool, len(ends))
	for _, b := range candidateBridges(ends, gap, turn, near) {
		if used[b.a] || used[b.b] {
			continue
		}
		used[b.a], used[b.b] = true, true
		g.join(ends[b.a].k, ends[b.b].k, drawn)
	}
	for i, e := range ends {
		if used[i] {
			continue
		}
		if k := g.ahead(e, near); k >= 0 {
			g.join(e.k, k, drawn)
		}
	}
	return drawn
}

// candidateBridges returns the pairs of ends that head for each other, cheapest
// first. Ends are sorted into squares as wide as the longest gap, so that only
// neighbours are compared.
func candidateBridges(ends []strokeEnd, gap, turn, near float64) []gapBridge {
	var found []gapBridge
	squares := newEndIndex(ends, gap)
	for i, a := range ends {
		squares.later(i, func(j int) {
			if b, ok := bridgeOf(a, ends[j], gap, turn, near); ok {
				found = append(found, gapBridge{i, j, b})
			}
		})
	}
	sort.Slice(found, func(i, j int) bool {
		p, q := found[i], found[j]
		if p.cost != q.cost {
			return p.cost < q.cost
		}
		return p.a < q.a || (p.a == q.a && p.b < q.b)
	})
	return found
}

// bridgeOf returns the cost of a bridge between two ends, if they head for each
// other within a gap.
func bridgeOf(a, b strokeEnd, gap, turn, near float64) (cost float64, ok bool) {
	dx, dy := b.x-a.x, b.y-a.y
	ca, cb := dx*a.dx+dy*a.dy, -(dx*b.dx + dy*b.dy)
	d2 := dx*dx + dy*dy
	if d2 > gap*gap || d2 == 0 || ca <= 0 || cb <= 0 {
		return 0, false
	}
	d := math.Sqrt(d2)
	// Over a few pixels an end's direction says little, and a corner may be open.
	limit := turn
	if d < near {
		limit = turn + (math.Pi/2-turn)*(1-d/near)
	}
	ta, tb := math.Acos(clamp(ca/d, -1, 1)), math.Acos(clamp(cb/d, -1, 1))
	return d * (1 + ta + tb), ta < limit && tb < limit
}

// endIndex holds stroke ends by squares of a given side.
type endIndex struct {
	side    float64
	columns int
	ends    []strokeEnd
	members [][]int32 // by square, in order
}

func newEndIndex(ends []strokeEnd, side float64) *endIndex {
	x := &endIndex{side: math.Max(side, 8), ends: ends}
	right, low := 0.0, 0.0
	for _, e := range ends {
		right, low = math.Max(right, e.x), math.Max(low, e.y)
	}
	x.columns = int(right/x.side) + 1
	x.members = make([][]int32, x.columns*(int(low/x.side)+1))
	for i, e := range ends {
		s := int(e.y/x.side)*x.columns + int(e.x/x.side)
		x.members[s] = append(x.members[s], int32(i))
	}
	return x
}

// later visits the ends after end i in its square and those around.
func (x *endIndex) later(i int, visit func(j int)) {
	c, r := int(x.ends[i].x/x.side), int(x.ends[i].y/x.side)
	for y := max(0, r-1); y <= r+1 && y*x.columns < len(x.members); y++ {
		for q := max(0, c-1); q <= min(x.columns-1, c+1); q++ {
			for _, j := range x.members[y*x.columns+q] {
				if int(j) > i {
					visit(int(j))
				}
			}
		}
	}
}

func clamp(x, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, x)) }

// ahead returns the nearest stroke pixel within near pixels ahead of the end
// that is not part of the end's own stroke, or -1.
func (g *grid) ahead(e strokeEnd, near float64) int {
	best, bestD := -1, near*near
	n, ex, ey := int(near), e.k%g.w, e.k/g.w
	x0, x1 := max(1, ex-n), min(g.w-2, ex+n)
	for y := max(1, ey-n); y <= min(g.h-2, ey+n); y++ {
		row := g.pix[y*g.w:]
		for x := x0; x <= x1; x++ {
			if row[x] == 0 {
				continue
			}
			ox, oy := float64(x-ex), float64(y-ey)
			d := ox*ox + oy*oy
			if d < bestD && ox*e.dx+oy*e.dy >= 0.7*math.Sqrt(d) && !slices.Contains(e.trail, y*g.w+x) {
				best, bestD = y*g.w+x, d
			}
		}
	}
	return best
}

// join draws a straight stroke from pixel a to pixel b into g, and into drawn
// (unless nil) where g had nothing.
func (g *grid) join(a, b int, drawn *grid) {
	ax, ay, bx, by := a%g.w, a/g.w, b%g.w, b/g.w
	n := max(abs(bx-ax), abs(by-ay), 1)
	for i := 0; i <= n; i++ {
		x := ax + int(math.Round(float64((bx-ax)*i)/float64(n)))
		y := ay + int(math.Round(float64((by-ay)*i)/float64(n)))
		k := y*g.w + x
		if g.pix[k] == 0 && g.inner(k) {
			g.pix[k] = 1
			if drawn != nil {
				drawn.pix[k] = 1
			}
		}
	}
}

func abs(x int) int {
	if x < 0 {
		return -x
	}
	return x
}
