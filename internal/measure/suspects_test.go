package measure_test

import (
	"math"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/measure"
)

// Three mistakes of known size, each with the tapes right (or wrong) by exactly
// that: the photo and the tape must not agree, and the mistake with its amount must
// be among the suspects, at the place that what is known gives it.
func TestSuspects(t *testing.T) {
	unmeasured := func(set *measure.Set) {
		production(set)
		set.Prints = []card.Print{card.UnmeasuredPrint(card.A4, false)}
	}
	both := []measure.TapedSize{measure.TapedWidth, measure.TapedDepth}
	tests := []struct {
		name   string
		tune   func(*measure.Set)
		change func(*photographed)
		sizes  []measure.TapedSize
		first  measure.Cause
		cause  measure.Cause
		amount float64
		within float64
		absent []measure.Cause
	}{
		// At 2 % the width would be this seat's depth, and mixed up sizes come first.
		{"a print 4 % too small, one tape", unmeasured, func(p *photographed) { p.scale(0.96) }, both[:1],
			measure.WrongPrint, measure.WrongPrint, -0.04, 0.004, nil},
		{"a print 2 % too small, two tapes", unmeasured, func(p *photographed) { p.scale(0.98) }, both,
			measure.WrongPrint, measure.WrongPrint, -0.02, 0.004, []measure.Cause{measure.WrongPoints}},
		{"a template 25 mm higher, measured print", production, func(p *photographed) { p.lift(25) }, both,
			measure.WrongHeight, measure.WrongHeight, 25, 4, []measure.Cause{measure.WrongPoints}},
		{"a width wrong by 12 mm, the depth right", production, func(p *photographed) { p.taped[0].Value += 12 }, both,
			measure.WrongPoints, measure.WrongPoints, 12, 3, []measure.Cause{measure.WrongPrint, measure.WrongHeight}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			for seed := range uint64(2) {
				w := realistic()
				w.TiltHigh = 15
				p := withTapes(t, w, several(), seed, test.tune, test.sizes...)
				test.change(&p)
				checkDisagrees(t, p)
				suspects, err := p.c.Suspects(p.o, p.taped)
				if err != nil || len(suspects) == 0 {
					t.Fatalf("no suspects (%v)", err)
				}
				if suspects[0].Cause != test.first {
					t.Errorf("seed %d: the first suspect is %+v, want cause %d", seed, suspects[0], test.first)
				}
				checkSuspects(t, suspects, test.cause, test.amount, test.within, test.absent)
			}
		})
	}
}

// scale makes the tapes those of a template whose cards were printed at another
// size than believed.
func (p *photographed) scale(by float64) {
	for i := range p.taped {
		p.taped[i].Value *= by
	}
}

// lift makes the tapes those of a template that lay so many mm higher over the
// cards: what is seen is larger by the camera's distance over the distance less
// the height (similar triangles, camera nearly square above).
func (p *photographed) lift(higher float64) { p.scale(1 - higher/p.c.Distance()) }

func checkDisagrees(t *testing.T, p photographed) {
	t.Helper()
	checks, err := p.c.CheckTaped(p.o, p.taped)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range checks {
		if !c.Agrees() {
			return
		}
	}
	t.Fatalf("tape and photo agree: %+v", checks)
}

func checkSuspects(t *testing.T, suspects []measure.Suspect, cause measure.Cause, amount, within float64, absent []measure.Cause) {
	t.Helper()
	found := false
	for _, s := range suspects {
		if s.Cause == cause {
			found = true
			if math.Abs(s.Amount-amount) > within {
				t.Errorf("%+v, want %g ± %g", s, amount, within)
			}
		}
		for _, a := range absent {
			if s.Cause == a {
				t.Errorf("%+v explains nothing here", s)
			}
		}
	}
	if !found {
		t.Errorf("%+v lacks cause %d", suspects, cause)
	}
}

// A width typed for the depth is told so.
func TestMixedUpSizesAreSeen(t *testing.T) {
	p := withTapes(t, realistic(), several(), 2, production, measure.TapedWidth, measure.TapedDepth)
	depth := p.taped[1].Value
	p.taped = p.taped[:1]
	p.taped[0].Value = depth
	checkDisagrees(t, p)
	suspects, err := p.c.Suspects(p.o, p.taped)
	if err != nil || len(suspects) == 0 || !suspects[0].SeenOther || suspects[0].Cause != measure.WrongPoints {
		t.Errorf("%+v (%v), want the other size first", suspects, err)
	}
}
