package shape

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// BackHint is what is known of the back besides the outline itself. Directions
// and points are in the plane frame that the outline is in. The zero value knows
// nothing and takes +y for the top of the photo.
type BackHint struct {
	Said      plane.Vec     // the person says the back faces this way; zero: not said
	SheetEdge []plane.Point // samples of the sheet's own edge, which is the back
	PhotoUp   plane.Vec     // towards the top of the photo; zero: +y
}

// nearlyAsGood is how close a second candidate for the back may come, as a share of
// the best one's score, before the choice is called unsure. Larger: asks too
// often; smaller: a square seat is turned without a word. Empirical.
const nearlyAsGood = 0.8

// findBack picks the back edge: what the person said, the sheet's own edge, a
// straight edge with a tick, the straight edge that halves the seat best, or, on a
// seat without straight edges, the edge at the top of the photo.
func findBack(net curve.Path, edges []Edge, ticks []plane.Point, hint BackHint) Back {
	switch {
	case hint.Said != plane.Vec{}:
		return Back{mostFacing(net, edges, hint.Said), BackSaid, true}
	case len(hint.SheetEdge) > 0:
		return Back{nearestEdge(net, edges, hint.SheetEdge), BackSheetEdge, true}
	}
	if i, found := tickedFlat(net, edges, ticks); found {
		return Back{i, BackTick, true}
	}
	if i, sure, found := halvingFlat(net, edges); found {
		return Back{i, BackStraight, sure}
	}
	if len(edges) == 1 && len(ticks) == 1 {
		return Back{0, BackTick, true}
	}
	return Back{mostFacing(net, edges, hint.up()), BackTop, isNearlyRound(net)}
}

// isNearlyRound reports whether it hardly matters which way the seat is turned:
// width and depth agree within 2 % whatever the turn.
func isNearlyRound(net curve.Path) bool {
	least, most := math.Inf(1), 0.0
	for k := range 6 {
		w := net.Transform(plane.RigidFromAngle(float64(k)*math.Pi/6, plane.Vec{})).Bounds().Width()
		least, most = math.Min(least, w), math.Max(most, w)
	}
	return most < 1.02*least
}

// up returns the direction towards the top of the photo.
func (h BackHint) up() plane.Vec {
	if h.PhotoUp == (plane.Vec{}) {
		return plane.Vec{Y: 1}
	}
	return h.PhotoUp.Unit()
}

// backPose returns which way the back edge faces and where its middle is. A round
// seat is one edge without ends: its back is where the person said, at the tick, or
// at the top of the photo.
func backPose(net curve.Path, edge Edge, source BackSource, ticks []plane.Point, hint BackHint) (outward plane.Vec, middle plane.Point) {
	if !edge.isRound(net) {
		return edge.outward(net), edge.middle(net)
	}
	outward = hint.up()
	switch source {
	case BackSaid:
		outward = hint.Said.Unit()
	case BackTick:
		outward = ticks[0].Sub(net.Bounds().Centre()).Unit()
	}
	return outward, farthest(net, outward)
}

// farthest returns the point where the middle line of the outline in the direction
// leaves it: not the top of one of two lobes. The middle is that of the extent across.
func farthest(net curve.Path, direction plane.Vec) plane.Point {
	turned := net.Transform(plane.RigidFromAngle(direction.AngleTo(plane.Vec{Y: 1}), plane.Vec{}))
	b := turned.Bounds()
	x, top := b.Centre().X, plane.Point{X: b.Centre().X, Y: b.Min.Y}
	points := turned.Flatten(farthestFlat)
	for i, p := range points {
		q := points[(i+1)%len(points)]
		if (p.X < x) == (q.X < x) {
			continue
		}
		if at := p.Lerp(q, (x-p.X)/(q.X-p.X)); at.Y > top.Y {
			top = at
		}
	}
	spot, _ := turned.Nearest(top)
	return net.Spot(spot.Piece, spot.T).Point
}

// farthestFlat is how far, in mm, the chords that are searched may lie off the curve.
const farthestFlat = 0.01

// mostFacing returns the edge that faces the direction best; flat edges are
// preferred to curved ones within 30 degrees of it.
func mostFacing(net curve.Path, edges []Edge, direction plane.Vec) int {
	best, bestScore := 0, math.Inf(-1)
	for i, e := range edges {
		score := e.outward(net).Dot(direction.Unit())
		if e.isFlat(net) {
			score += 1 - math.Cos(math.Pi/6)
		}
		score += 1e-3 * e.Length.Millimetres() / 1000 // of two equal ones the longer
		if score > bestScore {
			best, bestScore = i, score
		}
	}
	return best
}

// nearestEdge returns the edge that the points lie on: that of least mean squared
// distance from its chord.
func nearestEdge(net curve.Path, edges []Edge, points []plane.Point) int {
	best, bestSum := 0, math.Inf(1)
	for i, e := range edges {
		from, to := e.ends(net)
		chord := curve.Line(from, to)
		var sum float64
		for _, p := range points {
			sum += p.DistanceSqTo(nearestOnLine(chord, p))
		}
		if sum < bestSum {
			best, bestSum = i, sum
		}
	}
	return best
}

func nearestOnLine(s curve.Segment, p plane.Point) plane.Point {
	d := s.P3.Sub(s.P0)
	if d.LengthSq() == 0 {
		return s.P0
	}
	t := p.Sub(s.P0).Dot(d) / d.LengthSq()
	return s.P0.Lerp(s.P3, math.Min(1, math.Max(0, t)))
}

// tickedFlat returns the one flat edge that a tick crosses in its middle third. Two such edges say nothing.
func tickedFlat(net curve.Path, edges []Edge, ticks []plane.Point) (edge int, found bool) {
	hits := 0
	for i, e := range edges {
		if !e.isFlat(net) {
			continue
		}
		from, to := e.ends(net)
		for _, p := range ticks {
			onEdge := nearestOnLine(curve.Line(from, to), p)
			share := onEdge.DistanceTo(from) / from.DistanceTo(to)
			if onEdge.DistanceTo(p) < tickReach+e.bow(net) && share > 1.0/3 && share < 2.0/3 {
				edge = i
				hits++
				break
			}
		}
	}
	return edge, hits == 1
}

// tickReach is how far from the outline, in millimetres, a tick's crossing may lie
// and still belong to it: a pen's width. Common practice.
const tickReach = 3.0

// halvingFlat returns the flat edge whose perpendicular bisector comes nearest to
// being the seat's mirror axis. Of the two edges that a left-right symmetric seat
// offers (back and front) the straighter and longer wins, so the score is length
// over (size + a hundred times the asymmetry + twenty times the bow).
func halvingFlat(net curve.Path, edges []Edge) (edge int, sure, found bool) {
	best, second := 0.0, 0.0
	for i, e := range edges {
		if !e.isFlat(net) {
			continue
		}
		score := e.Length.Millimetres() / (size(net) + 100*asymmetry(net, e) + 20*e.bow(net))
		if score > best {
			edge, best, second = i, score, best
		} else if score > second {
			second = score
		}
	}
	return edge, second < nearlyAsGood*best, best > 0
}

func size(net curve.Path) float64 {
	b := net.Bounds()
	return math.Hypot(b.Width(), b.Height())
}

// asymmetry is the root mean square distance, in millimetres, from the outline
// mirrored about the edge's perpendicular bisector to the outline itself.
func asymmetry(net curve.Path, e Edge) float64 {
	from, to := e.ends(net)
	middle, along := from.Lerp(to, 0.5), to.Sub(from).Unit()
	var sum float64
	for _, spot := range net.AtLengths(evenly(net, asymmetryPoints), arcTolerance) {
		s := along.Dot(spot.Point.Sub(middle))
		_, d := net.Nearest(spot.Point.Add(along.Scale(-2 * s)))
		sum += d * d
	}
	return math.Sqrt(sum / asymmetryPoints)
}

// asymmetryPoints is how many places of the outline are mirrored: one every 30 mm
// or so. Fewer miss a notch; more only cost time.
const asymmetryPoints = 60

// evenly returns n arc lengths that part the outline into equal stretches.
func evenly(net curve.Path, n int) []float64 {
	step := net.ArcLength(arcTolerance) / float64(n)
	at := make([]float64, n)
	for i := range at {
		at[i] = (float64(i) + 0.5) * step
	}
	return at
}
