package detect

import (
	"cmp"
	"math"
	"slices"

	"fairedge/internal/card"
)

// lattice is a set of candidate marks with whole-number coordinates that follow
// a chessboard in the photo. Seen in the photo i and j turn the same way round as
// on a card that is not mirrored (j is to the left of i, with y of the photo
// turned over), and cell (i, j), between marks (i, j) and (i+1, j+1), is dark when
// i+j is odd.
type lattice struct {
	nodes []node
	at    map[card.Lattice]int // look-up only, never ranged over
}

type node struct {
	place  card.Lattice
	corner int
	x, y   float64 // level px
}

// latticeFinder grows lattices from the candidates of one level.
type latticeFinder struct {
	index   *cornerIndex
	corners []corner
	taken   []bool
	params  CardParams
}

// Limits of the search for the first neighbours, level px: cells under
// minSpacing cannot be resolved, those over maxSpacing are found on a coarser level.
const (
	minSpacing = 4.0
	maxSpacing = 120.0
)

// latticesOf returns the lattices of at least minNodes marks, grown from the corners
// in the given order.
func latticesOf(corners []corner, order []int, width, height, minNodes int, params CardParams) []lattice {
	f := latticeFinder{newCornerIndex(corners, width, height), corners, make([]bool, len(corners)), params}
	var found []lattice
	for _, k := range order {
		if f.taken[k] {
			continue
		}
		l, ok := f.seed(k)
		if !ok {
			continue
		}
		f.grow(&l)
		if len(l.nodes) < minNodes {
			f.release(l)
			continue
		}
		found = append(found, l)
	}
	return found
}

// byContrast returns the corners' indices, strongest first. Sharp marks have more
// contrast than what surrounds them (texture, the bridges between a dot and its
// cell's border): a lattice that starts at clutter takes marks away from the card's
// own.
func byContrast(corners []corner) []int {
	order := make([]int, len(corners))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(corners[b].contrast, corners[a].contrast) })
	return order
}

// asRead returns the corners' indices in reading order: where blur lends contrast to
// the wrong marks a card holds together better when grown from its border.
func asRead(corners []corner) []int {
	order := make([]int, len(corners))
	for k := range order {
		order[k] = k
	}
	return order
}

// release gives the marks of a lattice back.
func (f *latticeFinder) release(l lattice) {
	for _, n := range l.nodes {
		f.taken[n.corner] = false
	}
}

// isNeighbour reports whether corner k may be the next mark after from: the two
// lines run the same way with their roles exchanged.
func (f *latticeFinder) isNeighbour(from, k int) bool {
	a, b := &f.corners[from], &f.corners[k]
	return !f.taken[k] && k != from && f.sameLine(a.u, b.v) && f.sameLine(a.v, b.u)
}

// isDiagonal reports whether corner k may lie across a cell from corner from.
func (f *latticeFinder) isDiagonal(from, k int) bool {
	a, b := &f.corners[from], &f.corners[k]
	return !f.taken[k] && k != from && f.sameLine(a.u, b.u) && f.sameLine(a.v, b.v)
}

func (f *latticeFinder) sameLine(a, b float64) bool {
	return math.Abs(math.Remainder(a-b, math.Pi)) < f.params.MaxTurn
}

// seed finds a whole cell at corner k: neighbours along both lines and the
// corner across. Lattice i runs along u, j against v: seen with y down, v lies to
// the right of u (rising angle), so -v lies to its left. The sector between u and
// -v comes before u, which turns light to dark, so it is light: cell (0, 0) is light.
func (f *latticeFinder) seed(k int) (lattice, bool) {
	c := f.corners[k]
	for _, turn := range [2]float64{0, math.Pi} {
		a := f.along(k, c.u+turn)
		b := f.along(k, c.v+math.Pi+turn)
		if a < 0 || b < 0 {
			continue
		}
		ca, cb := f.corners[a], f.corners[b]
		x, y := ca.x+cb.x-c.x, ca.y+cb.y-c.y
		reach := f.reach(math.Hypot(ca.x-c.x, ca.y-c.y), math.Hypot(cb.x-c.x, cb.y-c.y))
		d := f.index.nearest(x, y, reach, func(q int) bool { return f.isDiagonal(k, q) && q != a && q != b })
		if d < 0 {
			continue
		}
		l := lattice{at: map[card.Lattice]int{}}
		f.add(&l, card.Lattice{I: 0, J: 0}, k)
		f.add(&l, card.Lattice{I: 1, J: 0}, a)
		f.add(&l, card.Lattice{I: 0, J: 1}, b)
		f.add(&l, card.Lattice{I: 1, J: 1}, d)
		return l, true
	}
	return lattice{}, false
}

// reach returns how far from its prediction a mark is sought, level px.
func (f *latticeFinder) reach(a, b float64) float64 {
	return f.params.LatticeSlack*math.Min(a, b) + 1
}

// along returns the nearest possible neighbour of corner k in a direction.
func (f *latticeFinder) along(k int, angle float64) int {
	const cone = 0.2 // tangent of the half angle searched
	c := f.corners[k]
	sin, cos := math.Sincos(angle)
	for _, reach := range [3]float64{30, 60, maxSpacing} {
		found := f.index.nearest(c.x, c.y, reach, func(q int) bool {
			dx, dy := f.corners[q].x-c.x, f.corners[q].y-c.y
			ahead, aside := dx*cos+dy*sin, math.Abs(dy*cos-dx*sin)
			return ahead > minSpacing && aside < cone*ahead+0.7 && f.isNeighbour(k, q)
		})
		if found >= 0 {
			return found
		}
	}
	return -1
}

func (f *latticeFinder) add(l *lattice, place card.Lattice, k int) {
	l.at[place] = len(l.nodes)
	l.nodes = append(l.nodes, node{place, k, f.corners[k].x, f.corners[k].y})
	f.taken[k] = true
}

// steps are the four neighbours of a mark.
var steps = [4]card.Lattice{{I: 1}, {J: 1}, {I: -1}, {J: -1}}

// grow adds neighbour after neighbour, nearest to the seed first.
func (f *latticeFinder) grow(l *lattice) {
	for next := 0; next < len(l.nodes); next++ {
		from := l.nodes[next]
		for _, step := range steps {
			place := card.Lattice{I: from.place.I + step.I, J: from.place.J + step.J}
			if _, known := l.at[place]; known {
				continue
			}
			x, y, size, ok := l.predict(from, step)
			if !ok {
				continue
			}
			k := f.index.nearest(x, y, f.reach(size, size), func(q int) bool { return f.isNeighbour(from.corner, q) })
			if k >= 0 {
				f.add(l, place, k)
			}
		}
	}
}

// predict returns where the mark one step from a node should lie and the length
// of the step: straight on if the mark behind is known, else parallel to the same
// step of a neighbour.
func (l *lattice) predict(from node, step card.Lattice) (x, y, size float64, ok bool) {
	if k, known := l.at[card.Lattice{I: from.place.I - step.I, J: from.place.J - step.J}]; known {
		back := l.nodes[k]
		dx, dy := from.x-back.x, from.y-back.y
		return from.x + dx, from.y + dy, math.Hypot(dx, dy), true
	}
	for _, side := range steps {
		if side.I*step.I+side.J*step.J != 0 {
			continue
		}
		beside := card.Lattice{I: from.place.I + side.I, J: from.place.J + side.J}
		a, knownA := l.at[beside]
		b, knownB := l.at[card.Lattice{I: beside.I + step.I, J: beside.J + step.J}]
		if knownA && knownB {
			dx, dy := l.nodes[b].x-l.nodes[a].x, l.nodes[b].y-l.nodes[a].y
			return from.x + dx, from.y + dy, math.Hypot(dx, dy), true
		}
	}
	return 0, 0, 0, false
}

// cellSize returns the median length of the lattice's steps, level px.
func (l *lattice) cellSize() float64 {
	var sizes []float64
	for _, n := range l.nodes {
		for _, step := range steps[:2] {
			if k, ok := l.at[card.Lattice{I: n.place.I + step.I, J: n.place.J + step.J}]; ok {
				sizes = append(sizes, math.Hypot(l.nodes[k].x-n.x, l.nodes[k].y-n.y))
			}
		}
	}
	return median(sizes)
}

// raggedness returns the median distance of a mark from the middle between its
// neighbours on both sides, in cells: a few hundredths on a chessboard, a tenth and
// more on lattices that grew in clutter.
func (l *lattice) raggedness() float64 {
	size := math.Max(l.cellSize(), 1)
	var off []float64
	for _, n := range l.nodes {
		for _, step := range steps[:2] {
			a, knownA := l.at[card.Lattice{I: n.place.I + step.I, J: n.place.J + step.J}]
			b, knownB := l.at[card.Lattice{I: n.place.I - step.I, J: n.place.J - step.J}]
			if knownA && knownB {
				x, y := (l.nodes[a].x+l.nodes[b].x)/2, (l.nodes[a].y+l.nodes[b].y)/2
				off = append(off, math.Hypot(n.x-x, n.y-y)/size)
			}
		}
	}
	return median(off)
}
