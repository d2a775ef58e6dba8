package pad

import (
	"math"
	"sort"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// circuit is a seam line that starts at the back centre, with its arc lengths and
// the edge of the seat that each of its pieces belongs to.
type circuit struct {
	path  curve.Path
	edge  []int     // index into Shape.Edges; -1 for a corner's own piece
	ends  []float64 // arc length to the end of each piece, mm
	total float64
	box   plane.Rect // bounds of the path
	tol   float64
}

// newCircuit cuts the path open at the spot nearest to the back centre.
func newCircuit(path curve.Path, edge []int, backCentre plane.Point, tol float64) circuit {
	spot, _ := path.Nearest(backCentre)
	c := circuit{tol: tol, box: path.Bounds()}
	c.path, c.edge = startingAt(path, edge, spot)
	for _, s := range c.path.Segments() {
		c.total += s.ArcLength(tol / float64(c.path.Len()))
		c.ends = append(c.ends, c.total)
	}
	return c
}

// startingAt splits the piece at the spot, if need be, and starts there.
func startingAt(path curve.Path, edge []int, spot curve.Spot) (curve.Path, []int) {
	const atJoint = 1e-9 // of the parameter: rounding
	n, i := path.Len(), spot.Piece
	switch {
	case spot.T <= atJoint:
	case spot.T >= 1-atJoint:
		i = (i + 1) % n
	default:
		before, after := path.Segment(i).Split(spot.T)
		segments := []curve.Segment{after}
		edges := []int{edge[i]}
		for k := 1; k < n; k++ {
			segments = append(segments, path.Segment((i+k)%n))
			edges = append(edges, edge[(i+k)%n])
		}
		return curve.ClosedPath(append(segments, before)...), append(edges, edge[i])
	}
	edges := append(append([]int{}, edge[i:]...), edge[:i]...)
	return path.StartingAt(i), edges
}

// wrap returns s in [0, total).
func (c circuit) wrap(s float64) float64 {
	s = math.Mod(s, c.total)
	if s < 0 {
		s += c.total
	}
	return s
}

// start returns the arc length at which piece i starts.
func (c circuit) start(i int) float64 {
	if i == 0 {
		return 0
	}
	return c.ends[i-1] // i may be one past the last piece
}

// spot returns the place at arc length s.
func (c circuit) spot(s float64) curve.Spot {
	s = c.wrap(s)
	i := min(sort.SearchFloat64s(c.ends, s), len(c.ends)-1)
	return c.path.Spot(i, c.path.Segment(i).AtLength(s-c.start(i), c.tol))
}

func (c circuit) point(s float64) plane.Point { return c.spot(s).Point }

// lengthTo returns the arc length of the spot of the seam nearest to the point.
func (c circuit) lengthTo(p plane.Point) float64 {
	spot, _ := c.path.Nearest(p)
	return c.start(spot.Piece) + c.path.Segment(spot.Piece).LengthBetween(0, spot.T, c.tol)
}

// signed returns s as the shorter way from the back centre: in (-half, half].
func (c circuit) signed(s float64) float64 {
	s = c.wrap(s)
	if s > c.total/2 {
		return s - c.total
	}
	return s
}

// atJoint is how near, in mm, an arc length must come to a joint to be it.
const atJoint = 1e-4

// outward returns the unit vector square to the seam at arc length s, out of the
// pad. At a corner it halves the angle, and half is half the angle there between
// the two sides on the outside, so that a point at distance d along it lies
// d sin(half) from both; elsewhere half is a right angle.
func (c circuit) outward(s float64) (out plane.Vec, half float64) {
	s = c.wrap(s)
	n := c.path.Len()
	for i := range n {
		gap := math.Abs(c.start(i) - s)
		if gap > atJoint && c.total-gap > atJoint {
			continue
		}
		before, after := c.path.Segment((i+n-1)%n).Tangent(1), c.path.Segment(i).Tangent(0)
		turn := before.AngleTo(after)
		if math.Abs(turn) < 1e-6 {
			return after.TurnRight(), math.Pi / 2
		}
		bisector := before.Unit().Add(after.Unit()).Unit().TurnRight()
		return bisector, math.Min(math.Pi/2, (math.Pi+turn)/2)
	}
	spot := c.spot(s)
	return c.path.Segment(spot.Piece).OutwardNormal(spot.T), math.Pi / 2
}

// corner is a place where the seam turns sharply.
type corner struct {
	s    float64 // arc length, mm
	turn float64 // radians, positive where the pad points outward
}

// corners returns the sharp corners in order.
func (c circuit) corners(sharperThan float64) []corner {
	var all []corner
	for _, i := range c.path.Corners(sharperThan) {
		all = append(all, corner{c.start(i), c.path.TurnAtJoint(i)})
	}
	return all
}

// stretch is an arc of the seam, from s to t with s <= t.
type stretch struct{ from, to float64 }

// tightBends returns the stretches where the seam turns a rounded corner.
func (c circuit) tightBends(radius, turn float64) []stretch {
	var all []stretch
	for i, s := range c.path.Segments() {
		l := c.ends[i] - c.start(i)
		if a := math.Abs(s.Turn()); a >= turn && l <= radius*a {
			all = append(all, stretch{c.start(i), c.ends[i]})
		}
	}
	return all
}

// backEnds returns the arc lengths of both ends of the edge through the back
// centre: left is positive, right is negative. Where the back runs into a rounded
// corner it ends in the middle of it, as a maker counts. ok is false where that edge
// runs all round.
func (c circuit) backEnds(back int, roundedCorner func(piece int) bool) (left, right float64, ok bool) {
	n := c.path.Len()
	i, j := 0, n // the first piece past the back on the left, and one past the last on the right
	for i < n && c.edge[i] == back {
		i++
	}
	for j > 0 && c.edge[j-1] == back {
		j--
	}
	if i == n || i == 0 || j == n {
		return 0, 0, false
	}
	left, right = c.ends[i-1], c.start(j)-c.total
	k := i
	for k < n && roundedCorner(k) {
		k++
	}
	left += (c.start(k) - left) / 2
	for k = j; k > 0 && roundedCorner(k-1); {
		k--
	}
	right -= (right - (c.start(k) - c.total)) / 2
	return left, right, true
}
