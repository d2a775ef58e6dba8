package sweep

import (
	"context"
	"math/rand/v2"
	"runtime"
	"sync"
	"sync/atomic"

	"fairedge/internal/measure"
	"fairedge/internal/photo"
)

// Case is one line of a table: scenes of one world and one layout of cards, and what
// the program is told of them.
type Case struct {
	World   World
	Layout  string
	Targets []Target
	Priors  string             // in a word, for the table
	Tune    func(*measure.Set) // replaces the priors that the world draws from; nil leaves them
	Params  measure.Params
	Seed    uint64 // of the first scene; each next one has the next
	// BudgetToo judges the stated uncertainty as well.
	BudgetToo bool
}

// Scene draws the case's i-th scene.
func (c Case) Scene(i int) Scene {
	s := Photograph(Seeded(c.Seed+uint64(i)), c.World, c.Targets)
	if c.Tune != nil {
		c.Tune(&s.Set)
	}
	return s
}

// Seeded returns the stream of random numbers of a scene.
func Seeded(n uint64) *rand.Rand { return rand.New(rand.NewPCG(n, 7)) }

// Run measures n scenes, divided over the processors; the result does not depend on
// how many there are. step is called after each scene, from any goroutine; nil is
// none. It stops early with the context's error.
func Run(ctx context.Context, c Case, n int, step func()) (Tally, error) {
	outcomes := make([]Outcome, n)
	err := each(ctx, n, func(i int) {
		outcomes[i] = c.Scene(i).Measure(c.Params, c.BudgetToo)
		if step != nil {
			step()
		}
	})
	return tallied(outcomes), err
}

// each does n things, divided over the processors, until the context ends.
func each(ctx context.Context, n int, do func(i int)) error {
	var next atomic.Int64
	var all sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < n && ctx.Err() == nil; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	all.Wait()
	return ctx.Err()
}

// tallied adds outcomes up in their order.
func tallied(outcomes []Outcome) (t Tally) {
	for _, o := range outcomes {
		if o.Truth != nil || o.Err != nil { // else it was not reached
			t.Add(o)
		}
	}
	return t
}

// RunSeveral measures n scenes of several photos each: what the first photo says alone,
// and what all say together.
func RunSeveral(ctx context.Context, s Several, n int, step func()) (alone, fused Tally, err error) {
	one, all := make([]Outcome, n), make([]Outcome, n)
	err = each(ctx, n, func(i int) {
		one[i], all[i] = s.MeasureSeveral(i)
		if step != nil {
			step()
		}
	})
	return tallied(one), tallied(all), err
}

// Production replaces the priors that the world draws from by those that the program
// has for a phone. The scenes' outline is exact and lies at the stated height, so those
// terms are taken out.
func Production(set *measure.Set) {
	lens := phoneLens(Focal35(set.Candidates[0].Lens.F))
	set.Candidates = []measure.Priors{
		measure.PriorsFor(measure.PhoneWithFocal, lens, PhotoWidth, PhotoHeight),
		measure.PriorsFor(measure.CameraWithFocal, lens, PhotoWidth, PhotoHeight),
		measure.PriorsFor(measure.UnknownPhone, photo.Lens{}, PhotoWidth, PhotoHeight),
		measure.PriorsFor(measure.UnknownCamera, photo.Lens{}, PhotoWidth, PhotoHeight),
	}
	for i := range set.Candidates {
		p := &set.Candidates[i]
		p.TemplateHeight, p.TemplateBuckle, p.Line = 0, 0, 0
	}
}

// phoneLens is what the file of a phone's photo says of its lens.
func phoneLens(focal35 float64) photo.Lens { return photo.Lens{Make: "Apple", Focal35MM: focal35} }
