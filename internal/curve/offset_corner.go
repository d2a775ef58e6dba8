package curve

import (
	"math"

	"fairedge/internal/plane"
)

// corner is the place where two source pieces meet: directions t1 in and t2 out,
// allowances d1 before and d2 after.
type corner struct {
	at           plane.Point
	t1, t2       plane.Vec
	d1, d2       float64
	line1, line2 bool    // the pieces are straight
	length       float64 // of the shorter piece, in mm, by its chord
}

func (c corner) turn() float64 { return c.t1.AngleTo(c.t2) }

// ends returns where the parallels end and start, and their directions.
func (c corner) ends() (end, start ray) {
	return ray{c.at.Add(c.t1.TurnRight().Scale(c.d1)), c.t1}, ray{c.at.Add(c.t2.TurnRight().Scale(c.d2)), c.t2}
}

// joint returns the way from the one parallel to the other.
func (c corner) joint(spec Allowance, tolerance float64) joint {
	end, start := c.ends()
	turn := c.turn()
	if c.isSmooth(tolerance) {
		return c.smoothJoint()
	}
	plain := joint{end: end, start: start}
	x, s1, s2 := crossRays(end, start)
	switch {
	case turn*c.d1 > 0 && turn*c.d2 > 0 || turn*(c.d1+c.d2) > 0 && c.d1*c.d2 == 0:
		c.openJoint(&plain, spec, tolerance, x, s1, s2)
	case c.line1 && c.line2 && math.Max(math.Abs(s1), math.Abs(s2)) < c.length/2:
		// Two lines that overlap, or of which one goes out and one in: cut or carried on
		// to where they meet.
		plain.end.at, plain.start.at = x, x
	default:
		c.carryOn(&plain, s1, s2)
	}
	return plain
}

// carryOn leads through the corner from one parallel to the other. Where one of them
// ends short of the other, as when only one edge moves inward, it is first carried
// on past the crossing; what it encloses beyond winds the wrong way and vanishes.
func (c corner) carryOn(j *joint, s1, s2 float64) {
	beyond := 0.1 * math.Max(math.Abs(c.d1), math.Abs(c.d2))
	e, s := j.end.at, j.start.at
	if s1 > 0 && s1 < c.length/4 {
		e = e.Add(j.end.dir.Scale(s1 + beyond))
	}
	if s2 > 0 && s2 < c.length/4 {
		s = s.Add(j.start.dir.Scale(-s2 - beyond))
	}
	between := c.at
	if c.d1*c.d2 <= 0 {
		between = e // the corner itself would lie on the wrong side of one of them
	}
	j.via = []Segment{Line(j.end.at, e), Line(e, between), Line(between, s), Line(s, j.start.at)}
	if c.line1 {
		j.end.at, j.via[0] = e, Line(e, e)
	}
	if c.line2 {
		j.start.at, j.via[3] = s, Line(s, s)
	}
}

// isSmooth reports whether the turn is too small to need a join: the parallels can
// meet on the bisector at a cost of d (1 - cos(turn/2)), about d turn²/8, which may
// take a twentieth of the tolerance.
func (c corner) isSmooth(tolerance float64) bool {
	turn := math.Abs(c.turn())
	d := math.Max(math.Abs(c.d1), math.Abs(c.d2))
	return turn < 0.02 && d*turn*turn/8 <= tolerance/20
}

// smoothJoint lets the parallels meet in one point with one direction, or, where the
// allowance changes, steps square to the seam. A straight piece keeps its own
// direction, and with two the point is their crossing, so that lines stay parallel
// to the letter.
func (c corner) smoothJoint() joint {
	dir := c.t1.Add(c.t2).Unit()
	switch {
	case c.line1:
		dir = c.t1
	case c.line2:
		dir = c.t2
	}
	half := c.turn() / 2
	if c.d1 != c.d2 {
		out := dir.TurnRight()
		end := ray{c.at.Add(out.Scale(c.d1)), dir}
		start := ray{c.at.Add(out.Scale(c.d2)), dir}
		return joint{end, start, []Segment{Line(end.at, start.at)}, true}
	}
	bisector := c.t1.Add(c.t2).Unit().TurnRight()
	point := c.at.Add(bisector.Scale(c.d1 / math.Cos(half)))
	return joint{end: ray{point, dir}, start: ray{point, dir}}
}

// crossRays returns where the lines along two rays cross, at distance s1 ahead of
// the first one's point and s2 behind the second one's.
func crossRays(a, b ray) (x plane.Point, s1, s2 float64) {
	det := a.dir.Cross(b.dir)
	gap := b.at.Sub(a.at)
	s1 = gap.Cross(b.dir) / det
	s2 = -gap.Cross(a.dir) / det
	return a.at.Add(a.dir.Scale(s1)), s1, s2
}

// openJoint fills the gap between two parallels that move apart.
func (c corner) openJoint(j *joint, spec Allowance, tolerance float64, x plane.Point, s1, s2 float64) {
	// s2 is measured backwards along the second ray.
	if s1 < 0 || s2 < 0 {
		c.step(j)
		return
	}
	switch spec.Join {
	case JoinMitre:
		c.mitre(j, spec.mitreLimit(), x)
	case JoinRound:
		c.round(j, tolerance, x)
	default:
		j.via = []Segment{Line(j.end.at, j.start.at)}
	}
}

// step joins allowances so different that the edges would meet behind the corner:
// the wider one keeps its width to the end of its piece, and the way drops square
// to that piece down to the line of the narrower one.
func (c corner) step(j *joint) {
	n1, n2 := c.t1.TurnRight(), c.t2.TurnRight()
	cos := math.Cos(c.turn())
	if math.Abs(c.d1) > math.Abs(c.d2) {
		foot := c.at.Add(n1.Scale(c.d2 / cos))
		j.via = []Segment{Line(j.end.at, foot), Line(foot, j.start.at)}
		return
	}
	foot := c.at.Add(n2.Scale(c.d1 / cos))
	j.via = []Segment{Line(j.end.at, foot), Line(foot, j.start.at)}
}

// mitre carries both parallels on to their crossing x, or cuts the tip square to
// the line from the corner to x at limit times the allowance. Straight parallels
// are themselves made longer.
func (c corner) mitre(j *joint, limit float64, x plane.Point) {
	tip1, tip2 := x, x
	reach := limit * math.Max(math.Abs(c.d1), math.Abs(c.d2))
	toTip := x.Sub(c.at)
	if !(toTip.Length() <= reach*(1+1e-9)) {
		tip1, tip2 = c.cutTip(j, reach, toTip)
	}
	e, s := j.end.at, j.start.at
	if c.line1 {
		j.end.at = tip1
		e = tip1
	}
	if c.line2 {
		j.start.at = tip2
		s = tip2
	}
	j.via = []Segment{Line(e, tip1), Line(tip1, tip2), Line(tip2, s)}
}

// cutTip returns where the square cut meets the two edges: the line at reach from
// the corner, square to the way to the tip.
func (c corner) cutTip(j *joint, reach float64, toTip plane.Vec) (tip1, tip2 plane.Point) {
	along := toTip.Unit()
	cut := func(r ray, ahead float64) plane.Point {
		missing := reach - r.at.Sub(c.at).Dot(along)
		rise := r.dir.Dot(along) * ahead
		if missing <= 0 || rise <= 0 {
			return r.at
		}
		return r.at.Add(r.dir.Scale(ahead * missing / rise))
	}
	return cut(j.end, 1), cut(j.start, -1)
}

// round swings from the one parallel to the other: an arc about the corner if the
// allowances agree, in as few cubics as keep to the tolerance. For different
// allowances it is the same cubic seen askew: arms of the same share of the way to
// x, as a quarter ellipse is to a quarter circle.
func (c corner) round(j *joint, tolerance float64, x plane.Point) {
	turn := c.turn()
	if c.d1 == c.d2 {
		j.via = arcCubics(c.at, j.end, c.d1, turn, tolerance)
		return
	}
	share := 4.0 / 3 * math.Tan(turn/4) / math.Tan(turn/2)
	e, s := j.end.at, j.start.at
	j.via = []Segment{Cubic(e, e.Lerp(x, share), s.Lerp(x, share), s)}
}

// arcCubics returns cubics for the arc about centre that starts at the ray and turns
// by the given angle, radius |d|. With arms of 4/3 tan(φ/4) r the radius of a cubic
// over the angle φ is too long by at most 2/27 sin⁶(φ/4)/cos²(φ/4) of itself
// (Goldapp, "Approximation of circular arcs by cubic polynomials", CAGD 8, 1991).
func arcCubics(centre plane.Point, from ray, d, turn, tolerance float64) []Segment {
	r := math.Abs(d)
	n := max(1, int(math.Ceil(math.Abs(turn)/(math.Pi/2)-1e-9)))
	for r*arcExcess(turn/float64(n)) > fitShare*tolerance {
		n++
	}
	phi := turn / float64(n)
	arm := 4.0 / 3 * math.Tan(math.Abs(phi)/4) * r
	step := plane.RigidFromAngle(phi, plane.Vec{})
	var pieces []Segment
	radius, dir := from.at.Sub(centre), from.dir
	for range n {
		nextRadius, nextDir := step.ApplyVec(radius), step.ApplyVec(dir)
		a, b := centre.Add(radius), centre.Add(nextRadius)
		pieces = append(pieces, Cubic(a, a.Add(dir.Scale(arm)), b.Add(nextDir.Scale(-arm)), b))
		radius, dir = nextRadius, nextDir
	}
	return pieces
}

func arcExcess(phi float64) float64 {
	s, c := math.Sincos(math.Abs(phi) / 4)
	return 2.0 / 27 * s * s * s * s * s * s / (c * c)
}
