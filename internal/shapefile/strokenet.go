package shapefile

import (
	"math"
	"slices"
	"sort"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// strokeNet is open strokes as the edges of a plane graph whose nodes are the places
// where their ends meet. Half-edge 2k runs along stroke k, 2k+1 against it.
type strokeNet struct {
	strokes []stroke
	node    []int   // node at the start of each half-edge
	leaving [][]int // half-edges at each node, counter-clockwise
	dead    []bool  // strokes that lead nowhere
}

// newStrokeNet joins ends that lie within reach (mm) of each other. A stroke drawn twice
// counts once.
func newStrokeNet(strokes []stroke, reach float64) *strokeNet {
	n := &strokeNet{strokes: strokes, dead: make([]bool, len(strokes))}
	n.findNodes(reach)
	n.dropRepeats(reach)
	n.leaving = make([][]int, len(n.node))
	angles := make([]float64, len(n.node))
	for h, at := range n.node {
		if !n.dead[h/2] {
			n.leaving[at] = append(n.leaving[at], h)
			angles[h] = n.angle(h, reach)
		}
	}
	for _, at := range n.leaving {
		sort.SliceStable(at, func(i, k int) bool { return angles[at[i]] < angles[at[k]] })
	}
	return n
}

func (n *strokeNet) along(h int) stroke {
	if h%2 == 1 {
		return n.strokes[h/2].reversed()
	}
	return n.strokes[h/2]
}

// findNodes gives ends within reach the same node, by union-find over ends sorted by x.
func (n *strokeNet) findNodes(reach float64) {
	ends := make([]plane.Point, 2*len(n.strokes))
	order := make([]int, len(ends))
	n.node = make([]int, len(ends))
	for k, s := range n.strokes {
		ends[2*k], ends[2*k+1] = s.start(), s.end()
	}
	for i := range order {
		order[i], n.node[i] = i, i
	}
	sort.SliceStable(order, func(i, k int) bool { return ends[order[i]].X < ends[order[k]].X })
	for i, a := range order {
		for _, b := range order[i+1:] {
			if ends[b].X-ends[a].X > reach {
				break
			}
			if ends[a].DistanceTo(ends[b]) <= reach {
				n.node[n.root(a)] = n.root(b)
			}
		}
	}
	for i := range n.node {
		n.node[i] = n.root(i)
	}
}

func (n *strokeNet) root(i int) int {
	for n.node[i] != i {
		n.node[i] = n.node[n.node[i]]
		i = n.node[i]
	}
	return i
}

// dropRepeats kills strokes that run between the same nodes as an earlier one through the
// same middle.
func (n *strokeNet) dropRepeats(reach float64) {
	middles := map[[2]int][]plane.Point{}
	for k := range n.strokes {
		a, b := n.node[2*k], n.node[2*k+1]
		key, middle := [2]int{min(a, b), max(a, b)}, n.middle(k)
		n.dead[k] = slices.ContainsFunc(middles[key], func(p plane.Point) bool { return p.DistanceTo(middle) <= reach })
		if !n.dead[k] {
			middles[key] = append(middles[key], middle)
		}
	}
}

func (n *strokeNet) middle(k int) plane.Point {
	p := curve.OpenPath(n.strokes[k].segments...)
	return p.AtLength(p.ArcLength(1e-3)/2, 1e-3).Point
}

// angle returns the direction in which the half-edge leaves its node, looked at from
// beyond the reach, within which ends were moved together.
func (n *strokeNet) angle(h int, reach float64) float64 {
	s := n.along(h)
	p := curve.OpenPath(s.segments...)
	look := math.Min(math.Max(1, 3*reach), p.ArcLength(1e-3)/2)
	return p.AtLength(look, 1e-3).Point.Sub(s.start()).Angle()
}

// prune kills strokes with a loose end, and those that only lead to such.
func (n *strokeNet) prune() {
	var queue []int
	for at := range n.leaving {
		queue = append(queue, at)
	}
	for len(queue) > 0 {
		at := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		if len(n.leaving[at]) != 1 {
			continue
		}
		h := n.leaving[at][0]
		other := n.node[h^1]
		n.dead[h/2] = true
		n.leaving[at] = nil
		n.leaving[other] = slices.DeleteFunc(n.leaving[other], func(g int) bool { return g == h^1 })
		queue = append(queue, other)
	}
}

// next returns the half-edge that follows h round the face on its left: the one clockwise
// next to the way back.
func (n *strokeNet) next(h int) int {
	at := n.leaving[n.node[h^1]]
	i := slices.Index(at, h^1)
	return at[(i+len(at)-1)%len(at)]
}

// borders returns the outer border of each part of the net, and its inner faces if there
// is more than one; used counts the strokes in them.
func (n *strokeNet) borders() (found []outline, used int) {
	seen := make([]bool, len(n.node))
	outer, inner := []outline{}, []outline{}
	for h := range n.node {
		if seen[h] || n.dead[h/2] {
			continue
		}
		var segments []curve.Segment
		name := n.strokes[h/2].name
		for g := h; !seen[g]; g = n.next(g) {
			seen[g] = true
			segments = append(segments, n.along(g).segments...)
		}
		face := outline{name, joinedUp(segments)}
		if face.path.SignedArea() < 0 {
			face.path = face.path.Reversed()
			outer = append(outer, face)
		} else {
			inner = append(inner, face)
		}
	}
	for _, dead := range n.dead {
		if !dead {
			used++
		}
	}
	if len(inner) > len(outer) {
		outer = append(outer, inner...)
	}
	return outer, used
}
