package likeness

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"fairedge/internal/curve"
)

// Pairs holds how far apart each two of some outlines are when they lie on each other so
// that the greatest distance is least.
type Pairs struct {
	n      int
	within float64
	apart  []Fitted // row by row
}

// Fitted is a chair that a template may fit.
type Fitted struct {
	Chair   int     // its place among the outlines
	Max     float64 // greatest distance, mm; +Inf where only known to be more than asked for
	RMS     float64 // mm
	Flipped bool    // the template must be turned over
}

// PairUp measures each two of the outlines against each other. Pairs whose areas prove
// them farther apart than within mm are not measured: if every point of either outline is
// within t of the other, the larger lies in the smaller widened by t all round, whose area
// is A + P t + π t² at most (Steiner's formula), A being the smaller's area and P its
// length. watch, if not nil, is told before each chair how many pairs are done; its error
// ends the work.
func PairUp(outlines []curve.Path, within float64, o Options, watch func(done, all int) error) (*Pairs, error) {
	if !(within >= 0) {
		return nil, fmt.Errorf("comparing chairs within %g mm: the distance must be 0 or more", within)
	}
	p := &Pairs{n: len(outlines), within: within, apart: make([]Fitted, len(outlines)*len(outlines))}
	for i, a := range outlines {
		if err := checkOutline(a); err != nil {
			return nil, fmt.Errorf("chair %d: %w", i+1, err)
		}
		if watch != nil {
			if err := watch(i*(i-1)/2, p.n*(p.n-1)/2); err != nil {
				return nil, err
			}
		}
		p.apart[i*p.n+i] = Fitted{Chair: i}
		for k := range i {
			f := Fitted{Max: math.Inf(1), RMS: math.Inf(1)}
			if o.Scale || mayBeWithin(a, outlines[k], within) {
				r, err := registerWithin(a, outlines[k], within, o)
				if err != nil {
					return nil, err
				}
				f = Fitted{Max: r.Max, RMS: r.RMS, Flipped: r.FixedFromMoved.Flipped}
			}
			f.Chair = k
			p.apart[i*p.n+k] = f
			f.Chair = i
			p.apart[k*p.n+i] = f
		}
	}
	return p, nil
}

// registerWithin lays for the least greatest distance, unless the least mean already proves
// that it is more than asked for.
func registerWithin(a, b curve.Path, within float64, o Options) (Registration, error) {
	r, err := Register(a, b, o)
	if err != nil || clearlyBetter*r.RMS > within+0.02 {
		return r, err
	}
	o.LeastMax = true
	return Register(a, b, o)
}

func mayBeWithin(a, b curve.Path, t float64) bool {
	if a.SignedArea() > b.SignedArea() {
		a, b = b, a
	}
	return b.SignedArea() <= a.SignedArea()+a.ArcLength(0.01)*t+math.Pi*t*t
}

// Between returns how chair k lies on template i.
func (p *Pairs) Between(i, k int) Fitted { return p.apart[i*p.n+k] }

// Template is an outline that serves for chairs, its own among them.
type Template struct {
	Outline int      // the place of the template's outline
	Fits    []Fitted // in the order of the outlines
}

// Worst returns the greatest distance of the template from the chairs it fits, mm.
func (t Template) Worst() float64 {
	worst := 0.0
	for _, f := range t.Fits {
		worst = math.Max(worst, f.Max)
	}
	return worst
}

// template returns outline i with the wanted chairs that it fits.
func (p *Pairs) template(i int, wanted func(k int) bool) Template {
	t := Template{Outline: i}
	for k := range p.n {
		if f := p.Between(i, k); f.Max <= p.within && wanted(k) {
			t.Fits = append(t.Fits, f)
		}
	}
	return t
}

// Best returns the outline that fits the most chairs as their one template; of several the
// one whose worst fit is best.
func (p *Pairs) Best() Template {
	var best Template
	for i := range p.n {
		t := p.template(i, func(int) bool { return true })
		if len(t.Fits) > len(best.Fits) || len(t.Fits) == len(best.Fits) && t.Worst() < best.Worst() {
			best = t
		}
	}
	return best
}

// Cover is a set of templates, taken from the chairs' own outlines, that fits every chair.
type Cover struct {
	Templates []Template // the one that serves most chairs first; each chair stands under the nearest
	AtLeast   int        // no fewer of these outlines do: proven
}

// IsFewest reports whether no smaller set of templates does.
func (c Cover) IsFewest() bool { return len(c.Templates) == c.AtLeast }

// Fewest returns the smallest set of templates that fits every chair within the distance.
// The search is exact; where it would take too long (some hundred chairs that fit each
// other without order) the best set found is returned with a lower bound. Even then it is
// no larger than 1 + ln(most chairs of one template) times the smallest (Chvátal, "A greedy
// heuristic for the set-covering problem", Mathematics of Operations Research 4, 1979).
func (p *Pairs) Fewest() Cover {
	s := newCoverSearch(p)
	chosen, atLeast := s.run()
	owner := p.owners(chosen)
	for range 3 { // a better template for each group, then the nearest for each chair, by turns
		for t, i := range chosen {
			chosen[t] = p.bestFor(i, func(k int) bool { return owner[k] == i })
		}
		slices.Sort(chosen)
		chosen = slices.Compact(chosen) // two groups may have found the same one
		owner = p.owners(chosen)
	}
	atLeast = min(atLeast, len(chosen))
	c := Cover{AtLeast: atLeast}
	for _, i := range chosen {
		c.Templates = append(c.Templates, p.template(i, func(k int) bool { return owner[k] == i }))
	}
	sort.SliceStable(c.Templates, func(a, b int) bool {
		x, y := c.Templates[a], c.Templates[b]
		return len(x.Fits) > len(y.Fits) || len(x.Fits) == len(y.Fits) && x.Outline < y.Outline
	})
	return c
}

// owners returns for each chair the nearest of the chosen templates.
func (p *Pairs) owners(chosen []int) []int {
	owner := make([]int, p.n)
	for k := range owner {
		owner[k] = -1
		for _, i := range chosen {
			if p.Between(i, k).Max <= p.within && (owner[k] < 0 || p.Between(i, k).Max < p.Between(owner[k], k).Max) {
				owner[k] = i
			}
		}
	}
	return owner
}

// bestFor returns the outline that fits all chairs of a group with the best worst fit; i
// fits them all.
func (p *Pairs) bestFor(i int, inGroup func(k int) bool) int {
	worst := func(i int) float64 {
		w := 0.0
		for k := range p.n {
			if inGroup(k) {
				w = math.Max(w, p.Between(i, k).Max)
			}
		}
		return w
	}
	best := i
	for j := range p.n {
		if w := worst(j); w <= p.within && w < worst(best) {
			best = j
		}
	}
	return best
}
