package curve

import "math"

// An inset a hair larger than the radius of a bend gives a parallel with two cusps
// some hundredths of a millimetre apart. The true curve crosses itself there and the
// loop falls away; the fitted one, true to the tolerance only, may just miss itself
// and keep a zigzag. A step inside such a bend likewise keeps the tip of a spike.
// withoutCusps removes the short piece beside each cusp and lets its neighbour run to
// the far end, which lies beside the neighbour's own end by far less than the length
// removed.

const (
	// cuspTurn in radians tells a cusp from a corner; the fit leaves cusps at π within
	// rounding, and seam corners of this sharpness cannot be sewn.
	cuspTurn = 3.0
	// cuspReach in tolerances is the longest piece that is removed beside a cusp.
	// Longer: shape is lost; shorter: zigzags stay.
	cuspReach = 20
)

// withoutCusps returns the pieces and sources of a closed loop without the zigzags
// that are too small to show.
func withoutCusps(pieces []Segment, sources []int, tolerance float64) ([]Segment, []int) {
	for i := 0; i < len(pieces) && len(pieces) > 2; {
		h := (i + len(pieces) - 1) % len(pieces)
		if math.Abs(pieces[h].Tangent(1).AngleTo(pieces[i].Tangent(0))) < cuspTurn {
			i++
			continue
		}
		short, long := i, h
		if pieces[h].controlLength() < pieces[i].controlLength() {
			short, long = h, i
		}
		if pieces[short].controlLength() > cuspReach*tolerance {
			i++
			continue
		}
		if short == i {
			pieces[long] = pieces[long].endingAt(pieces[short])
		} else {
			pieces[long] = pieces[long].Reversed().endingAt(pieces[short].Reversed()).Reversed()
		}
		pieces = append(pieces[:short:short], pieces[short+1:]...)
		sources = append(sources[:short:short], sources[short+1:]...)
		i = 0
	}
	return pieces, sources
}

// endingAt returns the piece with its end moved to the end of the next piece.
func (s Segment) endingAt(next Segment) Segment {
	if s.Straight {
		return Line(s.P0, next.P3)
	}
	s.P2 = s.P2.Add(next.P3.Sub(s.P3))
	s.P3 = next.P3
	return s
}

// controlLength is the length of the control polygon in mm, at least that of the
// piece.
func (s Segment) controlLength() float64 {
	return s.P0.DistanceTo(s.P1) + s.P1.DistanceTo(s.P2) + s.P2.DistanceTo(s.P3)
}

// trimAtStep shortens a parallel that would run backwards up to the joint where the
// allowance steps (the bend there is tighter than the allowance): it ends instead
// where its forward part first meets the line square to the seam at the joint, down
// which the step runs. Without this a spike would remain beyond that line.
func (c parallel) trimAtStep() parallel {
	if c.stretch(1) >= 0 {
		return c
	}
	corner, along := c.source.P3, c.end.dir
	ahead := func(t float64) bool { return c.at(t).Sub(corner).Dot(along) > 0 }
	for i := cuspSteps - 1; i > 0; i-- {
		hi := float64(i+1) / cuspSteps
		lo := float64(i) / cuspSteps
		if ahead(lo) || c.stretch(lo) <= 0 {
			continue
		}
		for range 50 {
			if mid := (lo + hi) / 2; ahead(mid) {
				hi = mid
			} else {
				lo = mid
			}
		}
		c.last, c.end = lo, ray{c.at(lo), c.source.Tangent(lo)}
		return c
	}
	return c
}

// reversed returns the same curve travelled from end to start.
func (c parallel) reversed() parallel {
	return parallel{
		source: c.source.Reversed(), d: -c.d,
		start: ray{c.end.at, c.end.dir.Neg()}, end: ray{c.start.at, c.start.dir.Neg()},
		first: 1 - c.last, last: 1 - c.first,
	}
}
