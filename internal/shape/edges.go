package shape

import (
	"math"
	"slices"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// minStraight is the length in millimetres from which a straight piece counts as
// an edge of its own. Shorter ones are the facets of a notch or a flat spot in a
// curve; the shortest real edge of a seat (the side of a post notch) is about
// 30 mm but lies between two corners, which part edges anyway. Common practice.
const minStraight = 40.0

// arcTolerance is the accuracy asked of arc lengths, in millimetres: a hundredth
// of what is printed.
const arcTolerance = 1e-3

// roundedCorner bounds a piece that turns the outline from one edge into the next:
// at least so many radians (30 degrees) on a radius of at most so many millimetres.
// Front corners of seats have radii of 15 to 80 mm; a round stool has 150 or more.
// Common practice.
var roundedCorner = struct{ turn, radius float64 }{math.Pi / 6, 100}

// isRoundedCorner reports whether a piece is one.
func isRoundedCorner(s curve.Segment) bool {
	turn := math.Abs(s.Turn())
	return turn >= roundedCorner.turn && s.ArcLength(arcTolerance) <= roundedCorner.radius*turn
}

// splitEdges parts the outline at its corners and at both ends of each long
// straight piece and of each rounded corner.
func splitEdges(net curve.Path, corners []int) []Edge {
	starts := edgeStarts(net, corners)
	if len(starts) == 0 {
		starts = []int{0}
	}
	edges := make([]Edge, len(starts))
	for i, first := range starts {
		next := starts[(i+1)%len(starts)]
		count := (next - first + net.Len()) % net.Len()
		if count == 0 {
			count = net.Len()
		}
		edges[i] = newEdge(net, first, count)
	}
	return edges
}

func edgeStarts(net curve.Path, corners []int) []int {
	starts := slices.Clone(corners)
	for i := range net.Len() {
		s := net.Segment(i)
		if s.Straight && s.P0.DistanceTo(s.P3) >= minStraight || isRoundedCorner(s) {
			starts = append(starts, i, (i+1)%net.Len())
		}
	}
	slices.Sort(starts)
	return slices.Compact(starts)
}

func newEdge(net curve.Path, first, count int) Edge {
	e := Edge{First: first, Count: count, Straight: count == 1 && net.Segment(first).Straight}
	for k := range count {
		s := net.Segment((first + k) % net.Len())
		e.Length += length.Length(s.ArcLength(arcTolerance)) * length.Millimetre
	}
	return e
}

// ends returns where the edge starts and ends.
func (e Edge) ends(net curve.Path) (from, to plane.Point) {
	last := (e.First + e.Count - 1) % net.Len()
	return net.Segment(e.First).P0, net.Segment(last).P3
}

// isFlat reports whether the edge is straight or a hand's width from it: it leaves
// its chord by no more than a fiftieth of its length. A back traced against a
// chair's rail wavers and bows by less; the bowed front of a seat by more. Common
// practice.
func (e Edge) isFlat(net curve.Path) bool {
	return e.Length.Millimetres() >= minStraight && !e.isRound(net) && e.bow(net) <= e.Length.Millimetres()/50
}

// bow returns the greatest distance of the edge from its chord, mm.
func (e Edge) bow(net curve.Path) float64 {
	from, to := e.ends(net)
	square := to.Sub(from).Unit().TurnLeft()
	var worst float64
	for k := range e.Count {
		s := net.Segment((e.First + k) % net.Len())
		for i := range bowPoints {
			worst = math.Max(worst, math.Abs(square.Dot(s.At((float64(i)+0.5)/bowPoints).Sub(from))))
		}
	}
	return worst
}

// bowPoints is how many places of each piece are looked at.
const bowPoints = 16

// middle returns the point half-way along the edge.
func (e Edge) middle(net curve.Path) plane.Point {
	rest := e.Length.Millimetres() / 2
	for k := range e.Count {
		s := net.Segment((e.First + k) % net.Len())
		l := s.ArcLength(arcTolerance)
		if rest <= l {
			return s.At(s.AtLength(rest, arcTolerance))
		}
		rest -= l
	}
	_, to := e.ends(net)
	return to
}

// isRound reports whether the edge is the whole outline, without ends.
func (e Edge) isRound(net curve.Path) bool { return e.Count == net.Len() }

// outward returns the direction that the edge faces: square to its chord. A round
// edge faces every way; +y stands for it.
func (e Edge) outward(net curve.Path) plane.Vec {
	if e.isRound(net) {
		return plane.Vec{Y: 1}
	}
	from, to := e.ends(net)
	return to.Sub(from).TurnRight().Unit()
}

// nameEdges gives the longest edge that faces each way its name. net is in the
// seat frame; the back is known already and keeps its name whatever its length.
func nameEdges(net curve.Path, edges []Edge, back int) {
	longest := map[Name]int{}
	for i, e := range edges {
		name := facing(e.outward(net))
		if i == back || name == BackEdge {
			continue
		}
		if j, taken := longest[name]; !taken || e.Length > edges[j].Length {
			longest[name] = i
		}
	}
	edges[back].Name = BackEdge
	for _, name := range []Name{FrontEdge, LeftEdge, RightEdge} {
		if i, found := longest[name]; found {
			edges[i].Name = name
		}
	}
}

func facing(outward plane.Vec) Name {
	switch {
	case math.Abs(outward.Y) >= math.Abs(outward.X) && outward.Y > 0:
		return BackEdge
	case math.Abs(outward.Y) >= math.Abs(outward.X):
		return FrontEdge
	case outward.X < 0:
		return LeftEdge
	}
	return RightEdge
}
