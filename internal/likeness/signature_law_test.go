package likeness_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/likeness"
	"fairedge/internal/plane"
)

// between returns the distance of two outlines by their signatures.
func between(a, b curve.Path, o likeness.Options) likeness.Match {
	var x likeness.Index
	x.Add(1, mustSign(b))
	return x.Nearest(mustSign(a), 1, o)[0]
}

// Where an outline lies, starts and which of two is moved changes nothing; turned over it
// is near only if that is allowed; enlarged only if that is.
func TestLawsOfSignatures(t *testing.T) {
	rng := rand.New(rand.NewPCG(131, 132))
	for range 10 {
		p, q := randomSeat(rng).outline(), randomSeat(rng).outline()
		base := between(p, q, likeness.Options{}).RMS
		for name, got := range map[string]float64{
			"turned":    between(anyMotion(rng, likeness.Options{}).Path(p), q, likeness.Options{}).RMS,
			"restarted": between(p.StartingAt(5), q, likeness.Options{}).RMS,
			"exchanged": between(q, p, likeness.Options{}).RMS,
			"mirrored":  between(p.Mirrored(pt(3, 4), plane.Vec{X: 1, Y: 2}), q.Mirrored(pt(0, 0), plane.Vec{Y: 1}), likeness.Options{}).RMS,
		} {
			if math.Abs(got-base) > 0.005 {
				t.Errorf("%s: %.4f mm, before %.4f", name, got, base)
			}
		}
	}
	p := lopsided()
	over, large := p.Mirrored(pt(0, 0), plane.Vec{Y: 1}), p.Scaled(1.1, pt(0, 0))
	if d := between(over, p, likeness.Options{}).RMS; d < 3 {
		t.Errorf("turned over without leave it is only %.3f mm away", d)
	}
	if m := between(over, p, likeness.Options{Flip: true}); m.RMS > 0.005 || !m.Flipped {
		t.Errorf("turned over: %+v", m)
	}
	if d := between(large, p, likeness.Options{}).RMS; d < 10 {
		t.Errorf("a tenth larger it is only %.3f mm away", d)
	}
	if m := between(large, p, likeness.Options{Scale: true}); m.RMS > 0.005 || math.Abs(m.Scale*1.1-1) > 1e-5 {
		t.Errorf("a tenth larger: %+v", m)
	}
}
