package curve

import (
	"errors"
	"math"
	"sort"

	"fairedge/internal/plane"
)

// resolve cuts the raw loop where it crosses itself and returns the borders of the
// places it winds round at least once: every stretch between two crossings that
// has winding number 1 or more on its left and 0 or less on its right.
//
// Because the raw loop is one closed curve, the winding number steps by exactly one
// across each stretch, and at each crossing as many borders arrive as leave:
// following them gives closed loops.
func (raw *rawOffset) resolve() ([]Border, error) {
	loop := ClosedPath(raw.pieces...)
	cuts := loop.cutsAtCrossings()
	if len(cuts) == 0 {
		return []Border{raw.startAtFirst(loop.segments, raw.sources)}, nil
	}
	stretches := raw.stretches(cuts)
	var kept []stretch
	for _, s := range stretches {
		if s.isBorder(loop) && !s.runsAlongOneOf(kept) {
			kept = append(kept, s)
		}
	}
	return raw.follow(kept)
}

// cut is a place on the raw loop where it crosses itself; both strands of one
// crossing have the same node.
type cut struct {
	piece, node int
	t           float64
	point       plane.Point
}

// nodeReach is the distance in mm within which crossings count as one node. Above
// the error of a crossing, below anything that shows.
const nodeReach = 2e-6

// cutsAtCrossings returns all crossings of the closed path with itself, in order
// along it, except the joints.
func (p Path) cutsAtCrossings() []cut {
	arcs := p.arcs()
	order := make([]int, len(arcs))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return arcs[order[i]].box.Min.X < arcs[order[j]].box.Min.X })
	var nodes nodeSet
	var cuts []cut
	var found []meeting
	for k, i := range order {
		for _, j := range order[k+1:] {
			if arcs[j].box.Min.X > arcs[i].box.Max.X {
				break // the boxes are in order of their left sides
			}
			found = meetings(found[:0], arcs[i], arcs[j])
			for _, m := range found {
				if sharedJoint(arcs[i], arcs[j], m.point) {
					continue
				}
				node := nodes.at(m.point)
				cuts = append(cuts,
					cut{arcs[i].piece, node, m.t, nodes.points[node]},
					cut{arcs[j].piece, node, m.u, nodes.points[node]})
			}
		}
	}
	sortCuts(cuts)
	return cuts
}

func sortCuts(cuts []cut) {
	sort.SliceStable(cuts, func(i, j int) bool {
		if cuts[i].piece != cuts[j].piece {
			return cuts[i].piece < cuts[j].piece
		}
		return cuts[i].t < cuts[j].t
	})
}

// nodeSet numbers points, those within nodeReach as one.
type nodeSet struct{ points []plane.Point }

func (n *nodeSet) at(q plane.Point) int {
	for i, p := range n.points {
		if p.DistanceTo(q) < nodeReach {
			return i
		}
	}
	n.points = append(n.points, q)
	return len(n.points) - 1
}

// stretch is a part of the raw loop between two cuts.
type stretch struct {
	pieces   []Segment
	sources  []int
	from, to int // nodes
	length   float64
}

// stretches divides the raw loop at the cuts, which must be in order.
func (raw *rawOffset) stretches(cuts []cut) []stretch {
	var out []stretch
	for i, c := range cuts {
		next := cuts[(i+1)%len(cuts)]
		s := raw.stretchBetween(c, next, i+1 == len(cuts))
		if s.from != s.to || s.length > 4*nodeReach {
			out = append(out, s)
		}
	}
	return out
}

func (raw *rawOffset) stretchBetween(a, b cut, wraps bool) stretch {
	s := stretch{from: a.node, to: b.node}
	if a.piece == b.piece && !wraps {
		s.add(raw.pieces[a.piece].between(a.t, b.t), raw.sources[a.piece])
	} else {
		n := len(raw.pieces)
		s.add(raw.pieces[a.piece].between(a.t, 1), raw.sources[a.piece])
		for k := (a.piece + 1) % n; k != b.piece; k = (k + 1) % n {
			s.add(raw.pieces[k], raw.sources[k])
		}
		s.add(raw.pieces[b.piece].between(0, b.t), raw.sources[b.piece])
	}
	s.pinEnds(a.point, b.point)
	return s
}

func (s *stretch) add(piece Segment, source int) {
	l := piece.controlLength()
	if l < nodeReach/2 {
		return
	}
	s.pieces = append(s.pieces, piece)
	s.sources = append(s.sources, source)
	s.length += l
}

// pinEnds moves the ends to the nodes, by less than nodeReach.
func (s *stretch) pinEnds(from, to plane.Point) {
	if len(s.pieces) == 0 {
		return
	}
	at := from
	for i := range s.pieces {
		s.pieces[i] = s.pieces[i].startingFrom(at)
		at = s.pieces[i].P3
	}
	last := len(s.pieces) - 1
	s.pieces[last] = s.pieces[last].Reversed().startingFrom(to).Reversed()
}

// between returns the part of the piece from parameter a to b.
func (s Segment) between(a, b float64) Segment {
	if a > 0 {
		_, s = s.Split(a)
		b = (b - a) / (1 - a)
	}
	if b < 1 {
		s, _ = s.Split(math.Max(b, 0))
	}
	return s
}

// sideStep is how far in mm to the side of a stretch its winding numbers are
// looked at: beyond rounding, and nearer than any neighbour that shows.
const sideStep = 1e-6

// isBorder reports whether the loop winds round the left side of the stretch and
// not round its right side.
func (s stretch) isBorder(loop Path) bool {
	if len(s.pieces) == 0 {
		return false
	}
	longest := 0
	for i, piece := range s.pieces {
		if piece.P0.DistanceSqTo(piece.P3) > s.pieces[longest].P0.DistanceSqTo(s.pieces[longest].P3) {
			longest = i
		}
	}
	piece := s.pieces[longest]
	step := math.Min(sideStep, piece.P0.DistanceTo(piece.P3)/50)
	// Not in the middle: there the sides of a symmetrical outline like to meet.
	const t = 0.4831
	mid, out := piece.At(t), piece.OutwardNormal(t)
	return loop.Winding(mid.Add(out.Scale(-step))) > 0 && loop.Winding(mid.Add(out.Scale(step))) <= 0
}

// runsAlongOneOf reports whether the stretch is a line that one of the others already
// follows: where two edges of the raw loop coincide, the border runs along one.
func (s stretch) runsAlongOneOf(others []stretch) bool {
	if len(s.pieces) != 1 || !s.pieces[0].Straight {
		return false
	}
	for _, o := range others {
		if o.from == s.from && o.to == s.to && len(o.pieces) == 1 && o.pieces[0].Straight {
			return true
		}
	}
	return false
}

var errTangled = errors.New("a border of the offset leads nowhere")

// follow strings the stretches together into closed loops. Where several leave a
// node it takes the leftmost, so that regions which touch in a point stay apart.
func (raw *rawOffset) follow(stretches []stretch) ([]Border, error) {
	used := make([]bool, len(stretches))
	var loops []Border
	for i := range stretches {
		if used[i] {
			continue
		}
		var pieces []Segment
		var sources []int
		for k := i; ; {
			used[k] = true
			pieces = append(pieces, stretches[k].pieces...)
			sources = append(sources, stretches[k].sources...)
			if stretches[k].to == stretches[i].from {
				break
			}
			if k = leftmost(stretches, used, k); k < 0 {
				return nil, errTangled
			}
		}
		loops = append(loops, raw.startAtFirst(pieces, sources))
	}
	return loops, nil
}

// leftmost returns the unused stretch that leaves the node where stretch k ends and
// turns most to the left, or -1.
func leftmost(stretches []stretch, used []bool, k int) int {
	best, bestTurn := -1, math.Inf(-1)
	last := stretches[k].pieces[len(stretches[k].pieces)-1]
	for i, s := range stretches {
		if used[i] || s.from != stretches[k].to {
			continue
		}
		if turn := last.Tangent(1).AngleTo(s.pieces[0].Tangent(0)); turn > bestTurn {
			best, bestTurn = i, turn
		}
	}
	return best
}

// startAtFirst returns the closed path along the pieces, turned so that it starts
// with the piece of the lowest source.
func (raw *rawOffset) startAtFirst(pieces []Segment, sources []int) Border {
	pieces, sources = withoutCusps(pieces, sources, raw.tolerance)
	n, first := len(pieces), 0
	rank := func(i int) int {
		if sources[i] < 0 {
			return math.MaxInt
		}
		return sources[i]
	}
	for i := range pieces {
		before := (i + n - 1) % n
		if rank(i) < rank(first) || rank(i) == rank(first) && sources[before] != sources[i] && sources[(first+n-1)%n] == sources[first] {
			first = i
		}
	}
	ordered := append(append([]int(nil), sources[first:]...), sources[:first]...)
	return Border{ClosedPath(pieces...).StartingAt(first), ordered}
}
