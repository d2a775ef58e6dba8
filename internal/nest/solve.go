package nest

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"fairedge/internal/problem"
)

// Options say how long and how to search.
type Options struct {
	// Seed of the search; the same seed and work give the same result.
	Seed uint64
	// Work is how many evaluations of a piece at a place may be made in all;
	// 0 means DefaultWork. About two million take a second of one processor.
	Work int64
	// Progress, when not nil, is told of every better lay; it is never called twice
	// at once and should return soon.
	Progress func(Progress)
}

// Progress is the best so far.
type Progress struct {
	UsedLength float64 // mm, full sheets counted whole
	Density    float64
	Elapsed    time.Duration
	Work       int64 // by the searcher that found it
}

// DefaultWork is what a set of 16 seats with strips can have in two seconds of two
// processors.
const DefaultWork = 5_000_000

// searchers is the number of searches with seeds of their own; they share the work,
// and run at once where there are processors. It is fixed, so that the result does
// not depend on the machine.
const searchers = 2

// Solve lays the pieces of the problem. When the context ends, the best lay so far is
// returned with Stopped set; an error means that the problem is unsound, or
// (problem.Internal) that the proof of the result failed.
func Solve(ctx context.Context, p *Problem, o Options) (*Result, error) {
	return solveWith(ctx, p, o, defaultSearchParams())
}

func solveWith(ctx context.Context, p *Problem, o Options, params searchParams) (*Result, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	in, err := newInstance(p)
	if err != nil {
		return nil, err
	}
	in.prepareFields(searchers)
	r := newRun(ctx, in, o, params)
	if err := r.start(); err != nil {
		return nil, err
	}
	r.search()
	return r.result()
}

// run is one call of Solve.
type run struct {
	ctx        context.Context
	in         *instance
	options    Options
	params     searchParams
	began      time.Time
	rowsLength float64
	fillLength float64
	first      layout

	mu   sync.Mutex
	told float64 // shortest length told to Progress
	ends []exploration
}

func newRun(ctx context.Context, in *instance, o Options, params searchParams) *run {
	if o.Work <= 0 {
		o.Work = DefaultWork
	}
	return &run{ctx: ctx, in: in, options: o, params: params, began: time.Now(), told: math.Inf(1), rowsLength: math.Inf(1)}
}

func (r *run) newSearcher(seed uint64) *searcher {
	in := r.in
	s := &searcher{
		in: in, params: &r.params, con: newConflicts(len(in.pieces)),
		rng:  rand.New(rand.NewPCG(r.options.Seed, seed)),
		stop: func() bool { return r.ctx.Err() != nil },
	}
	s.lay = layout{strip{in, 0}, make([]int, len(in.pieces)), make([]vec, len(in.pieces))}
	s.before = s.lay.clone()
	s.bounds = make([][]bounds, in.poses)
	for k := range in.pieces {
		s.lay.at[k] = in.pieces[k].start
		s.everyone = append(s.everyone, k)
	}
	return s
}

// start makes the simple lays and keeps the shortest.
func (r *run) start() error {
	s := r.newSearcher(0)
	enough := r.in.enough()
	r.first = s.lay.clone()
	best := math.Inf(1)
	keep := func() float64 {
		used := s.lay.used()
		if used < best {
			best = used
			r.first.copyFrom(&s.lay)
		}
		return used
	}
	if s.rows(enough) {
		r.rowsLength = keep()
	}
	r.fillLength = math.Inf(1)
	for _, order := range r.in.orders() {
		if s.fill(order, enough) {
			r.fillLength = math.Min(r.fillLength, keep())
		}
	}
	if math.IsInf(best, 1) {
		return problem.New(problem.Usage, "the pieces find no place beside the fixed ones", "move the fixed pieces or use more sheets")
	}
	r.first.strip.length = best
	r.tell(&r.first, best, 0)
	return nil
}

// orders returns the orders for bottom-left fill: by area, length, width.
func (in *instance) orders() [][]int {
	keys := []func(k int) float64{
		func(k int) float64 { return in.pieces[k].area },
		func(k int) float64 { return in.forms[in.pieces[k].poses[0].form].size.x },
		func(k int) float64 { return in.forms[in.pieces[k].poses[0].form].size.y },
	}
	var out [][]int
	for _, key := range keys {
		var order []int
		for k := range in.pieces {
			if !in.pieces[k].fixed {
				order = append(order, k)
			}
		}
		slices.SortStableFunc(order, func(a, b int) int { return compareFloat(key(b), key(a)) })
		out = append(out, order)
	}
	return out
}

// search lets the searchers explore, then squeeze, each with its share of the work.
// Both parts go in rounds, at whose ends a searcher that fell behind goes on from the
// best layout of all.
func (r *run) search() {
	r.ends = make([]exploration, searchers)
	for i := range r.ends {
		r.ends[i] = r.newExploration(uint64(i) + 1)
	}
	share := r.options.Work / searchers
	explored := share * 8 / 10
	for round := range int64(exploreRounds) {
		r.together(func(e *exploration) { e.run(explored * (round + 1) / exploreRounds) })
		r.catchUp(fallenBehind)
	}
	for round := range int64(squeezeRounds) {
		r.catchUp(0)
		until := explored + (share-explored)*(round+1)/squeezeRounds
		r.together(func(e *exploration) { e.squeeze(explored, until, share) })
	}
}

const (
	// exploreRounds: more share good layouts earlier, fewer keep the searches different.
	exploreRounds = 8
	squeezeRounds = 8
	// fallenBehind: a searcher whose layout is longer by this share gives it up.
	fallenBehind = 0.003
)

func (r *run) newExploration(seed uint64) exploration {
	s := r.newSearcher(seed)
	s.lay.copyFrom(&r.first)
	return exploration{
		searcher: s, best: r.first.clone(), used: r.first.strip.length, step: exploreStepMost,
		big: r.in.largePieces(), atLeast: r.in.leastLength(),
		found: func(l *layout, used float64) { r.tell(l, used, s.work) },
	}
}

// together runs f for all searchers at once.
func (r *run) together(f func(e *exploration)) {
	var wait sync.WaitGroup
	for i := range r.ends {
		wait.Add(1)
		go func() {
			defer wait.Done()
			f(&r.ends[i])
		}()
	}
	wait.Wait()
}

// catchUp lets the searchers that fell behind go on from the best layout.
func (r *run) catchUp(behind float64) {
	best := &r.ends[0]
	for i := range r.ends {
		if r.ends[i].used < best.used {
			best = &r.ends[i]
		}
	}
	for i := range r.ends {
		if e := &r.ends[i]; e.used > best.used*(1+behind) {
			e.adopt(best)
		}
	}
}

// tell reports a better lay.
func (r *run) tell(l *layout, used float64, work int64) {
	if r.options.Progress == nil {
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if used >= r.told {
		return
	}
	r.told = used
	r.options.Progress(Progress{fromNM(used), r.in.area / (used * r.in.width), time.Since(r.began), work})
}

// result returns the shortest lay, proven.
func (r *run) result() (*Result, error) {
	best := &r.first
	work := int64(0)
	for i := range r.ends {
		work += r.ends[i].work
		if r.ends[i].used < best.strip.length {
			best = &r.ends[i].best
		}
	}
	out := r.in.resultOf(best)
	out.RowsLength, out.FillLength = fromNM(r.rowsLength), fromNM(r.fillLength)
	out.Work, out.Stopped = work, r.ctx.Err() != nil
	if err := prove(r.in.problem, out); err != nil {
		return nil, problem.New(problem.Internal, "the lay found is not sound", "please report this").Because(err)
	}
	return out, nil
}
