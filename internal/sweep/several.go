package sweep

import (
	"math/rand/v2"

	"fairedge/internal/curve"
	"fairedge/internal/fusion"
	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// severalPoints of the outline: one every 5 mm. edgeNoise is how exactly each is seen,
// px: package detect finds the middle of a good line to 0.05, and neighbours err together.
const (
	severalPoints = 330
	edgeNoise     = 0.1
)

// severalPhotos is how many photos of a template are averaged.
const severalPhotos = 3

// Several is photos of one template by one phone.
type Several struct {
	Case
	// LaidAnew: the cards are taken up and laid down again, turned by 90 degrees more each
	// time, before each photo.
	LaidAnew bool
}

// Photos takes the i-th scene's photos. The phone's focal length and principal point move
// from photo to photo within half the bounds within which a phone is known, as focusing
// and stabilising do; the rest of its lens stays.
func (s Several) Photos(i int) []Scene {
	rng := Seeded(s.Seed + uint64(i))
	w := s.World
	lens := RandomTruth(rng, w)
	stated := lens.F * (1 + w.F/2*w.spread(rng))
	bench := LayOut(rng, w, s.Targets, severalPoints)
	var scenes []Scene
	for k := range severalPhotos {
		if s.LaidAnew && k > 0 {
			bench = bench.laidAnew(rng)
		}
		moved := lens
		moved.F *= 1 + w.F/2*w.spread(rng)
		moved.Cx, moved.Cy = moved.Cx+w.PP/2*w.spread(rng), moved.Cy+w.PP/2*w.spread(rng)
		scene := bench.Photograph(rng, moved)
		scene.Set.Candidates = []measure.Priors{priorsOf(w, stated)}
		if s.Tune != nil {
			s.Tune(&scene.Set)
		}
		scenes = append(scenes, scene)
	}
	return scenes
}

// laidAnew lays the same prints down again, each turned by a quarter about its middle and
// with another bend.
func (b Bench) laidAnew(rng *rand.Rand) Bench {
	out := b
	out.Targets, out.marks = append([]Target(nil), b.Targets...), nil
	for ti := range out.Targets {
		t := &out.Targets[ti]
		before := t.At
		t.At = before.After(plane.RigidFromAngle(quarter, plane.Vec{}))
		height := randomBend(rng, b.World.CardOutOfFlat)
		var marks [][3]float64
		for i, m := range b.marks[ti] {
			printed := before.Inverse().Apply(plane.Point{X: m[0], Y: m[1]})
			p := t.At.Apply(printed)
			at := t.Marks[i].Drawn
			marks = append(marks, [3]float64{p.X, p.Y, height.at((at.X-t.Centre.X)/t.Half.X, (at.Y-t.Centre.Y)/t.Half.Y)})
		}
		out.marks = append(out.marks, marks)
	}
	return out
}

const quarter = 1.5707963267948966 // rad

// Seen measures a scene into what fusion takes, its edge seen with noise at every point of
// the outline.
func (s Scene) Seen(rng *rand.Rand, params measure.Params) (fusion.Photo, error) {
	c, err := measure.CalibrateWith(s.Set, params)
	if err != nil {
		return fusion.Photo{}, err
	}
	p := fusion.Photo{Calibration: c, Camera: "phone"}
	var points []plane.Point
	for _, q := range s.Outline {
		seen := s.Truth.See(q.X, q.Y, s.Truth.OutlineHeight)
		seen.X, seen.Y = seen.X+edgeNoise*rng.NormFloat64(), seen.Y+edgeNoise*rng.NormFloat64()
		at := c.PlaneFromPhoto(seen)
		sigma := edgeNoise * c.MillimetresPerPixel(at)
		p.Uncertainty, p.Noise = sigma, sigma
		points = append(points, at)
		p.Samples = append(p.Samples, measure.Sample{At: at, Sigma: sigma})
	}
	p.Path = curve.Polygon(points...)
	b, err := c.Budget(outlineOf(p.Samples))
	p.Within = b.Within
	return p, err
}

func outlineOf(samples []measure.Sample) measure.Outline {
	o := measure.Outline{Closed: true}
	for _, s := range samples {
		o.Points = append(o.Points, s.At)
	}
	return o
}

// MeasureSeveral measures the i-th scene's photos and fuses them; alone is what the first
// photo says by itself.
func (s Several) MeasureSeveral(i int) (alone, fused Outcome) {
	rng := Seeded(s.Seed + uint64(i) + 1<<40)
	var photos []fusion.Photo
	var truth []plane.Point
	for _, scene := range s.Photos(i) {
		p, err := scene.Seen(rng, s.Params)
		if err != nil {
			return Outcome{Err: err}, Outcome{Err: err}
		}
		photos, truth = append(photos, p), scene.Outline
	}
	alone = outcomeOf(photos[0].Samples, truth)
	alone.Budget, alone.Err = photos[0].Calibration.Budget(withSigma(outlineOf(photos[0].Samples), photos[0].Uncertainty))
	f, err := fusion.Fuse(photos, fusion.DefaultParams())
	if err != nil {
		return alone, Outcome{Err: err}
	}
	fused = outcomeOf(f.Samples, truth)
	fused.Budget, fused.Err = f.Budget(outlineOf(f.Samples))
	fused.NotAll = len(f.Used) < len(photos)
	return alone, fused
}

func withSigma(o measure.Outline, sigma float64) measure.Outline {
	o.Sigma = make([]float64, len(o.Points))
	for i := range o.Sigma {
		o.Sigma[i] = sigma
	}
	return o
}

// outcomeOf compares samples, in order with the truth's points, with the truth.
func outcomeOf(samples []measure.Sample, truth []plane.Point) Outcome {
	o := Outcome{Truth: truth}
	points := outlineOf(samples).Points
	m := plane.BestRigid(points, truth)
	for _, p := range points {
		o.Measured = append(o.Measured, m.Apply(p))
	}
	return o
}

// SeveralCases lists the layouts, with the cards left lying and laid anew.
func SeveralCases() []Several {
	var out []Several
	for _, c := range layouts() {
		c.World, c.Priors, c.Tune, c.Params, c.Seed = Realistic(), "program", Production, measure.DefaultParams(), reportSeed
		out = append(out, Several{c, false}, Several{c, true})
	}
	return out
}
