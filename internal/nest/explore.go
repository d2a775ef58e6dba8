package nest

import (
	"math"
	"slices"
)

// exploration looks for shorter and shorter layouts.
type exploration struct {
	*searcher
	best    layout
	used    float64
	found   func(l *layout, used float64) // told of every better layout
	failed  []failure                     // layouts of the current length that kept overlaps, least loss first
	big     []int                         // pieces worth swapping
	step    float64
	atLeast float64 // no layout can be shorter
	// underWay: the current layout is being separated in a shortened strip.
	underWay bool
}

type failure struct {
	lay  layout
	loss float64
}

// improved takes the current layout as the new best.
func (e *exploration) improved() {
	e.used = e.lay.used()
	e.lay.strip.length = e.used
	e.best.copyFrom(&e.lay)
	e.found(&e.best, e.used)
}

// shortenTo sets the strip's length and moves pieces that stick out back in.
func (e *exploration) shortenTo(length float64) bool {
	e.lay.strip.length = math.Floor(length)
	for k := range e.lay.at {
		if e.in.pieces[k].fixed {
			continue
		}
		at, ok := nearestIn(e.boundsOf(k, e.lay.pose[k]), e.lay.at[k])
		if !ok && !e.otherPose(k) {
			return false
		}
		if ok {
			e.lay.at[k] = at
		}
	}
	return true
}

// otherPose gives piece k a pose that fits the strip.
func (e *exploration) otherPose(k int) bool {
	for i := range e.in.pieces[k].poses {
		if at, ok := nearestIn(e.boundsOf(k, i), e.lay.at[k]); ok {
			e.lay.pose[k], e.lay.at[k] = i, at
			return true
		}
	}
	return false
}

// run explores until the work is done: shorten, separate; on failure go on from one
// of the better failures with two large pieces swapped (Imamichi et al. 2009,
// Gardeyn et al. 2025). It can be called again to go on.
func (e *exploration) run(until int64) {
	e.limit = until
	if !e.underWay {
		e.underWay = e.shorten()
	}
	for e.underWay && e.work < until && !e.stop() {
		switch {
		case e.tryStep():
			e.failed = e.failed[:0]
			e.improved()
			e.underWay = e.used > e.atLeast && e.shorten()
		case e.work >= until:
			return
		case e.step > exploreStepLeast:
			e.step = math.Max(e.step/3, exploreStepLeast)
			e.lay.copyFrom(&e.best)
			e.underWay = e.shorten()
		default:
			e.remember()
			e.lay.copyFrom(&e.chosenFailure().lay)
			e.disrupt()
		}
	}
}

// tryStep separates the shortened layout. As long as a smaller step is at hand, a
// large one is given up soon.
func (e *exploration) tryStep() bool {
	if e.step > exploreStepLeast {
		return e.separate(e.params.patience*4/25, 1)
	}
	return e.separate(e.params.patience, e.params.strikes)
}

// adopt goes on from the best layout of another exploration.
func (e *exploration) adopt(other *exploration) {
	e.best.copyFrom(&other.best)
	e.lay.copyFrom(&other.best)
	e.used = other.used
	e.failed = e.failed[:0]
	e.step = math.Min(e.step, other.step)
	e.underWay, e.interrupted = false, false
}

const (
	// exploreStepMost: the first steps shorten by this share; larger ones tear good
	// layouts apart, smaller ones waste time while there is much to gain.
	exploreStepMost = 0.01
	// exploreStepLeast: the steps near the end.
	exploreStepLeast = 0.001
)

func (e *exploration) shorten() bool {
	return e.shortenTo(math.Max(e.used*(1-e.step), e.atLeast))
}

// remember keeps the current layout among the failures.
func (e *exploration) remember() {
	e.failed = append(e.failed, failure{e.lay.clone(), e.con.loss()})
	slices.SortStableFunc(e.failed, func(a, b failure) int { return compareFloat(a.loss, b.loss) })
	if len(e.failed) > 20 {
		e.failed = e.failed[:20]
	}
}

// chosenFailure picks a failure, the better the likelier: half-normal over the list.
func (e *exploration) chosenFailure() *failure {
	at := math.Abs(e.rng.NormFloat64()) * 0.25
	i := min(int(at*float64(len(e.failed))), len(e.failed)-1)
	return &e.failed[i]
}

// disrupt swaps two large pieces of different form.
func (e *exploration) disrupt() {
	if len(e.big) < 2 {
		return
	}
	for range 20 {
		i, j := e.big[e.rng.IntN(len(e.big))], e.big[e.rng.IntN(len(e.big))]
		if i == j || e.lay.poseOf(i).form == e.lay.poseOf(j).form {
			continue
		}
		e.swap(i, j)
		return
	}
}

// swap exchanges the middles of two pieces.
func (e *exploration) swap(i, j int) {
	a, b := e.in.forms[e.lay.poseOf(i).form].size, e.in.forms[e.lay.poseOf(j).form].size
	half := a.sub(b).scale(0.5)
	pi, pj := e.lay.at[i], e.lay.at[j]
	if at, ok := nearestIn(e.boundsOf(i, e.lay.pose[i]), pj.sub(half)); ok {
		e.lay.at[i] = at
	}
	if at, ok := nearestIn(e.boundsOf(j, e.lay.pose[j]), pi.add(half)); ok {
		e.lay.at[j] = at
	}
}

// largePieces returns the movable pieces that make up the larger half of the area.
func (in *instance) largePieces() []int {
	var order []int
	total := 0.0
	for k := range in.pieces {
		if !in.pieces[k].fixed {
			order = append(order, k)
			total += in.pieces[k].area
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return compareFloat(in.pieces[b].area, in.pieces[a].area) })
	reached := 0.0
	for i, k := range order {
		if reached += in.pieces[k].area; reached > 0.75*total {
			return order[:i+1]
		}
	}
	return order
}

// squeeze shortens the best layout in ever smaller steps: a random cut, everything
// right of it moved left, then a short separation; a failure is given up at once. The
// steps are largest at the amount of work from and smallest at end.
func (e *exploration) squeeze(from, until, end int64) {
	e.limit = until
	for e.work < until && !e.stop() && e.used > e.atLeast {
		done := float64(e.work-from) / float64(end-from)
		share := squeezeMost * math.Pow(squeezeLeast/squeezeMost, done)
		e.lay.copyFrom(&e.best)
		e.interrupted = false
		length := math.Max(e.used*(1-share), e.atLeast)
		cut := e.rng.Float64() * e.used
		for k := range e.lay.at {
			middle := e.lay.at[k].x + e.in.forms[e.lay.poseOf(k).form].size.x/2
			if middle > cut && !e.in.pieces[k].fixed {
				e.lay.at[k].x -= math.Round(e.used - length)
			}
		}
		if e.shortenTo(length) && e.separate(e.params.patience/5, e.params.strikes) {
			e.improved()
		}
	}
}

const (
	squeezeMost  = 0.0005
	squeezeLeast = 0.00001
)
