package card_test

import (
	"math"
	"testing"

	"fairedge/internal/card"
)

// 200 mm read to ± 0.25 mm: bound 0.125 %, standard uncertainty 0.072 % (a
// rectangle's half-width over √3, JCGM 100:2008, 4.3.7).
func TestRatioFromRuler(t *testing.T) {
	got := card.RatioFromRuler(199.5, 200, 0.25)
	if math.Abs(got.Value-0.9975) > 1e-12 || math.Abs(got.Uncertainty-0.00125/math.Sqrt(3)) > 1e-12 {
		t.Errorf("RatioFromRuler(199.5, 200, 0.25) = %+v", got)
	}
}

func TestPrintCoversItsOwnCards(t *testing.T) {
	loose := card.UnmeasuredPrint(card.A4, false)
	for _, c := range []struct {
		id   card.ID
		want bool
	}{
		{card.ID{Edition: card.Edition, Paper: card.A4, Number: 1}, true},
		{card.ID{Edition: card.Edition, Paper: card.A4, Number: 4}, true},
		{card.ID{Edition: card.Edition, Paper: card.A4, Number: card.Frame}, false},
		{card.ID{Edition: card.Edition, Paper: card.Letter, Number: 1}, false},
	} {
		if got := loose.Covers(c.id); got != c.want {
			t.Errorf("the A4 loose cards' record Covers(%v) = %v, want %v", c.id, got, c.want)
		}
	}
	if loose.IsMeasured() {
		t.Error("an unmeasured print says it is measured")
	}
}
