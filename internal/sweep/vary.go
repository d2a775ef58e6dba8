package sweep

import (
	"fmt"

	"fairedge/internal/measure"
)

// dial is one number of the program that can be turned: a threshold or a prior.
type dial struct {
	name   string
	prior  func(p *measure.Priors, factor float64)
	params func(p *measure.Params, factor float64)
}

// dials lists every threshold of the fit and every prior that moves an outline. A
// threshold that counts marks is rounded.
func dials() []dial {
	prior := func(name string, field func(p *measure.Priors) *float64) dial {
		return dial{name: name, prior: func(p *measure.Priors, by float64) { *field(p) *= by }}
	}
	threshold := func(name string, field func(p *measure.Params) *float64) dial {
		return dial{name: name, params: func(p *measure.Params, by float64) { *field(p) *= by }}
	}
	return []dial{
		prior("Focal", func(p *measure.Priors) *float64 { return &p.Focal }),
		prior("Centre", func(p *measure.Priors) *float64 { return &p.Centre }),
		prior("K1", func(p *measure.Priors) *float64 { return &p.K1 }),
		prior("K2", func(p *measure.Priors) *float64 { return &p.K2 }),
		{name: "P1, P2", prior: func(p *measure.Priors, by float64) { p.P1, p.P2 = p.P1*by, p.P2*by }},
		prior("Anisotropy", func(p *measure.Priors) *float64 { return &p.Anisotropy }),
		prior("CardLiftMean", func(p *measure.Priors) *float64 { return &p.CardLiftMean }),
		prior("CardLift", func(p *measure.Priors) *float64 { return &p.CardLift }),
		prior("CardTilt", func(p *measure.Priors) *float64 { return &p.CardTilt }),
		prior("CardBend", func(p *measure.Priors) *float64 { return &p.CardBend }),
		prior("Placement", func(p *measure.Priors) *float64 { return &p.Placement }),
		prior("Warp", func(p *measure.Priors) *float64 { return &p.Warp }),
		threshold("Huber", func(p *measure.Params) *float64 { return &p.Huber }),
		threshold("Blunder", func(p *measure.Params) *float64 { return &p.Blunder }),
		threshold("MaxBlunders", func(p *measure.Params) *float64 { return &p.MaxBlunders }),
		threshold("MaxNoise", func(p *measure.Params) *float64 { return &p.MaxNoise }),
		threshold("Misfit", func(p *measure.Params) *float64 { return &p.Misfit }),
		threshold("LensStrain", func(p *measure.Params) *float64 { return &p.LensStrain }),
		threshold("LessExpected", func(p *measure.Params) *float64 { return &p.LessExpected }),
	}
}

// all turns every dial at once.
func allDials() dial {
	return dial{
		name: "all of them",
		prior: func(p *measure.Priors, by float64) {
			for _, d := range dials() {
				if d.prior != nil {
					d.prior(p, by)
				}
			}
		},
		params: func(p *measure.Params, by float64) {
			for _, d := range dials() {
				if d.params != nil {
					d.params(p, by)
				}
			}
		},
	}
}

// turned returns the case with the dial turned to factor times its number.
func (d dial) turned(c Case, factor float64) Case {
	if d.params != nil {
		d.params(&c.Params, factor)
	}
	if d.prior != nil {
		told := c.Tune
		c.Tune = func(set *measure.Set) {
			told(set)
			for i := range set.Candidates {
				d.prior(&set.Candidates[i], factor)
			}
		}
	}
	return c
}

// VaryCase is the four layouts' realistic scenes with one dial turned.
type VaryCase struct {
	Name   string
	Factor float64
	Cases  []Case // one for each layout
}

// VaryCases lists the scenes as they are (the first), and with each dial, then with all,
// turned up and down by percent. All see the same scenes, so that the medians compare
// better than each is known.
func VaryCases(percent float64) []VaryCase {
	plain := VaryCase{Name: "as they are", Factor: 1}
	for _, c := range layouts() {
		c.World, c.Priors, c.Tune, c.Params, c.Seed = Realistic(), "program", Production, measure.DefaultParams(), reportSeed
		plain.Cases = append(plain.Cases, c)
	}
	out := []VaryCase{plain}
	for _, d := range append(dials(), allDials()) {
		for _, factor := range []float64{1 - percent/100, 1 + percent/100} {
			v := VaryCase{Name: d.name, Factor: factor}
			for _, c := range plain.Cases {
				c = d.turned(c, factor)
				c.Priors = fmt.Sprintf("program, %s x %.2f", d.name, factor)
				v.Cases = append(v.Cases, c)
			}
			out = append(out, v)
		}
	}
	return out
}
