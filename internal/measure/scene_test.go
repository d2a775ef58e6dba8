package measure_test

import (
	"math"
	"math/rand/v2"

	"fairedge/internal/camera"
	"fairedge/internal/card"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// This file is the truth of the Monte Carlo tests: scenes drawn at random and
// projected step by step, sharing no code with package camera.

const (
	photoWidth  = 4032
	photoHeight = 3024
)

// truth is a camera over the bench, in its own words: a position, a direction and
// trigonometry.
type truth struct {
	f, cx, cy      float64
	k1, k2, p1, p2 float64
	right, down    [3]float64 // camera axes in the bench frame, y up, z up
	ahead, eye     [3]float64
	warp           []wave
	outlineHeight  float64
}

// wave is one term of a smooth random displacement of the picture.
type wave struct{ kx, ky, phase, u, v float64 }

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// see returns the pixel that sees a bench point.
func (t *truth) see(x, y, z float64) photo.Point {
	d := [3]float64{x - t.eye[0], y - t.eye[1], z - t.eye[2]}
	depth := dot(d, t.ahead)
	a, b := dot(d, t.right)/depth, dot(d, t.down)/depth
	r := math.Hypot(a, b)
	swell := 1 + t.k1*math.Pow(r, 2) + t.k2*math.Pow(r, 4)
	da := a*swell + 2*t.p1*a*b + t.p2*(r*r+2*a*a)
	db := b*swell + t.p1*(r*r+2*b*b) + 2*t.p2*a*b
	u, v := t.cx+t.f*da, t.cy+t.f*db
	wu, wv := 0.0, 0.0
	for _, w := range t.warp {
		s := math.Sin(w.kx*u + w.ky*v + w.phase)
		wu, wv = wu+w.u*s, wv+w.v*s
	}
	return photo.Point{X: u + wu, Y: v + wv}
}

// aim turns the camera: it looks at the target point from distance, tilted away
// from the plumb line towards azimuth, rolled about its axis.
func (t *truth) aim(at plane.Point, distance, tilt, azimuth, roll float64) {
	st, ct := math.Sincos(tilt)
	sa, ca := math.Sincos(azimuth)
	t.ahead = [3]float64{-st * ca, -st * sa, -ct}
	t.eye = [3]float64{at.X - distance*t.ahead[0], at.Y - distance*t.ahead[1], -distance * t.ahead[2]}
	// Level axes: along the slope and across it, then rolled.
	up := [3]float64{-ct * ca, -ct * sa, st}
	side := [3]float64{-sa, ca, 0}
	sr, cr := math.Sincos(roll)
	for k := range 3 {
		t.right[k] = cr*side[k] + sr*up[k]
		t.down[k] = -sr*side[k] + cr*up[k]
	}
	// right x down must be ahead, or the picture is mirrored.
	cross := [3]float64{
		t.right[1]*t.down[2] - t.right[2]*t.down[1],
		t.right[2]*t.down[0] - t.right[0]*t.down[2],
		t.right[0]*t.down[1] - t.right[1]*t.down[0]}
	if dot(cross, t.ahead) < 0 {
		for k := range 3 {
			t.right[k] = -t.right[k]
		}
	}
}

// world says how good lens, print and bench are.
type world struct {
	name                  string
	k1, k2, f, pp, p1p2   float64 // sd, but f: half-width of a uniform share
	focalLow, focalHigh   float64 // 35 mm equivalent
	k1Mean                float64
	noise                 float64 // px
	cardOutOfFlat         float64 // h, mm: tilt and bend terms sd h/2, lowest point on the bench
	anisotropy, placement float64
	warp                  float64 // px rms per axis
	tiltLow, tiltHigh     float64 // degrees
	fill                  float64 // share of the frame
}

// idealOptics and realistic are the two error models of the study behind the goals:
// an unknown phone (k1 0.01, k2 0.005, f ±2 %, principal point ±20 px), tilt to 40
// degrees, 85 % of the frame filled.
func idealOptics() world {
	return world{name: "ideal optics", k1: 0.01, k2: 0.005, f: 0.02, pp: 20, focalLow: 24, focalHigh: 28,
		noise: 0.1, tiltHigh: 40, fill: 0.85}
}

func realistic() world {
	w := idealOptics()
	w.name, w.p1p2, w.cardOutOfFlat, w.anisotropy, w.placement, w.warp = "realistic", 2e-4, 0.3, 0.002, 0.03, 0.2
	return w
}

// laid is a card at a place on the bench.
type laid struct {
	id card.ID
	at plane.Rigid
}

func loose(n int, x, y, degrees float64) laid {
	id := card.ID{Edition: card.Edition, Paper: card.A4, Number: n}
	return laid{id, plane.RigidFromAngle(degrees*math.Pi/180, plane.Vec{X: x, Y: y})}
}

func frame(x, y, degrees float64) laid { return loose(card.Frame, x, y, degrees) }

// scene is one photograph's marks, and the truth behind it.
type scene struct {
	truth   truth
	set     measure.Set
	outline []plane.Point
}

// seat is a rounded trapezoid of 450 x 430 mm, a superellipse that narrows towards
// the back, as n points counter-clockwise.
func seat(n int) []plane.Point {
	points := make([]plane.Point, n)
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		soft := func(v float64) float64 { return math.Copysign(math.Pow(math.Abs(v), 0.4), v) }
		x, y := soft(c), soft(s)
		points[i] = plane.Point{X: 225 * x * (1 - 0.1*(1+y)/2), Y: 215 * y}
	}
	return points
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

func randomTruth(rng *rand.Rand, w world) truth {
	var t truth
	n := rng.NormFloat64
	focal35 := w.focalLow + (w.focalHigh-w.focalLow)*rng.Float64()
	t.f = focal35 * math.Hypot(photoWidth, photoHeight) / math.Hypot(36, 24)
	t.cx = photoWidth/2 + w.pp*(2*rng.Float64()-1)
	t.cy = photoHeight/2 + w.pp*(2*rng.Float64()-1)
	t.k1, t.k2, t.p1, t.p2 = w.k1Mean+w.k1*n(), w.k2*n(), w.p1p2*n(), w.p1p2*n()
	if w.warp > 0 {
		// A dozen waves, half to one and a half periods across the picture; a sine's mean
		// square is a half.
		const waves = 12
		for range waves {
			angle, periods := 2*math.Pi*rng.Float64(), 0.5+rng.Float64()
			k := 2 * math.Pi * periods / photoWidth
			amplitude := w.warp * math.Sqrt(2.0/waves)
			t.warp = append(t.warp, wave{k * math.Cos(angle), k * math.Sin(angle), 2 * math.Pi * rng.Float64(), amplitude * n(), amplitude * n()})
		}
	}
	return t
}

// target is a field of marks laid on the bench.
type target struct {
	measure.Target
	at plane.Rigid
}

func targetOf(l laid) target {
	d, err := card.DesignOf(l.id)
	if err != nil {
		panic(err)
	}
	half := plane.Vec{X: float64(d.Cols) * card.Pitch / 2, Y: float64(d.Rows) * card.Pitch / 2}
	t := measure.Target{Name: l.id.String(), ID: l.id, Centre: d.FieldMin.Add(half), Half: half}
	for _, m := range d.Marks() {
		t.Marks = append(t.Marks, measure.TargetMark{Drawn: d.Mark(m.I, m.J)})
	}
	return target{t, l.at}
}

// a5 is the study's full A5 card: 13 x 19 marks at 10 mm.
func a5(x, y, degrees float64) target {
	var marks []measure.TargetMark
	for j := range 19 {
		for i := range 13 {
			marks = append(marks, measure.TargetMark{Drawn: plane.Point{X: float64(i-6) * 10, Y: float64(j-9) * 10}})
		}
	}
	return target{measure.NewTarget("A5", marks), plane.RigidFromAngle(degrees*math.Pi/180, plane.Vec{X: x, Y: y})}
}

// photograph draws a scene: targets and outline through a random camera.
func photograph(rng *rand.Rand, w world, targets []target) scene {
	return photographThrough(rng, w, targets, randomTruth(rng, w))
}

// photographThrough is photograph through a given lens.
func photographThrough(rng *rand.Rand, w world, targets []target, lens truth) scene {
	s := scene{truth: lens, outline: seat(180)}
	t := &s.truth
	box := plane.RectFromPoints(s.outline...)
	for _, c := range targets {
		for _, m := range c.Marks {
			box = box.Include(c.at.Apply(m.Drawn))
		}
	}
	tilt := (w.tiltLow + (w.tiltHigh-w.tiltLow)*rng.Float64()) * math.Pi / 180
	azimuth, roll := 2*math.Pi*rng.Float64(), 0.0
	// Fill the frame: the box's corners reach the share of the frame's half size.
	roll = rollThatFits(t, box, tilt, azimuth)
	distance := distanceThatFills(t, box, tilt, azimuth, roll, w.fill)
	t.aim(box.Centre(), distance, tilt, azimuth, roll)
	aniso := w.anisotropy * rng.NormFloat64()
	for _, c := range targets {
		s.set.Targets = append(s.set.Targets, seenThrough(rng, w, t, c, aniso))
	}
	s.set.Width, s.set.Height = photoWidth, photoHeight
	s.set.Prints = []card.Print{exactPrint()}
	stated := t.f * (1 + w.f*(2*rng.Float64()-1))
	s.set.Candidates = []measure.Priors{priorsOf(w, stated)}
	return s
}

// exactPrint is a print whose scale is known: the study keeps it apart.
func exactPrint() card.Print {
	p := card.UnmeasuredPrint(card.A4, false)
	p.Along.Uncertainty, p.Across.Uncertainty = 1e-6, 1e-6
	return p
}

// priorsOf are the priors from which world w draws. A card whose lowest point
// touches the bench has a mean height of 1.16 ± 0.56 h (from 4000 draws of
// randomBend).
func priorsOf(w world, stated float64) measure.Priors {
	uniform := math.Sqrt(3)
	return measure.Priors{
		Lens:  camera.Lens{F: stated, Centre: photo.Point{X: photoWidth / 2, Y: photoHeight / 2}},
		Focal: w.f / uniform, Centre: w.pp / uniform, K1: w.k1, K2: w.k2, P1: w.p1p2, P2: w.p1p2,
		Anisotropy: w.anisotropy, Placement: w.placement, Warp: w.warp,
		CardLiftMean: 1.16 * w.cardOutOfFlat, CardLift: 0.56 * w.cardOutOfFlat,
		CardTilt: w.cardOutOfFlat / 2, CardBend: w.cardOutOfFlat / 2,
	}
}

func seenThrough(rng *rand.Rand, w world, t *truth, c target, aniso float64) measure.Target {
	out := c.Target
	out.Marks = append([]measure.TargetMark(nil), c.Marks...)
	b := randomBend(rng, w.cardOutOfFlat)
	for i := range out.Marks {
		m := &out.Marks[i]
		x := m.Drawn.X*(1+aniso/2) + w.placement*rng.NormFloat64()
		y := m.Drawn.Y*(1-aniso/2) + w.placement*rng.NormFloat64()
		p := c.at.Apply(plane.Point{X: x, Y: y})
		z := b.at((m.Drawn.X-c.Centre.X)/c.Half.X, (m.Drawn.Y-c.Centre.Y)/c.Half.Y)
		m.Seen = t.see(p.X, p.Y, z)
		m.Seen.X += w.noise * rng.NormFloat64()
		m.Seen.Y += w.noise * rng.NormFloat64()
		m.Sigma = math.Max(w.noise, 0.01)
	}
	return out
}

// reachOf returns how far the box's corners lie from the photo's middle, as a share
// of its half size.
func reachOf(t truth, box plane.Rect, distance, tilt, azimuth, roll float64) float64 {
	t.aim(box.Centre(), distance, tilt, azimuth, roll)
	t.warp = nil
	reach := 0.0
	for _, p := range []plane.Point{box.Min, box.Max, {X: box.Min.X, Y: box.Max.Y}, {X: box.Max.X, Y: box.Min.Y}} {
		s := t.see(p.X, p.Y, 0)
		reach = math.Max(reach, math.Max(math.Abs(s.X-photoWidth/2)/(photoWidth/2), math.Abs(s.Y-photoHeight/2)/(photoHeight/2)))
	}
	return reach
}

func rollThatFits(t *truth, box plane.Rect, tilt, azimuth float64) float64 {
	best, at := math.Inf(1), 0.0
	for k := range 72 {
		roll := float64(k) * math.Pi / 36
		if r := reachOf(*t, box, 900, tilt, azimuth, roll); r < best {
			best, at = r, roll
		}
	}
	return at
}

func distanceThatFills(t *truth, box plane.Rect, tilt, azimuth, roll, fill float64) float64 {
	low, high := 250.0, 5000.0
	for range 50 {
		middle := (low + high) / 2
		if reachOf(*t, box, middle, tilt, azimuth, roll) > fill {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}
