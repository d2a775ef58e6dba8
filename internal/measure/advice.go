package measure

import (
	"math"
	"runtime"
	"slices"
	"sort"
	"sync"

	"fairedge/internal/camera"
	"fairedge/internal/plane"
	"fairedge/internal/uncertainty"
)

// Advised is a kind of advice.
type Advised int

// What can make a photo better.
const (
	StandBack      Advised = iota // From, To: distance of the camera, mm
	HoldLevel                     // From: tilt now, rad
	AddCard                       // Card: the card to lay another one opposite to
	CardInside                    // a card inside the outline
	FlattenCards                  // Card: the one farthest from flat, From: by mm
	WeightTemplate                // hold the template flat
	MeasurePrint                  // lay a ruler on the print
	TapeSize                      // Size: the one to tape
	TeachLens                     // learn the lens from photos of the cards, once
)

// Advice is one change, with what it would gain. The gain is computed from the
// covariance that the changed photo would have (whatIf), not looked up.
type Advice struct {
	Kind     Advised
	Gain     float64 // mm less of Within
	Within   float64 // then, mm
	From, To float64
	Card     string
	Size     TapedSize
}

// AdviceParams are the numbers of the advice.
type AdviceParams struct {
	// WorthSaying: advice that gains less, in mm and as a share of Within, is noise
	// to a maker.
	WorthSaying, WorthShare float64
	// Fill of the frame from where to stand back to: from 0.9 m of a seat with a
	// phone, where phones' lenses err least for what is lost in pixels (Monte Carlo,
	// ACCURACY.md: "from 0.9 m, square on").
	Fill float64
	// MostFill: what is added must still be in the picture, with a margin.
	MostFill float64
	// LeastTilt that is worth correcting by hand, rad.
	LeastTilt float64
	// Flat: taped-down cards are this multiple of CardTilt and its like from flat,
	// and a weighted template this multiple of TemplateBuckle (common practice).
	Flat float64
	// Ruler and RulerBar: a print's bars read to ± so many mm of their length.
	Ruler, RulerBar float64
	// Tape: a tape read to ± so many mm.
	Tape float64
	// Taught: how well a lens is known once eight photos of the cards have taught it (Monte
	// Carlo: TestAdvisedLensComesTrue). What focusing and stabilising move stays unknown.
	Taught LensUncertainty
}

// DefaultAdviceParams returns the numbers described at AdviceParams.
func DefaultAdviceParams() AdviceParams {
	return AdviceParams{
		WorthSaying: 0.05, WorthShare: 0.08, Fill: 0.55, MostFill: 0.95, LeastTilt: 5 * math.Pi / 180,
		Flat: 0.3, Ruler: 0.25, RulerBar: 180, Tape: 0.5,
		Taught: LensUncertainty{Focal: 0.011, K1: 0.002, K2: 0.0025, P1: 2e-4, P2: 2e-4},
	}
}

// Advise returns what would make the outline o better known, the greatest gain
// first; now is its budget.
func (c *Calibration) Advise(o Outline, now Budget, params AdviceParams) ([]Advice, error) {
	if err := c.checkOutline(o); err != nil {
		return nil, err
	}
	a := adviser{c: c, o: o.thinned(), params: params}
	a.try(Advice{}, c.whatIf(a.o))
	a.tryCamera()
	a.tryCards()
	a.tryFlatness()
	a.tryReadings()
	a.tryLens()
	outcomes := a.outcomes()
	var worth []Advice
	for i, w := range outcomes[1:] {
		// Exact marks make the changed photo a little too good: only the ratio counts.
		share := 1 - w/outcomes[0]
		advice := a.all[i+1]
		advice.Gain, advice.Within = share*now.Within, (1-share)*now.Within
		if advice.Gain >= params.WorthSaying && share >= params.WorthShare {
			worth = append(worth, advice)
		}
	}
	sort.SliceStable(worth, func(i, j int) bool { return worth[i].Gain > worth[j].Gain })
	return bestOfEachKind(worth), nil
}

// bestOfEachKind keeps the first of each kind.
func bestOfEachKind(all []Advice) []Advice {
	var kept []Advice
	for _, a := range all {
		if !slices.ContainsFunc(kept, func(k Advice) bool { return k.Kind == a.Kind }) {
			kept = append(kept, a)
		}
	}
	return kept
}

// adviser collects changes to try.
type adviser struct {
	c      *Calibration
	o      Outline
	params AdviceParams
	all    []Advice
	photos []whatIf
}

func (a *adviser) try(advice Advice, w whatIf) {
	a.all, a.photos = append(a.all, advice), append(a.photos, w)
}

// outcomes returns how closely each photo would know the outline, mm; NaN when it
// would not. Each is worked out by itself, so the order does not matter.
func (a *adviser) outcomes() []float64 {
	within := make([]float64, len(a.photos))
	var all sync.WaitGroup
	turns := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, w := range a.photos {
		all.Go(func() {
			turns <- struct{}{}
			defer func() { <-turns }()
			within[i] = math.NaN()
			if b, ok := w.outcome(); ok {
				within[i] = b.Within
			}
		})
	}
	all.Wait()
	return within
}

func (a *adviser) tryCamera() {
	back := a.c.whatIf(a.o)
	if back.fill() > a.params.Fill*1.2 && back.standBack(a.params.Fill) {
		pose := back.s.camera().CameraFromBench
		a.try(Advice{Kind: StandBack, From: a.c.Distance(), To: pose.Position()[2] - a.c.templateHeight}, back)
	}
	if tilt := a.c.Tilt(); tilt > a.params.LeastTilt {
		w := a.c.whatIf(a.o)
		w.level()
		w.standBack(a.params.MostFill)
		a.try(Advice{Kind: HoldLevel, From: tilt}, w)
	}
}

// tryCards adds a card opposite each one that has none there, and one inside.
func (a *adviser) tryCards() {
	middle := plane.RectFromPoints(a.o.Points...).Centre()
	inside := false
	for ti := range a.c.Cards {
		place := a.c.cardCentre(ti)
		inside = inside || a.o.contains(place)
		if opposite := middle.Add(middle.Sub(place)); a.isFree(opposite, ti) && !a.o.contains(place) {
			w := a.c.whatIf(a.o)
			w.addCard(ti, opposite)
			w.standBack(a.params.MostFill)
			a.try(Advice{Kind: AddCard, Card: a.c.Cards[ti].Name}, w)
		}
	}
	if !inside && len(a.c.Cards) > 0 {
		w := a.c.whatIf(a.o)
		w.addCard(0, middle)
		a.try(Advice{Kind: CardInside}, w)
	}
}

// cardCentre returns the middle of card ti's marks in the plane frame.
func (c *Calibration) cardCentre(ti int) plane.Point {
	return c.Cards[ti].PlaneFromCard.Apply(c.model.targets[ti].Centre)
}

// isFree reports whether a copy of card ti at p would lie clear of every card, and
// not across the outline.
func (a *adviser) isFree(p plane.Point, ti int) bool {
	half := a.c.model.targets[ti].Half.Length()
	for i := range a.c.Cards {
		if a.c.cardCentre(i).DistanceTo(p) < half+a.c.model.targets[i].Half.Length() {
			return false
		}
	}
	return !a.o.contains(p)
}

// contains reports whether p lies inside the closed outline (crossings of the ray
// to the right).
func (o Outline) contains(p plane.Point) bool {
	in := false
	for i, a := range o.Points {
		b := o.Points[(i+1)%len(o.Points)]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(b.X-a.X)*(p.Y-a.Y)/(b.Y-a.Y) {
			in = !in
		}
	}
	return in && o.Closed
}

func (a *adviser) tryFlatness() {
	if a.c.Evidence.Flatness > 1.5*a.params.Flat {
		w := a.c.whatIf(a.o)
		for i := w.m.height(0); i < w.m.warp(); i++ {
			w.m.sd[i] *= a.params.Flat / a.c.Evidence.Flatness
		}
		worst := Advice{Kind: FlattenCards}
		for _, card := range a.c.Cards {
			if off := card.OutOfFlat(); off > worst.From {
				worst.Card, worst.From = card.Name, off
			}
		}
		a.try(worst, w)
	}
	w := a.c.whatIf(a.o)
	w.priors.TemplateBuckle *= a.params.Flat
	a.try(Advice{Kind: WeightTemplate}, w)
}

// OutOfFlat returns how far the card rises or dips at its border from slope and
// bend together, mm, as fitted.
func (f CardFit) OutOfFlat() float64 { return f.Tilt + f.Bend }

func (a *adviser) tryReadings() {
	w := a.c.whatIf(a.o)
	reading := uncertainty.Rectangular(a.params.Ruler) / a.params.RulerBar
	better := false
	for i := range w.m.prints {
		// Sum and difference of two readings; see printPrior.
		for k, sigma := range []float64{reading / math.Sqrt2, reading * math.Sqrt2} {
			if sd := &w.m.sd[w.m.print(i)+k]; *sd > 1.5*sigma {
				*sd, better = sigma, true
			}
		}
	}
	if better {
		a.try(Advice{Kind: MeasurePrint}, w)
	}
	if len(a.c.tapes) == 0 {
		a.tryTape()
	}
}

// tryTape tries a tape on the width and on the depth.
func (a *adviser) tryTape() {
	f := newFunctionals(a.o)
	for _, size := range []TapedSize{TapedWidth, TapedDepth} {
		seen := []float64{f.width(), f.depth()}[size]
		w := a.c.whatIf(a.o)
		w.tapes = []Taped{{Size: size, Value: seen, Seen: seen, Sigma: uncertainty.Rectangular(a.params.Tape)}}
		a.try(Advice{Kind: TapeSize, Size: size}, w)
	}
}

// tryLens tries a lens that has been learnt. One that is known better already, or of
// which a profile was used, is not tried.
func (a *adviser) tryLens() {
	if a.c.Priors.Profile != "" {
		return
	}
	w := a.c.whatIf(a.o)
	t := a.params.Taught
	better := false
	for _, known := range []struct {
		unknown int
		sigma   float64
	}{{camera.ParamLogF, t.Focal}, {camera.ParamK1, t.K1}, {camera.ParamK2, t.K2}, {camera.ParamP1, t.P1}, {camera.ParamP2, t.P2}} {
		if sd := &w.m.sd[known.unknown]; *sd > 1.2*known.sigma {
			*sd, better = known.sigma, true
		}
	}
	if better {
		a.try(Advice{Kind: TeachLens}, w)
	}
}
