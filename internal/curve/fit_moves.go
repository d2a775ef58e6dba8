package curve

import "math"

// Levenberg and Marquardt's method finds the nearest hollow, not the deepest: a joint
// that starts far from where the curvature jumps may stay there, and a short piece
// beside a corner may hold on to it. These changes leap.

// absorbed returns the chain without piece i, a short one with a corner at one end: the
// longer piece at its other end runs on to the corner.
func (f *fitSelector) absorbed(st *fitState, i int) (fitChain, int, bool) {
	c := st.chain.clone()
	j := c.next(i)
	atStart, atEnd := c.joints[i].corner, c.joints[j].corner
	if atStart == atEnd || len(c.pieces) <= 3 {
		return c, 0, false
	}
	keep := j
	if atEnd {
		keep = c.prev(i)
	}
	short, long := f.lengthOf(st, i), f.lengthOf(st, keep)
	if short > absorbShare*long {
		return c, 0, false
	}
	if !c.pieces[keep].line {
		c.pieces[keep].a *= 1 + short/long
		c.pieces[keep].b *= 1 + short/long
	}
	if atStart {
		c.joints[i].at = c.joints[j].at.Add(heading(c.joints[j].out).Scale(-short))
		c.joints[i].out = c.joints[j].out
		c.joints = append(c.joints[:j], c.joints[j+1:]...)
	} else {
		c.joints[j].at = c.joints[i].at.Add(heading(c.joints[i].in).Scale(short))
		c.joints[j].in = c.joints[i].in
		c.joints = append(c.joints[:i], c.joints[i+1:]...)
	}
	// Piece k starts at joint k: without joint j, piece keep = j starts at joint i.
	c.pieces = append(c.pieces[:i], c.pieces[i+1:]...)
	if atStart && j == 0 { // joint 0 went: the last joint's piece is the first
		c.pieces = append(c.pieces[1:], c.pieces[0])
	}
	c.aim()
	if keep > i || keep == len(c.pieces) {
		keep--
	}
	if atStart && j == 0 {
		keep = len(c.pieces) - 1
	}
	return c, keep, true
}

// absorbShare is how long a piece may be beside the one that absorbs it: longer ones
// are merged or split, not leapt over.
const absorbShare = 0.5

// slid returns the chain with the smooth joint j, between two cubics, moved along
// piece j to parameter t, or, if t is negative, back along the piece before to 1+t.
func (f *fitSelector) slid(st *fitState, j int, t float64) (fitChain, bool) {
	c := st.chain.clone()
	i := c.prev(j)
	if c.joints[j].corner || c.pieces[i].line || c.pieces[j].line {
		return c, false
	}
	cut, from, share := j, c.joints[j].s, t
	if t < 0 {
		cut, from, share = i, c.joints[i].s, 1+t
	}
	room := f.lengthOf(st, cut)
	other := f.lengthOf(st, i+j-cut)
	head, tail := st.segments[cut].Split(share)
	moved := room * math.Abs(t)
	grow := 1 + moved/other
	if t > 0 {
		c.pieces[j] = fitArm{a: tail.P0.DistanceTo(tail.P1), b: tail.P2.DistanceTo(tail.P3)}
		c.pieces[i].a *= grow
		c.pieces[i].b *= grow
	} else {
		c.pieces[i] = fitArm{a: head.P0.DistanceTo(head.P1), b: head.P2.DistanceTo(head.P3)}
		c.pieces[j].a *= grow
		c.pieces[j].b *= grow
	}
	dir := tail.P1.Sub(tail.P0).Angle()
	s := from + share*room
	c.joints[j].at, c.joints[j].in, c.joints[j].out = tail.P0, dir, dir
	c.joints[j].s = s - math.Floor(s/f.tr.length)*f.tr.length
	return c, true
}

// evened returns the chain with the handles of cubic i as a circular arc has them, if
// one is far from that: a handle that has shrunk to nothing, to turn where the curvature
// jumps, holds the joint off its place.
func (f *fitSelector) evened(st *fitState, i int) (fitChain, bool) {
	if st.chain.pieces[i].line {
		return fitChain{}, false
	}
	va, vb := handleStretch(&st.chain, i)
	if math.Max(math.Abs(va), math.Abs(vb)) < evenHandle {
		return fitChain{}, false
	}
	c := st.chain.clone()
	c.pieces[i].a *= math.Exp(-va)
	c.pieces[i].b *= math.Exp(-vb)
	return c, true
}

// evenHandle is the logarithm of a factor of two.
const evenHandle = math.Ln2
