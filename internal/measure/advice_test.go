package measure_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"fairedge/internal/card"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
)

// The advice is a prophecy, and each can be followed in the simulation: the photo is
// taken again as advised, measured, and its stated band compared. The scene's noise
// and the flatness that the marks chose differ from photo to photo, so a quarter of
// disagreement is allowed in the median of the scenes.

// advised returns the advice for a scene, and the band now.
func advised(t *testing.T, p photographed) (map[measure.Advised]measure.Advice, measure.Budget) {
	t.Helper()
	all, err := p.c.Advise(p.o, budget(t, p.c, p.o), measure.DefaultAdviceParams())
	if err != nil {
		t.Fatal(err)
	}
	byKind, last := map[measure.Advised]measure.Advice{}, math.Inf(1)
	for _, a := range all {
		if a.Gain > last || a.Gain <= 0 {
			t.Errorf("gains do not fall: %+v", all)
		}
		last = a.Gain
		byKind[a.Kind] = a
	}
	return byKind, budget(t, p.c, p.o)
}

func paperPriors(set *measure.Set) {
	production(set)
	for i := range set.Candidates {
		set.Candidates[i].TemplateHeight, set.Candidates[i].TemplateBuckle = 0.1, 0.2
	}
}

func unmeasuredPrint(set *measure.Set) {
	paperPriors(set)
	set.Prints = []card.Print{card.UnmeasuredPrint(card.A4, false)}
}

func measuredPrint(set *measure.Set) {
	paperPriors(set)
	r := card.RatioFromRuler(180, 180, 0.25)
	set.Prints = []card.Print{{Paper: card.A4, Along: r, Across: r, Measured: plainDay}}
}

var plainDay = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)

func TestAdviceComesTrue(t *testing.T) {
	w := realistic()
	w.TiltHigh = 15
	far := w
	far.Fill = 0.55
	one := []target{targetOf(loose(1, -300, 0, 0))}
	two := append(one[:1:1], targetOf(loose(2, 300, 0, 0)))
	inside := append(one[:1:1], targetOf(loose(2, 0, 0, 0)))
	tests := []struct {
		name    string
		kind    measure.Advised
		now     world
		targets []target
		tune    func(*measure.Set)
		// as advised
		then        world
		thenTargets []target
		thenTune    func(*measure.Set)
	}{
		{"add a card opposite", measure.AddCard, w, one, measuredPrint, w, two, measuredPrint},
		{"a card inside", measure.CardInside, w, one, measuredPrint, w, inside, measuredPrint},
		{"stand back", measure.StandBack, w, one, measuredPrint, far, one, measuredPrint},
		{"measure the print", measure.MeasurePrint, w, several(), unmeasuredPrint, w, several(), measuredPrint},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var now, foretold, then []float64
			for seed := range uint64(4) {
				p := withTapes(t, test.now, test.targets, seed, test.tune)
				advice, b := advised(t, p)
				a, given := advice[test.kind]
				if !given {
					t.Logf("seed %d: not advised", seed)
					continue
				}
				q := withTapes(t, test.then, test.thenTargets, seed, test.thenTune)
				now, foretold = append(now, b.Within), append(foretold, a.Within)
				then = append(then, budget(t, q.c, q.o).Within)
			}
			if len(now) < 3 {
				t.Fatalf("advised for %d photos of 4", len(now))
			}
			got, want := quantile(foretold, 0.5), quantile(then, 0.5)
			t.Logf("%d photos: within %.2f mm now, %.2f foretold, %.2f when followed", len(now), quantile(now, 0.5), got, want)
			if math.Abs(got-want) > 0.25*want {
				t.Errorf("within %.2f mm foretold, %.2f when followed", got, want)
			}
		})
	}
}

// A taped size that is foretold is the same update as one that is made.
func TestAdvisedTapeComesTrue(t *testing.T) {
	p := withTapes(t, realistic(), []target{a5(320, 0, 0)}, 4, measuredPrint)
	advice, _ := advised(t, p)
	a, given := advice[measure.TapeSize]
	if !given {
		t.Fatalf("one card beside: %+v, want a tape", advice)
	}
	p.tape(a.Size, 0)
	c, o := p.moved(t)
	if b := budget(t, c, o); math.Abs(b.Within-a.Within) > 0.15*b.Within { // 400 draws and 1000
		t.Errorf("within %.3f mm foretold, %.3f with the tape", a.Within, b.Within)
	}
	moved, err := c.Advise(o, budget(t, c, o), measure.DefaultAdviceParams())
	if err != nil {
		t.Fatal(err)
	}
	for _, again := range moved {
		if again.Kind == measure.TapeSize {
			t.Errorf("a taped photo is told to tape: %+v", again)
		}
	}
}

// A tilted photo is told so, a level one is not; four cards need no fifth; a
// measured print no ruler.
func TestAdviceIsNotIdle(t *testing.T) {
	w := realistic()
	w.TiltLow, w.TiltHigh = 30, 40
	p := withTapes(t, w, several(), 5, measuredPrint)
	advice, _ := advised(t, p)
	for _, kind := range []measure.Advised{measure.MeasurePrint, measure.AddCard} {
		if a, given := advice[kind]; given {
			t.Errorf("%+v for four cards of a measured print", a)
		}
	}
	t.Logf("%+v", advice)
	c, s := exactly(t, func(*measure.Set) {})
	o := measure.Outline{Points: outlineOf(c, s), Closed: true}
	all, err := c.Advise(o, budget(t, c, o), measure.DefaultAdviceParams())
	if err != nil || len(all) > 0 {
		t.Errorf("an exact photo is told %+v (%v)", all, err)
	}
}

func BenchmarkAdvise(b *testing.B) {
	s := photograph(seeded(1), realistic(), several())
	measuredPrint(&s.Set)
	c, err := measure.CalibrateSet(s.Set)
	if err != nil {
		b.Fatal(err)
	}
	o := measure.Outline{Points: outlineOf(c, s), Closed: true}
	now, err := c.Budget(o)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := c.Advise(o, now, measure.DefaultAdviceParams()); err != nil {
			b.Fatal(err)
		}
	}
}

// A lens that is learnt from eight photos of the cards and then used does for a card
// beside the outline what was foretold.
func TestAdvisedLensComesTrue(t *testing.T) {
	w := realistic()
	var now, foretold, then []float64
	for i, p := range teach(t, w, 4, 8) {
		t.Logf("phone %d: K1 known to %.4f, K2 %.4f, P %.5f, focal moves %.4f", i, p.profile.Uncertainty.K1, p.profile.Uncertainty.K2,
			p.profile.Uncertainty.P1, p.profile.Moves.Focal)
		rng := seeded(uint64(500 + i))
		s := photographThrough(rng, w, []target{a5(320, 0, 0)}, p.moved(rng, w))
		measuredPrint(&s.Set)
		c, err := measure.CalibrateSet(s.Set)
		if err != nil {
			t.Fatal(err)
		}
		b := budget(t, c, measure.Outline{Points: outlineOf(c, s), Closed: true})
		all, err := c.Advise(measure.Outline{Points: outlineOf(c, s), Closed: true}, b, measure.DefaultAdviceParams())
		if err != nil {
			t.Fatal(err)
		}
		at := slices.IndexFunc(all, func(a measure.Advice) bool { return a.Kind == measure.TeachLens })
		if at < 0 {
			t.Logf("phone %d: not advised", i)
			continue
		}
		s.Set.Candidates = append([]measure.Priors{p.profile.Over(s.Set.Candidates[0], photo.Lens{}, photoWidth, photoHeight)}, s.Set.Candidates...)
		taught, err := measure.CalibrateSet(s.Set)
		if err != nil {
			t.Fatal(err)
		}
		now, foretold = append(now, b.Within), append(foretold, all[at].Within)
		then = append(then, budget(t, taught, measure.Outline{Points: outlineOf(taught, s), Closed: true}).Within)
		more, err := taught.Advise(measure.Outline{Points: outlineOf(taught, s), Closed: true}, b, measure.DefaultAdviceParams())
		if err != nil || taught.Priors.Profile != "" && slices.ContainsFunc(more, func(a measure.Advice) bool { return a.Kind == measure.TeachLens }) {
			t.Errorf("phone %d: advised again (%v)", i, err)
		}
	}
	if len(now) < 3 {
		t.Fatalf("advised for %d photos of 4", len(now))
	}
	got, want := quantile(foretold, 0.5), quantile(then, 0.5)
	t.Logf("within %.2f mm now, %.2f foretold, %.2f when learnt", quantile(now, 0.5), got, want)
	if math.Abs(got-want) > 0.25*want {
		t.Errorf("within %.2f mm foretold, %.2f when learnt", got, want)
	}
}
