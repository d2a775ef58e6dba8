package curve

import (
	"math"
	"sort"

	"fairedge/internal/plane"
)

// fitCorner is a true corner: where it is along the samples, and its turn.
type fitCorner struct {
	s    float64
	at   plane.Point
	turn float64 // radians, positive to the left
}

// findCorners returns the corners, ascending.
//
// At a corner the turn between two regression windows stays the same when the
// windows grow; along a curve it grows with them. A small fillet passes that
// test, so the gap between the crossing of its two sides and the samples decides:
// a round of radius R cuts a corner of turn φ short by R (1/cos(φ/2) - 1).
func (tr *fitTrace) findCorners(params FitParams) []fitCorner {
	var corners []fitCorner
	grow := math.Min(2, math.Max(1, tr.rough/params.CornerNoise))
	params.CornerWindow *= grow
	params.CornerFar *= grow
	n := int(tr.length/(0.5*params.ArcSmoothing)) + 1
	step := tr.length / float64(n)
	turns := make([]float64, n)
	for i := range turns {
		turns[i], _ = tr.sums.turnAt(float64(i)*step, 0.25*params.CornerMask, params.CornerWindow)
	}
	reach := int(0.8 * params.CornerWindow / step)
	for i := range turns {
		if math.Abs(turns[i]) < params.CornerTurn || !isPeak(turns, i, reach) {
			continue
		}
		if c, ok := tr.cornerNear(float64(i)*step, params); ok {
			corners = tr.addCorner(corners, c, params)
		}
	}
	sort.Slice(corners, func(i, j int) bool { return corners[i].s < corners[j].s })
	return corners
}

// isPeak reports whether |values[i]| is the greatest within reach, round the end.
func isPeak(values []float64, i, reach int) bool {
	n, v := len(values), math.Abs(values[i])
	for j := 1; j <= reach; j++ {
		if math.Abs(values[(i+j)%n]) > v || math.Abs(values[(i-j+n)%n]) >= v {
			return false
		}
	}
	return true
}

// settleCorner returns the corner near arc length s: where the lines meet that run
// through the samples on either side.
func (tr *fitTrace) settleCorner(s float64, params FitParams) (fitCorner, bool) {
	gap := 2 * params.CornerMask // clear of small fillets
	var c fitCorner
	for range 2 {
		before := tr.sums.ray(s-params.CornerFar, s-gap)
		after := tr.sums.ray(s+gap, s+params.CornerFar)
		at, ok := crossing(before, after)
		if before.weight == 0 || after.weight == 0 || !ok {
			return c, false
		}
		moved := tr.arcAlong(at, s, before, after)
		if math.Abs(moved-s) > params.CornerWindow {
			return c, false
		}
		s = moved
		c = fitCorner{s: s, at: at, turn: before.along.AngleTo(after.along)}
	}
	return c, true
}

// cornerNear settles the place of a candidate and tests it.
func (tr *fitTrace) cornerNear(s float64, params FitParams) (fitCorner, bool) {
	near, far := params.CornerWindow, params.CornerFar
	c, ok := tr.settleCorner(s, params)
	if !ok {
		return c, false
	}
	s = c.s
	small, ok1 := tr.sums.turnAt(s, 0.25*params.CornerMask, near)
	large, ok2 := tr.sums.turnAt(s, 0.25*params.CornerMask, far)
	if !ok1 || !ok2 || math.Abs(c.turn) < params.CornerTurn ||
		math.Abs(large) > params.CornerGrowth*math.Abs(small) {
		return c, false
	}
	// The crossing and the mean of a few samples err by about the noise of one.
	turn := math.Abs(c.turn)
	limit := roundedGap(params.CornerRadius, turn, params.CornerMask)
	twice := roundedGap(2*params.CornerRadius, turn, params.CornerMask)
	limit += math.Min(0.5*tr.rough, 0.3*(twice-limit))
	// Two regression lines over length L, samples d apart: σ sqrt(12 d/L)/L each.
	doubt := math.Sqrt2 * tr.rough * math.Sqrt(12*tr.spacing/near) / near
	if turn < params.CornerTurn+2*doubt {
		return c, false
	}
	return c, tr.cutShort(c, params) < limit
}

// arcAlong returns the arc length near s of the sample that lies on the bisector
// of the corner at the given point: half way between the projections on its sides.
func (tr *fitTrace) arcAlong(at plane.Point, s float64, before, after fitRay) float64 {
	i, j := tr.sums.span(s-6*tr.h, s+6*tr.h)
	u := before.along.Add(after.along).Unit()
	n := len(tr.at)
	sum, count := 0.0, 0
	for k := i; k < j; k++ {
		d := tr.at[k%n].Sub(at).Dot(u)
		if math.Abs(d) < 2*tr.h {
			sum += tr.sums.s[k] - d
			count++
		}
	}
	if count == 0 {
		return s
	}
	moved := sum / float64(count)
	return moved - math.Round((moved-s)/tr.length)*tr.length
}

// cutShort returns how far the samples within the mask lie, on average, from the
// corner towards its inner side along the bisector.
func (tr *fitTrace) cutShort(c fitCorner, params FitParams) float64 {
	i, j := tr.sums.span(c.s-params.CornerMask, c.s+params.CornerMask)
	n := len(tr.at)
	before := tr.sums.ray(c.s-params.CornerFar, c.s-2*params.CornerMask)
	after := tr.sums.ray(c.s+2*params.CornerMask, c.s+params.CornerFar)
	inward := after.along.Sub(before.along).Unit()
	var sum, w float64
	for k := i; k < j; k++ {
		sum += tr.weight[k%n] * tr.at[k%n].Sub(c.at).Dot(inward)
		w += tr.weight[k%n]
	}
	if w == 0 {
		return 0
	}
	return sum / w
}

// roundedGap returns what cutShort gives on an exact corner of the given turn
// rounded with radius r: the mean over arc length -half..half of the offset along
// the bisector. On the arc that is r (1/cos(φ/2) - cos(t/r)); beyond it the sides
// run off with slope sin(φ/2).
func roundedGap(r, turn, half float64) float64 {
	const steps = 16
	sum := 0.0
	for i := range steps {
		t := half * (float64(i) + 0.5) / steps
		end := r * turn / 2
		on := math.Min(t, end)
		sum += r*(1/math.Cos(turn/2)-math.Cos(on/r)) + (t-on)*math.Sin(turn/2)
	}
	return sum / steps
}

// addCorner adds c unless a sharper corner stands within half a window.
func (tr *fitTrace) addCorner(corners []fitCorner, c fitCorner, params FitParams) []fitCorner {
	c.s -= math.Floor(c.s/tr.length) * tr.length
	for i, d := range corners {
		if math.Abs(math.Remainder(c.s-d.s, tr.length)) < params.CornerWindow/2 {
			if math.Abs(c.turn) > math.Abs(d.turn) {
				corners[i] = c
			}
			return corners
		}
	}
	return append(corners, c)
}

// maskBeside averages the blocks beside the corners anew, without the samples within
// CornerMask of one; blocks with no other samples are masked. On a short edge every
// sample counts.
func (tr *fitTrace) maskBeside(params FitParams) {
	rest := make([]fitBlock, len(tr.blocks))
	touched := make([]bool, len(tr.blocks))
	for i := range tr.at {
		k, s := tr.blockOf(i)
		if tr.besideCorner(s, params.CornerMask) {
			touched[k] = true
		} else {
			rest[k].take(tr.at[i], s, tr.weight[i])
		}
	}
	per := float64(len(tr.at)) / float64(len(tr.blocks))
	for k := range rest {
		if !touched[k] || tr.blocks[k].weight == 0 {
			continue
		}
		if rest[k].weight < 0.5 {
			tr.blocks[k].masked = true
			continue
		}
		rest[k].settle(per)
		tr.blocks[k] = rest[k]
	}
}

func (tr *fitTrace) besideCorner(s, reach float64) bool {
	for _, c := range tr.corners {
		if math.Abs(math.Remainder(s-c.s, tr.length)) < reach {
			return true
		}
	}
	return false
}

// turnNormals renews the normals beside the corners from the samples on their own side.
// A window across a corner would turn them, and a step along the outline would pass
// for one across it: short pieces beside the corner would seem to explain something.
func (tr *fitTrace) turnNormals() {
	reach := normalReach * tr.h
	for k, b := range tr.blocks {
		before, after := reach, reach
		for _, c := range tr.corners {
			d := math.Remainder(c.s-b.s, tr.length)
			if d >= 0 {
				after = math.Min(after, d)
			} else {
				before = math.Min(before, -d)
			}
		}
		if before == reach && after == reach {
			continue
		}
		// As many samples as elsewhere, clear of what the pen rounds.
		from, to := b.s-before, b.s+after
		if before < reach {
			to = math.Max(to, from+2*reach)
		} else {
			from = math.Min(from, to-2*reach)
		}
		if r := tr.sums.ray(from, to); r.weight > 0 {
			tr.normal[k] = r.along.TurnLeft()
		}
	}
}
