package likeness

import (
	"math/bits"
	"math/rand/v2"
	"testing"
)

// randomPairs lets each two of n chairs share a template with the given chance.
func randomPairs(rng *rand.Rand, n int, chance float64) *Pairs {
	p := &Pairs{n: n, within: 1, apart: make([]Fitted, n*n)}
	for i := range n {
		for k := range n {
			p.apart[i*n+k] = Fitted{Chair: k, Max: 2}
		}
		p.apart[i*n+i].Max = 0
		for k := range i {
			if rng.Float64() < chance {
				p.apart[i*n+k].Max, p.apart[k*n+i].Max = 0.5, 0.5
			}
		}
	}
	return p
}

// The slow oracle tries every subset.
func fewestOfAll(p *Pairs) int {
	fits := make([]uint, p.n)
	for i := range fits {
		for k := range p.n {
			if p.Between(i, k).Max <= p.within {
				fits[i] |= 1 << k
			}
		}
	}
	fewest := p.n
	for subset := uint(1); subset < 1<<p.n; subset++ {
		var covered uint
		for i := range fits {
			if subset&(1<<i) != 0 {
				covered |= fits[i]
			}
		}
		if covered == 1<<p.n-1 {
			fewest = min(fewest, bits.OnesCount(subset))
		}
	}
	return fewest
}

func TestFewestTemplatesAgainstAllSubsets(t *testing.T) {
	rng := rand.New(rand.NewPCG(71, 72))
	for range 120 {
		p := randomPairs(rng, 1+rng.IntN(13), rng.Float64())
		got := p.Fewest()
		if want := fewestOfAll(p); len(got.Templates) != want || !got.IsFewest() {
			t.Errorf("%d chairs: %d templates, at least %d; all subsets say %d", p.n, len(got.Templates), got.AtLeast, want)
		}
		checkCover(t, p, got)
	}
}

// checkCover fails unless each chair stands under exactly one template that fits it.
func checkCover(t *testing.T, p *Pairs, c Cover) {
	t.Helper()
	seen := make([]int, p.n)
	for _, template := range c.Templates {
		for _, f := range template.Fits {
			seen[f.Chair]++
			if p.Between(template.Outline, f.Chair).Max > p.within {
				t.Errorf("template %d does not fit chair %d", template.Outline, f.Chair)
			}
		}
	}
	for k, times := range seen {
		if times != 1 {
			t.Errorf("chair %d stands under %d templates", k, times)
		}
	}
}

// A search that is given up still covers everything, and its bound holds.
func TestGivingUpKeepsTheBound(t *testing.T) {
	p := randomPairs(rand.New(rand.NewPCG(81, 82)), 90, 0.08)
	s := newCoverSearch(p)
	s.nodes = mostNodes // already spent
	chosen, atLeast := s.run()
	left := newChairSet(p.n)
	for k := range p.n {
		left.add(k)
	}
	for _, i := range chosen {
		left.remove(s.covers[i])
	}
	if !left.isEmpty() || atLeast > len(chosen) || atLeast < 1 {
		t.Errorf("given up with %d templates, at least %d, %d chairs left", len(chosen), atLeast, left.size())
	}
	full := p.Fewest()
	if len(full.Templates) < atLeast || len(full.Templates) > len(chosen) {
		t.Errorf("searched on: %d templates, before %d, at least %d", len(full.Templates), len(chosen), atLeast)
	}
	checkCover(t, p, full)
}
