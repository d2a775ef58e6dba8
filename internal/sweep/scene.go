package sweep

import (
	"math"
	"math/rand/v2"

	"fairedge/internal/camera"
	"fairedge/internal/card"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// Scene is one photograph's marks, and the truth behind it.
type Scene struct {
	Truth   Truth
	Set     measure.Set
	Outline []plane.Point // on the bench, counter-clockwise, mm
}

// Seat is a rounded trapezoid of 450 x 430 mm, a superellipse that narrows towards
// the back, as n points counter-clockwise.
func Seat(n int) []plane.Point {
	points := make([]plane.Point, n)
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		soft := func(v float64) float64 { return math.Copysign(math.Pow(math.Abs(v), 0.4), v) }
		x, y := soft(c), soft(s)
		points[i] = plane.Point{X: 225 * x * (1 - 0.1*(1+y)/2), Y: 215 * y}
	}
	return points
}

// Photograph draws a scene: targets and outline through a random camera.
func Photograph(rng *rand.Rand, w World, targets []Target) Scene {
	return PhotographThrough(rng, w, targets, RandomTruth(rng, w))
}

// PhotographThrough is photograph through a given lens.
func PhotographThrough(rng *rand.Rand, w World, targets []Target, lens Truth) Scene {
	s := Scene{Truth: lens, Outline: Seat(180)}
	t := &s.Truth
	box := plane.RectFromPoints(s.Outline...)
	for _, c := range targets {
		for _, m := range c.Marks {
			box = box.Include(c.At.Apply(m.Drawn))
		}
	}
	tilt := (w.TiltLow + (w.TiltHigh-w.TiltLow)*rng.Float64()) * math.Pi / 180
	azimuth, roll := 2*math.Pi*rng.Float64(), 0.0
	// Fill the frame: the box's corners reach the share of the frame's half size.
	roll = rollThatFits(t, box, tilt, azimuth)
	distance := DistanceThatFills(t, box, tilt, azimuth, roll, w.Fill)
	t.Aim(box.Centre(), distance, tilt, azimuth, roll)
	aniso := w.Anisotropy * rng.NormFloat64()
	for _, c := range targets {
		s.Set.Targets = append(s.Set.Targets, SeenThrough(rng, w, t, c, aniso))
	}
	s.Set.Width, s.Set.Height = PhotoWidth, PhotoHeight
	s.Set.Prints = []card.Print{ExactPrint()}
	stated := t.F * (1 + w.F*w.spread(rng))
	s.Set.Candidates = []measure.Priors{priorsOf(w, stated)}
	return s
}

// priorsOf are the priors from which world w draws. A card whose lowest point
// touches the bench has a mean height of 1.16 ± 0.56 h (from 4000 draws of
// randomBend).
func priorsOf(w World, stated float64) measure.Priors {
	uniform := math.Sqrt(3)
	return measure.Priors{
		Lens:  camera.Lens{F: stated, Centre: photo.Point{X: PhotoWidth / 2, Y: PhotoHeight / 2}},
		Focal: w.F / uniform, Centre: w.PP / uniform, K1: w.K1, K2: w.K2, P1: w.P1P2, P2: w.P1P2,
		Anisotropy: w.Anisotropy, Placement: w.Placement, Warp: w.Warp,
		CardLiftMean: 1.16 * w.CardOutOfFlat, CardLift: 0.56 * w.CardOutOfFlat,
		CardTilt: w.CardOutOfFlat / 2, CardBend: w.CardOutOfFlat / 2,
	}
}

// bend is one card's true height over the bench.
type bend [6]float64

func (b bend) at(u, v float64) float64 {
	return b[0] + b[1]*u + b[2]*v + b[3]*u*u + b[4]*u*v + b[5]*v*v
}

func randomBend(rng *rand.Rand, h float64) bend {
	var b bend
	for k := 1; k < 6; k++ {
		b[k] = h / 2 * rng.NormFloat64()
	}
	lowest := math.Inf(1)
	for i := -10; i <= 10; i++ {
		for j := -10; j <= 10; j++ {
			lowest = math.Min(lowest, b.at(float64(i)/10, float64(j)/10))
		}
	}
	b[0] = -lowest
	return b
}

func SeenThrough(rng *rand.Rand, w World, t *Truth, c Target, aniso float64) measure.Target {
	out := c.Target
	out.Marks = append([]measure.TargetMark(nil), c.Marks...)
	b := randomBend(rng, w.CardOutOfFlat)
	for i := range out.Marks {
		m := &out.Marks[i]
		x := m.Drawn.X*(1+aniso/2) + w.Placement*rng.NormFloat64()
		y := m.Drawn.Y*(1-aniso/2) + w.Placement*rng.NormFloat64()
		p := c.At.Apply(plane.Point{X: x, Y: y})
		z := b.at((m.Drawn.X-c.Centre.X)/c.Half.X, (m.Drawn.Y-c.Centre.Y)/c.Half.Y)
		m.Seen = t.See(p.X, p.Y, z)
		m.Seen.X += w.Noise * rng.NormFloat64()
		m.Seen.Y += w.Noise * rng.NormFloat64()
		m.Sigma = math.Max(w.Noise, 0.01)
	}
	return out
}
