package curve

import (
	"math"
	"sort"

	"fairedge/internal/plane"
)

// fitPiece is one piece of the first cut: a stretch of arc length, unrolled.
type fitPiece struct {
	s0, s1 float64
	line   bool
	iv     fitInterval
}

// fitSpan is a stretch between two corners, or the whole round without any, with
// its nodes and the cost of a piece from node i over k nodes.
type fitSpan struct {
	nodes  []float64 // unrolled arc length, both ends included
	closed bool
	data   [][]fitDatum    // level k: means of 2^k blocks
	cost   [][]fitInterval // [i][k-1]
}

// cutIntoPieces cuts the outline into stretches that a line or a cubic can
// follow. Between corners the cheapest cut is found by dynamic programming
// (Perez and Vidal, Optimum polygonal approximation of digitized curves, 1994,
// for polygons) for a series of noise levels; the level whose cut describes the
// samples shortest, its noise included, wins.
func (tr *fitTrace) cutIntoPieces(params FitParams) ([]fitPiece, fitNoise) {
	if params.Resolution > 0 {
		return tr.coarsestCut(params)
	}
	hopeless := params.Block * params.Block
	spans := tr.spans(params)
	for i := range spans {
		spans[i].measure(tr, hopeless, params)
	}
	best := math.Inf(1)
	var cut []fitPiece
	var noise fitNoise
	var coarse [][]fitPiece
	last, worse := -1, 0
	for sigma := 0.5 * params.Block; sigma > 0.004*params.Block && worse < 3; sigma /= 1.5 {
		var pieces []fitPiece
		for _, sp := range spans {
			pieces = append(pieces, sp.cheapest(sigma*sigma, tr, params)...)
		}
		if len(pieces) == last {
			continue
		}
		if len(pieces) > params.MaxPieces && cut != nil {
			break
		}
		last = len(pieces)
		worse++
		score, n := tr.describeCut(pieces, params)
		if len(coarse) < fitCoarseCuts && (n.correlated > 0.3 || len(coarse) > 0) {
			coarse = append(coarse, pieces)
		}
		if score < best {
			best, cut, noise, worse = score, pieces, n, 0
		}
	}
	if len(coarse) > 0 {
		if len(cut) <= 2*len(coarse[0])+fitCoarseCuts {
			coarse = append(coarse, cut)
		}
		cut, noise = tr.bestJoined(coarse, noise, params)
	}
	return cut, noise
}

// fitCoarseCuts is how many of the coarsest cuts are weighed again when the noise
// seems correlated.
const fitCoarseCuts = 4

// bestJoined weighs cuts by the chains that they become. The pieces of a cut are
// free of one another and jump where they meet; on smooth wobble those jumps look
// like white noise, and the coarse cuts seem worse than they are.
func (tr *fitTrace) bestJoined(cuts [][]fitPiece, noise fitNoise, params FitParams) ([]fitPiece, fitNoise) {
	f := fitSelector{tr: tr, params: params, noise: noise}
	best, which := math.Inf(1), cuts[0]
	robust := make([]float64, len(tr.blocks))
	for k := range robust {
		robust[k] = 1
	}
	for _, cut := range cuts {
		s := f.solved(newFitChain(tr, cut, params), robust, 10)
		if s.score < best && f.sound(s.st) {
			best, which = s.score, cut
			_, noise = f.describe(s.st)
		}
	}
	return which, noise
}

// rayOf returns the total least squares line through the data.
func rayOf(data []fitDatum) fitRay {
	var w, x, y float64
	if len(data) == 0 {
		return fitRay{}
	}
	for _, d := range data {
		w += d.w
		x += d.w * d.at.X
		y += d.w * d.at.Y
	}
	m := plane.Point{X: x / w, Y: y / w}
	var xx, xy, yy float64
	for _, d := range data {
		v := d.at.Sub(m)
		xx += d.w * v.X * v.X
		xy += d.w * v.X * v.Y
		yy += d.w * v.Y * v.Y
	}
	sin, cos := math.Sincos(0.5 * math.Atan2(2*xy, xx-yy))
	u := plane.Vec{X: cos, Y: sin}
	if u.Dot(data[len(data)-1].at.Sub(data[0].at)) < 0 {
		u = u.Neg()
	}
	return fitRay{m, u, w}
}

// dataBetween returns the usable blocks with arc length in [a, b).
func (tr *fitTrace) dataBetween(a, b float64) []fitDatum {
	n := len(tr.blocks)
	out := make([]fitDatum, 0, int((b-a)/tr.h)+2)
	for k := int(math.Floor(a/tr.h)) - 1; k <= int(math.Ceil(b/tr.h))+1; k++ {
		i := ((k % n) + n) % n
		blk := tr.blocks[i]
		if blk.masked || blk.weight == 0 {
			continue
		}
		s := blk.s + float64((k-i)/n)*tr.length
		if s < a || s >= b {
			continue
		}
		out = append(out, fitDatum{at: blk.at, s: s, w: blk.weight, normal: tr.normal[i]})
	}
	return out
}

// fitThinTo is the number of points that one interval's cost is measured on, at
// most twice it: enough for the six numbers of a quintic.
const fitThinTo = 32

func (tr *fitTrace) spans(params FitParams) []fitSpan {
	if len(tr.corners) == 0 {
		return []fitSpan{tr.newSpan(0, tr.length, true, params)}
	}
	var out []fitSpan
	for i, c := range tr.corners {
		end := tr.corners[(i+1)%len(tr.corners)].s
		if i == len(tr.corners)-1 {
			end += tr.length
		}
		out = append(out, tr.newSpan(c.s, end, false, params))
	}
	return out
}

// newSpan lays nodes so that each step is at most NodeStep long and turns at
// most NodeTurn: equal shares of the integral of their density, which does not
// care for the direction of travel.
func (tr *fitTrace) newSpan(s0, s1 float64, closed bool, params FitParams) fitSpan {
	data := tr.dataBetween(s0, s1)
	sp := fitSpan{closed: closed, data: [][]fitDatum{data}}
	for len(data) > fitThinTo {
		data = halved(data)
		sp.data = append(sp.data, data)
	}
	steps := max(int((s1-s0)/tr.h), 1)
	ds := (s1 - s0) / float64(steps)
	sums := make([]float64, steps+1)
	for i := range steps {
		s := s0 + (float64(i)+0.5)*ds
		turn, _ := tr.sums.turnAt(s, 0, params.CornerWindow)
		bend := math.Abs(turn) / params.CornerWindow / params.NodeTurn
		if math.Abs(turn) < params.NodeTurn || nearEnd(s, s0, s1, closed, 2*params.CornerWindow) {
			bend = 0
		}
		sums[i+1] = sums[i] + ds*math.Min(math.Max(1/params.NodeStep, bend), 0.5/tr.h)
	}
	count := max(int(math.Round(sums[steps])), 1)
	sp.nodes = append(sp.nodes, s0)
	for k, i := 1, 0; k < count; k++ {
		want := sums[steps] * float64(k) / float64(count)
		for sums[i+1] < want {
			i++
		}
		sp.nodes = append(sp.nodes, s0+ds*(float64(i)+(want-sums[i])/(sums[i+1]-sums[i])))
	}
	sp.nodes = append(sp.nodes, s1)
	return sp
}

func nearEnd(s, s0, s1 float64, closed bool, reach float64) bool {
	return !closed && (s-s0 < reach || s1-s < reach)
}

// measure fills the cost table. From each node pieces grow until both a line and
// a cubic are hopeless, mm² mean square, at any noise level, or turn too far.
func (sp *fitSpan) measure(tr *fitTrace, hopeless float64, params FitParams) {
	m := len(sp.nodes) - 1
	sp.cost = make([][]fitInterval, m)
	inTwo(m, func(i int) { sp.cost[i] = sp.growFrom(i, tr, hopeless, params) })
}

// growFrom returns the costs of the pieces from node i on.
func (sp *fitSpan) growFrom(i int, tr *fitTrace, hopeless float64, params FitParams) []fitInterval {
	m := len(sp.nodes) - 1
	length := sp.nodes[m] - sp.nodes[0]
	limit := m - i
	if sp.closed {
		limit = m * 2 / 3
	}
	var costs []fitInterval
	bad := 0
	for k := 1; k <= limit && bad < 2; k++ {
		a, b := sp.node(i, length), sp.node(i+k, length)
		iv := measureInterval(sp.between(a, b, length), a, b, hopeless)
		costs = append(costs, iv)
		perBlock := math.Min(iv.lineRSS, iv.cubicRSS) * tr.h / iv.length
		if iv.blocks >= 4 && (perBlock > hopeless || math.Abs(iv.turn) > 1.2*params.PieceTurn) {
			bad++
		}
	}
	return costs
}

// inTwo calls f(0) to f(n-1), two at a time; f writes to its own place only, so that
// the result does not depend on which comes first.
func inTwo(n int, f func(i int)) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		for i := 1; i < n; i += 2 {
			f(i)
		}
	}()
	for i := 0; i < n; i += 2 {
		f(i)
	}
	<-done
}

// node returns the arc length of node i, counted on round a closed span.
func (sp *fitSpan) node(i int, length float64) float64 {
	m := len(sp.nodes) - 1
	if i <= m {
		return sp.nodes[i]
	}
	return sp.nodes[i-m] + length
}

// between returns the data with arc length in [a, b), neighbours averaged where
// there are many.
func (sp *fitSpan) between(a, b, length float64) []fitDatum {
	level := 0
	expect := float64(len(sp.data[0])) * (b - a) / length
	for expect > 2*fitThinTo && level+1 < len(sp.data) {
		expect /= 2
		level++
	}
	data := sp.data[level]
	lo := searchArc(data, a)
	if b <= sp.nodes[len(sp.nodes)-1] {
		return data[lo:searchArc(data, b)]
	}
	out := append([]fitDatum(nil), data[lo:]...)
	for _, d := range data[:searchArc(data, b-length)] {
		d.s += length
		out = append(out, d)
	}
	return out
}

// searchArc returns the first of the data with arc length s or more.
func searchArc(data []fitDatum, s float64) int {
	return sort.Search(len(data), func(i int) bool { return data[i].s >= s })
}

// cheapest returns the best cut at block variance v. A closed span is cut twice:
// first open at its start, then open at the joint farthest from there.
func (sp *fitSpan) cheapest(v float64, tr *fitTrace, params FitParams) []fitPiece {
	m := len(sp.nodes) - 1
	cut := sp.shortest(0, m, v, tr, params)
	if !sp.closed {
		return cut.pieces
	}
	mid, far := 0, -1
	for _, j := range cut.joints[1 : len(cut.joints)-1] {
		if d := min(j, m-j); d > far {
			mid, far = j, d
		}
	}
	return sp.shortest(mid, m, v, tr, params).pieces
}

type fitCut struct {
	pieces []fitPiece
	joints []int
}

// lastResort is the cost of a line from one node to the next where neither a line nor
// a cubic will do: more than any sensible cut's.
const lastResort = 1e6

// shortest runs the dynamic programme over m nodes from node first.
func (sp *fitSpan) shortest(first, m int, v float64, tr *fitTrace, params FitParams) fitCut {
	length := sp.nodes[len(sp.nodes)-1] - sp.nodes[0]
	total := make([]float64, m+1)
	from := make([]int, m+1)
	line := make([]bool, m+1)
	for j := 1; j <= m; j++ {
		total[j] = math.Inf(1)
	}
	price := tr.price(params)
	for i := 0; i < m; i++ {
		row := sp.cost[(first+i)%m]
		for k := 1; k <= len(row) && i+k <= m; k++ {
			c, isLine := pieceCost(row[k-1], v, tr.h, price, k == m && !sp.closed, params)
			if k == 1 && !(c < lastResort) {
				c, isLine = lastResort, true // or there may be no way round at all
			}
			if total[i]+c < total[i+k] {
				total[i+k], from[i+k], line[i+k] = total[i]+c, i, isLine
			}
		}
	}
	var cut fitCut
	for j := m; j > 0; j = from[j] {
		i := from[j]
		a, b := sp.node(first+i, length), sp.node(first+j, length)
		cut.pieces = append([]fitPiece{{a, b, line[j], sp.cost[(first+i)%m][j-i-1]}}, cut.pieces...)
		cut.joints = append([]int{j}, cut.joints...)
	}
	cut.joints = append([]int{0}, cut.joints...)
	return cut
}

// pieceCost returns the description length of one piece, and whether it is a
// line. A line between two corners has only to be the cheaper one; beside a
// smooth joint its curvature must be proven small, for a least squares line of
// length L the curvature's standard deviation is sqrt(720 v h / L) / L².
func pieceCost(iv fitInterval, v, h, price float64, whole bool, params FitParams) (float64, bool) {
	lineCost, cubicCost := iv.lineRSS/v+2*price, iv.cubicRSS/v+5*price
	if math.Abs(iv.turn) > params.PieceTurn {
		cubicCost = math.Inf(1)
	}
	if iv.blocks < 4 {
		cubicCost = 5 * price // three points or fewer: a small fillet between lines
	}
	proven := math.Abs(iv.curvature)+2*math.Sqrt(720*v*h/iv.length)/(iv.length*iv.length) < 1/params.LineRadius
	if !whole && iv.length < params.LineSure && (!proven || iv.length < params.LineLength) {
		lineCost = math.Inf(1)
	}
	if iv.blocks == 0 {
		lineCost, cubicCost = 3*price, math.Inf(1)
	}
	return math.Min(lineCost, cubicCost), lineCost < cubicCost
}
