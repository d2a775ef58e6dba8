package curve

import (
	"math"

	"fairedge/internal/plane"
)

// rawOffset is the closed loop of all parallels and joins in order, before the
// parts that cross are resolved.
//
//	convex corner, d > 0:  end of parallel 1 -> join -> start of parallel 2
//	concave corner:        end of parallel 1 -> corner itself -> start of parallel 2
//
// At a concave corner the parallels overlap; the way through the corner closes the
// loop such that the overlap winds once more than the rest and vanishes with the
// other inner parts (Chen and McMains, "Polygon offsetting by computing winding
// numbers", ASME DETC 2005).
type rawOffset struct {
	source     Path
	allowances []float64 // mm, by piece
	spec       Allowance
	tolerance  float64
	pieces     []Segment
	sources    []int // by piece; -1 in a corner
	worst      float64
}

// joint is what the raw loop does between two parallels: the first ends at end,
// the way leads through via, the next begins at start.
type joint struct {
	end, start ray
	via        []Segment
	steps      bool // the allowance changes on a smooth seam
}

func newRawOffset(p Path, a Allowance, nudge, tolerance float64) *rawOffset {
	n := len(p.segments)
	raw := &rawOffset{source: p, spec: a, tolerance: tolerance, allowances: make([]float64, n)}
	for i := range raw.allowances {
		raw.allowances[i] = a.at(i)
		if raw.allowances[i] != 0 {
			raw.allowances[i] += math.Copysign(1, raw.allowances[i]) * nudge
		}
	}
	joints := make([]joint, n) // joints[i] lies before piece i
	for i := range joints {
		joints[i] = raw.jointBefore(i)
	}
	for i := range joints {
		raw.add(-1, joints[i].via...)
		raw.addParallel(i, joints[i], joints[(i+1)%n])
	}
	if k := len(raw.pieces); k > 0 {
		raw.pieces[0] = raw.pieces[0].startingFrom(raw.pieces[k-1].P3)
	}
	return raw
}

// add appends pieces, each made to start exactly where the one before ends.
func (raw *rawOffset) add(source int, pieces ...Segment) {
	for _, s := range pieces {
		if s.P0.DistanceTo(s.P3) < shortestPiece && s.handleSize() < shortestPiece {
			continue
		}
		if n := len(raw.pieces); n > 0 {
			s = s.startingFrom(raw.pieces[n-1].P3)
		}
		raw.pieces = append(raw.pieces, s)
		raw.sources = append(raw.sources, source)
	}
}

// shortestPiece is the length in mm below which a piece is left out.
const shortestPiece = 1e-7

// startingFrom returns the piece with its start moved by a rounding error.
func (s Segment) startingFrom(q plane.Point) Segment {
	if s.Straight {
		return Line(q, s.P3)
	}
	s.P0 = q
	return s
}

// fitShare is the part of the tolerance that the fit may use. The rest covers joints
// with a small turn (a twentieth) and what falls between the places of measurement.
const fitShare = 0.9

func (raw *rawOffset) addParallel(i int, before, after joint) {
	s, d := raw.source.segments[i], raw.allowances[i]
	switch {
	case s.Straight:
		raw.add(i, Line(before.start.at, after.end.at))
		return
	case d == 0:
		raw.add(i, s)
		return
	}
	c := newParallel(s, d, before.start, after.end)
	if after.steps {
		c = c.trimAtStep()
	}
	if before.steps {
		c = c.reversed().trimAtStep().reversed()
		raw.moveEnd(c.start.at)
	}
	cubics, worst := c.cubics(fitShare * raw.tolerance)
	raw.worst = math.Max(raw.worst, worst)
	raw.add(i, cubics...)
}

// moveEnd makes the step that was added last end at q.
func (raw *rawOffset) moveEnd(q plane.Point) {
	if k := len(raw.pieces) - 1; k >= 0 && raw.pieces[k].Straight {
		raw.pieces[k] = Line(raw.pieces[k].P0, q)
	}
}

// jointBefore returns the joint between piece i and the one before it.
func (raw *rawOffset) jointBefore(i int) joint {
	n := len(raw.source.segments)
	h := (i + n - 1) % n
	before, after := raw.source.segments[h], raw.source.segments[i]
	c := corner{
		at:     after.P0,
		t1:     before.Tangent(1),
		t2:     after.Tangent(0),
		d1:     raw.allowances[h],
		d2:     raw.allowances[i],
		line1:  before.Straight,
		line2:  after.Straight,
		length: math.Min(before.P0.DistanceTo(before.P3), after.P0.DistanceTo(after.P3)),
	}
	return c.joint(raw.spec, raw.tolerance)
}
