package detect

import (
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/plane"
)

func looseCard(n int) card.ID { return card.ID{Edition: 1, Paper: card.A4, Number: n} }

func TestCardsProbe(t *testing.T) {
	for _, mm := range []float64{0.12, 0.2, 0.3, 0.45} {
		for _, tilt := range []float64{0, 0.4, 0.785} {
			s := &cardScene{width: 1400, height: 1100, mmPerPx: mm, tilt: tilt, azimuth: 0.6, roll: 0.4, blur: 1, noise: 5,
				cards: []placedCard{{looseCard(2), plane.RigidFromAngle(0.3, plane.Vec{})}}}
			got, ev, err := Cards(s.render(), DefaultCardParams())
			if err != nil {
				t.Errorf("mm %v tilt %v: %v %+v", mm, tilt, err, ev)
				continue
			}
			for _, g := range got {
				rms, worst, red := s.errorsOf(g, s.cards[0])
				t.Logf("mm %v tilt %v: %v marks %d rms %.4f worst %.3f reduced %.2f  %+v", mm, tilt, g.Card, len(g.Marks), rms, worst, red, ev.Cards[0])
			}
		}
	}
}
