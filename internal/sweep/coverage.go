package sweep

import (
	"math"

	"fairedge/internal/measure"
)

// The seeds of scenes: those of the reach table and the fast tests, those that the
// coverage is reported on, and those that anything may be chosen by. No statement of
// this program was set by looking at scenes of the second.
const (
	reportSeed = 1_000_000
	chooseSeed = 2_000_000
)

// layouts are the four that the coverage is measured for: one card beside, one inside,
// two, and four.
func layouts() []Case {
	return []Case{
		{Layout: "A5 beside", Targets: beside()}, {Layout: "A5 inside", Targets: inside()},
		{Layout: "two loose cards", Targets: two()}, {Layout: "four loose cards", Targets: Four()},
	}
}

// normalLens is the realistic world with the lens's focal length and principal point
// from normal distributions of the same standard deviation, as the law of propagation
// takes them to be.
func normalLens() World {
	w := Realistic()
	w.Name, w.NormalLens = "realistic, lens from normal distributions", true
	return w
}

// worseLens is the realistic world with all that a lens may be off by twice as large as
// the priors that the program is told.
func worseLens() World {
	w := Realistic()
	w.Name = "realistic, lens twice as bad as the priors"
	w.F, w.PP, w.K1, w.K2, w.P1P2, w.Warp = 2*w.F, 2*w.PP, 2*w.K1, 2*w.K2, 2*w.P1P2, 2*w.Warp
	return w
}

// toldOf replaces the priors by those from which another world would draw.
func toldOf(w World) func(*measure.Set) {
	return func(set *measure.Set) {
		set.Candidates = []measure.Priors{priorsOf(w, set.Candidates[0].Lens.F)}
	}
}

// CoverageCases lists how often the stated uncertainty holds, over realistic scenes of
// four layouts: told exactly what the world draws from, with a lens from normal
// distributions, with the program's own priors, and with the truth's lens twice as bad
// as what the program is told or believes.
func CoverageCases() []Case {
	twiceProgram := worseThanProgram()
	var cases []Case
	for _, kind := range []Case{
		{World: normalLens(), Priors: "exact"},
		{World: Realistic(), Priors: "exact"},
		{World: Realistic(), Priors: "program", Tune: Production},
		{World: worseLens(), Priors: "realistic", Tune: toldOf(Realistic())},
		{World: twiceProgram, Priors: "program", Tune: Production},
	} {
		for _, c := range layouts() {
			c.World, c.Priors, c.Tune = kind.World, kind.Priors, kind.Tune
			c.Params, c.Seed, c.BudgetToo = measure.DefaultParams(), reportSeed, true
			cases = append(cases, c)
		}
	}
	return cases
}

// worseThanProgram is the realistic world whose lens is twice as bad as the program's
// own priors for a phone say, in standard deviations.
func worseThanProgram() World {
	w := Realistic()
	p := measure.PriorsFor(measure.PhoneWithFocal, phoneLens(26), PhotoWidth, PhotoHeight)
	w.Name = "realistic, lens twice as bad as the program's priors"
	w.F, w.PP = 2*p.Focal*math.Sqrt(3), 2*p.Centre*math.Sqrt(3)
	w.K1, w.K2, w.P1P2, w.Warp = 2*p.K1, 2*p.K2, 2*p.P1, 2*p.Warp
	return w
}
