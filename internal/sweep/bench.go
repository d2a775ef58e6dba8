package sweep

import (
	"math"
	"math/rand/v2"

	"fairedge/internal/card"
	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// Bench is a template with cards laid out for several photos: what is the same in all of
// them. Its cards lie as they lie, and are printed as they are printed.
type Bench struct {
	World   World
	Targets []Target
	Outline []plane.Point // counter-clockwise, mm
	marks   [][][3]float64
}

// LayOut draws a bench of a world. points is how many points the outline has.
func LayOut(rng *rand.Rand, w World, targets []Target, points int) Bench {
	b := Bench{World: w, Targets: targets, Outline: Seat(points)}
	aniso := w.Anisotropy * rng.NormFloat64()
	for _, t := range targets {
		height := randomBend(rng, w.CardOutOfFlat)
		var marks [][3]float64
		for _, m := range t.Marks {
			x := m.Drawn.X*(1+aniso/2) + w.Placement*rng.NormFloat64()
			y := m.Drawn.Y*(1-aniso/2) + w.Placement*rng.NormFloat64()
			p := t.At.Apply(plane.Point{X: x, Y: y})
			marks = append(marks, [3]float64{p.X, p.Y, height.at((m.Drawn.X-t.Centre.X)/t.Half.X, (m.Drawn.Y-t.Centre.Y)/t.Half.Y)})
		}
		b.marks = append(b.marks, marks)
	}
	return b
}

// Photograph takes one more photo of the bench through a lens, from a random side.
func (b Bench) Photograph(rng *rand.Rand, lens Truth) Scene {
	s := Scene{Truth: lens, Outline: b.Outline}
	box := plane.RectFromPoints(b.Outline...)
	for _, marks := range b.marks {
		for _, m := range marks {
			box = box.Include(plane.Point{X: m[0], Y: m[1]})
		}
	}
	w := b.World
	tilt := (w.TiltLow + (w.TiltHigh-w.TiltLow)*rng.Float64()) * math.Pi / 180
	azimuth := 2 * math.Pi * rng.Float64()
	roll := rollThatFits(&s.Truth, box, tilt, azimuth)
	s.Truth.Aim(box.Centre(), DistanceThatFills(&s.Truth, box, tilt, azimuth, roll, w.Fill), tilt, azimuth, roll)
	for ti, t := range b.Targets {
		seen := t.Target
		seen.Marks = append([]measure.TargetMark(nil), t.Marks...)
		for i, m := range b.marks[ti] {
			p := s.Truth.See(m[0], m[1], m[2])
			p.X, p.Y = p.X+w.Noise*rng.NormFloat64(), p.Y+w.Noise*rng.NormFloat64()
			seen.Marks[i].Seen, seen.Marks[i].Sigma = p, math.Max(w.Noise, 0.01)
		}
		s.Set.Targets = append(s.Set.Targets, seen)
	}
	s.Set.Width, s.Set.Height = PhotoWidth, PhotoHeight
	s.Set.Prints = []card.Print{ExactPrint()}
	s.Set.Candidates = []measure.Priors{priorsOf(w, s.Truth.F*(1+w.F*w.spread(rng)))}
	return s
}
