package measure_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"fairedge/internal/card"
	"fairedge/internal/detect"
	"fairedge/internal/length"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// sightingsOf turns a scene of cards into what package detect would say.
func sightingsOf(t *testing.T, s scene, cards []laid) []detect.Sighting {
	t.Helper()
	var all []detect.Sighting
	for i, l := range cards {
		d, err := card.DesignOf(l.ID)
		if err != nil {
			t.Fatal(err)
		}
		sighting := detect.Sighting{Card: l.ID}
		for k, m := range d.Marks() {
			mark := s.Set.Targets[i].Marks[k]
			sighting.Marks = append(sighting.Marks, detect.Mark{At: m, Photo: mark.Seen, Sigma: mark.Sigma})
		}
		all = append(all, sighting)
	}
	return all
}

func inputOf(t *testing.T, w world, seed uint64, cards ...laid) (measure.Input, scene) {
	t.Helper()
	var targets []target
	for _, c := range cards {
		targets = append(targets, targetOf(c))
	}
	s := photograph(seeded(seed), w, targets)
	focal35 := math.Round(s.Truth.F * math.Hypot(36, 24) / math.Hypot(photoWidth, photoHeight))
	return measure.Input{
		Sightings: sightingsOf(t, s, cards), Width: photoWidth, Height: photoHeight,
		Lens: photo.Lens{Make: "Google", Model: "Pixel 7", Focal35MM: focal35},
	}, s
}

func calibrate(t *testing.T, in measure.Input) *measure.Calibration {
	t.Helper()
	c, err := measure.Calibrate(in)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func shapeError(c *measure.Calibration, s scene) (rms, worst float64) {
	measured := outlineOf(c, s)
	m := plane.BestRigid(measured, s.Outline)
	for k := range measured {
		measured[k] = m.Apply(measured[k])
	}
	e := normalErrors(measured, s.Outline)
	for _, v := range e {
		worst = math.Max(worst, math.Abs(v))
	}
	return rmsOf(e), worst
}

// An F has no mirror symmetry: its measured points fit the true ones by a turn and
// a shift, and do not fit their mirror image. The photo's up is the plane's +y.
func TestPlaneIsNotMirrored(t *testing.T) {
	in, s := inputOf(t, idealOptics(), 3, loose(2, 0, 250, 30), loose(1, -290, 0, 170))
	c := calibrate(t, in)
	f := []plane.Point{{X: 0, Y: 0}, {X: 0, Y: 100}, {X: 60, Y: 100}, {X: 0, Y: 55}, {X: 40, Y: 55}}
	var measured, mirror []plane.Point
	for _, p := range f {
		measured = append(measured, c.PlaneFromPhoto(s.Truth.See(p.X, p.Y, 0)))
		mirror = append(mirror, plane.Point{X: -p.X, Y: p.Y})
	}
	misfit := func(want []plane.Point) float64 {
		m, worst := plane.BestRigid(measured, want), 0.0
		for i := range want {
			worst = math.Max(worst, m.Apply(measured[i]).DistanceTo(want[i]))
		}
		return worst
	}
	if e := misfit(f); e > 0.5 {
		t.Errorf("the F is off by %.2f mm", e)
	}
	if e := misfit(mirror); e < 10 {
		t.Errorf("the F fits its mirror image to %.2f mm", e)
	}
	middle := photo.Point{X: photoWidth / 2, Y: photoHeight / 2}
	up := c.PlaneFromPhoto(photo.Point{X: middle.X, Y: middle.Y - 100}).Sub(c.PlaneFromPhoto(middle))
	if math.Abs(up.Angle()-math.Pi/2) > 0.3 {
		t.Errorf("the photo's up lies at %.2f rad in the plane, want about %.2f", up.Angle(), math.Pi/2)
	}
	// Origin in the middle of the card with the lowest number, which is listed last.
	first := plane.RigidFromAngle(170*math.Pi/180, plane.Vec{X: -290}).Apply(plane.Point{})
	design, _ := card.DesignOf(loose(1, 0, 0, 0).ID)
	field := design.FieldMin.Add(plane.Vec{X: float64(design.Cols) * card.Pitch / 2, Y: float64(design.Rows) * card.Pitch / 2})
	first = plane.RigidFromAngle(170*math.Pi/180, plane.Vec{X: -290}).Apply(field)
	if got := c.PlaneFromPhoto(s.Truth.See(first.X, first.Y, 0)); got.DistanceTo(plane.Point{}) > 0.5 {
		t.Errorf("the middle of card 1 lies at %v, want the origin", got)
	}
}

func TestPhotoAndPlaneInvertEachOther(t *testing.T) {
	in, _ := inputOf(t, realistic(), 5, loose(1, -290, 0, 0), loose(2, 290, 0, 0))
	in.TemplateHeight = 25 * length.Millimetre
	c := calibrate(t, in)
	for x := 100.0; x < photoWidth; x += 371 {
		for y := 100.0; y < photoHeight; y += 311 {
			p := photo.Point{X: x, Y: y}
			at := c.PlaneFromPhoto(p)
			back := c.PhotoFromPlane(at)
			if math.Hypot(back.X-x, back.Y-y) > 1e-7 {
				t.Errorf("%v -> %v -> %v", p, at, back)
			}
			// The area of a pixel, from its corners.
			corner := func(dx, dy float64) plane.Vec {
				return c.PlaneFromPhoto(photo.Point{X: x + dx, Y: y + dy}).Sub(at)
			}
			area := math.Abs(corner(0.5, -0.5).Sub(corner(-0.5, 0.5)).Cross(corner(0.5, 0.5).Sub(corner(-0.5, -0.5)))) / 2
			if got := c.MillimetresPerPixel(at); math.Abs(got-math.Sqrt(area)) > 1e-4*got {
				t.Errorf("%v: %.6f mm per pixel, want %.6f", at, got, math.Sqrt(area))
			}
		}
	}
}

// Each card's PlaneFromCard puts its marks where the photo shows them.
func TestPlaneFromCard(t *testing.T) {
	cards := []laid{loose(1, -290, 100, 12), loose(3, 290, -50, -100)}
	in, _ := inputOf(t, idealOptics(), 6, cards...)
	c := calibrate(t, in)
	for i, s := range in.Sightings {
		d, _ := card.DesignOf(s.Card)
		if c.Cards[i].ID != s.Card {
			t.Errorf("card %d is %v, want %v", i, c.Cards[i].ID, s.Card)
		}
		for _, m := range s.Marks {
			want := c.PlaneFromPhoto(m.Photo)
			if got := c.Cards[i].PlaneFromCard.Apply(d.Mark(m.At.I, m.At.J)); got.DistanceTo(want) > 0.6 {
				t.Errorf("%v %v: %v, the photo shows it at %v", s.Card, m.At, got, want)
			}
		}
	}
}

// The focal length that a phone states is not believed against the marks: with an
// EXIF value 30 % wrong the answer stays about as good.
func TestWrongFocalLength(t *testing.T) {
	cards := []laid{loose(1, -300, 230, 0), loose(2, 300, 230, 0), loose(3, -300, -230, 0), loose(4, 300, -230, 0)}
	w := idealOptics()
	w.TiltLow, w.TiltHigh = 20, 30
	in, s := inputOf(t, w, 8, cards...)
	in.Lens.Focal35MM *= 1.3
	c := calibrate(t, in)
	if rms, worst := shapeError(c, s); rms > 0.2 || worst > 0.5 {
		t.Errorf("shape error %.2f rms, %.2f worst", rms, worst)
	}
	if share := c.Camera.Lens.F / s.Truth.F; math.Abs(share-1) > 0.02 {
		t.Errorf("focal length %.3f of the true one", share)
	}
}

// A webcam's barrel (k1 as OpenCV's sample camera has it) without any EXIF, where a
// phone is expected: the marks say so.
func TestStrongDistortionWithoutEXIF(t *testing.T) {
	for seed := range uint64(2) {
		cards := []laid{loose(1, -300, 230, 0), loose(2, 300, 230, 0), loose(3, -300, -230, 0), loose(4, 300, -230, 0)}
		var targets []target
		for _, c := range cards {
			targets = append(targets, targetOf(c))
		}
		w := idealOptics()
		w.K1Mean, w.TiltHigh = -0.27, 25
		w.FocalLow, w.FocalHigh = 29, 34 // wider, and the barrel folds inside the picture
		s := photograph(seeded(seed), w, targets)
		c := calibrate(t, measure.Input{Sightings: sightingsOf(t, s, cards), Width: photoWidth, Height: photoHeight})
		if rms, worst := shapeError(c, s); rms > 0.1 || worst > 0.3 || c.Camera.Lens.K1 > -0.15 {
			t.Errorf("seed %d: shape error %.2f rms, %.2f worst; k1 %.3f, true %.3f", seed, rms, worst, c.Camera.Lens.K1, s.Truth.K1)
		}
	}
}

// Marks read one lattice step off are set aside and named.
func TestWrongMarksAreSetAside(t *testing.T) {
	in, s := inputOf(t, idealOptics(), 9, loose(1, -290, 0, 0), loose(2, 290, 0, 0))
	clean, _ := shapeError(calibrate(t, in), s)
	wrong := []int{3, 40, 41, 77, 100, 120}
	for _, k := range wrong {
		in.Sightings[0].Marks[k].Photo.X += 38 // 7 mm at 0.18 mm per pixel
	}
	c := calibrate(t, in)
	if len(c.Evidence.Blunders) != len(wrong) {
		t.Fatalf("%d marks set aside, want %d", len(c.Evidence.Blunders), len(wrong))
	}
	for i, b := range c.Evidence.Blunders {
		if b.Mark != wrong[i] || math.Abs(b.Off-38) > 2 {
			t.Errorf("set aside %+v, want mark %d, 38 px off", b, wrong[i])
		}
	}
	if rms, _ := shapeError(c, s); rms > 2*clean+0.05 {
		t.Errorf("shape error %.3f mm with wrong marks, %.3f without", rms, clean)
	}
}

func TestCalibrateSaysWhatIsWrong(t *testing.T) {
	good, _ := inputOf(t, idealOptics(), 10, loose(1, -290, 0, 0), loose(2, 290, 0, 0))
	for _, c := range []struct {
		name  string
		spoil func(*measure.Input)
		kind  problem.Kind
		says  string
	}{
		{"no card", func(in *measure.Input) { in.Sightings = nil }, problem.NoCard, "no scale card"},
		{"few marks", func(in *measure.Input) {
			in.Sightings = in.Sightings[:1]
			in.Sightings[0].Marks = in.Sightings[0].Marks[:9]
		}, problem.TooFewMarks, "only 9"},
		{"two scraps of cards", func(in *measure.Input) {
			in.Sightings[0].Marks, in.Sightings[1].Marks = in.Sightings[0].Marks[:7], in.Sightings[1].Marks[:6]
		}, problem.TooFewMarks, "only 13"},
		{"marks in line", func(in *measure.Input) {
			in.Sightings = in.Sightings[:1]
			var line []detect.Mark
			for _, m := range in.Sightings[0].Marks {
				if m.At.J < 3 {
					m.Photo.Y = 500 + 0.3*m.Photo.X
					line = append(line, m)
				}
			}
			in.Sightings[0].Marks = line
		}, problem.PoorFit, "A4 card 1"},
		{"mirrored", func(in *measure.Input) {
			for i := range in.Sightings {
				for k := range in.Sightings[i].Marks {
					p := &in.Sightings[i].Marks[k].Photo
					p.X = photoWidth - p.X
				}
			}
		}, problem.PoorFit, "seen from above"},
		{"crumpled", func(in *measure.Input) {
			rng := seeded(1)
			for k := range in.Sightings[0].Marks {
				p := &in.Sightings[0].Marks[k].Photo
				p.X, p.Y = p.X+6*rng.NormFloat64(), p.Y+6*rng.NormFloat64()
			}
			in.Sightings = in.Sightings[:1]
		}, problem.PoorFit, "pixels"},
		{"twice the same card", func(in *measure.Input) { in.Sightings[1].Card = in.Sightings[0].Card }, problem.PoorFit, "twice"},
	} {
		in := good
		in.Sightings = nil
		for _, s := range good.Sightings {
			s.Marks = append([]detect.Mark(nil), s.Marks...)
			in.Sightings = append(in.Sightings, s)
		}
		c.spoil(&in)
		_, err := measure.Calibrate(in)
		if problem.KindOf(err) != c.kind || err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v (%v), want kind %v with %q", c.name, err, problem.KindOf(err), c.kind, c.says)
		}
	}
}

// A print that a ruler found 1 % too long makes everything 1 % longer, whether
// along or across, and a template on 25 mm foam keeps its size when told so: the
// study has 22 to 23 mm of width when ignored, 0.1 mm rms when told.
func TestPrintScaleAndTemplateHeight(t *testing.T) {
	cards := []laid{loose(1, -300, 230, 0), loose(2, 300, 230, 0), loose(3, -300, -230, 0), loose(4, 300, -230, 0)}
	in, s := inputOf(t, idealOptics(), 11, cards...)
	plain := measuresOf(outlineOf(calibrate(t, in), s))
	long := card.Ratio{Value: 1.01, Uncertainty: 0.0003}
	in.Prints = []card.Print{{Paper: card.A4, Along: long, Across: long, Measured: time.Unix(1e9, 0)}}
	if got := measuresOf(outlineOf(calibrate(t, in), s)) / plain; math.Abs(got-1.01) > 2e-4 {
		t.Errorf("1 %% longer print: outline %.4f times as long", got)
	}
	in.Prints = nil
	s.Truth.OutlineHeight = 25
	in.TemplateHeight = 25 * length.Millimetre
	if rms, worst := shapeError(calibrate(t, in), s); rms > 0.2 || worst > 0.6 {
		t.Errorf("on 25 mm foam, told: %.2f mm rms, %.2f worst", rms, worst)
	}
	in.TemplateHeight = 0
	c := calibrate(t, in)
	box := plane.RectFromPoints(s.Outline...)
	grown := measuresOf(outlineOf(c, s)) / measuresOf(s.Outline)
	// Similar triangles about the camera: distance/(distance - 25).
	if want := c.Distance() / (c.Distance() - 25); math.Abs(grown-want) > 0.003 || box.Width() < 400 {
		t.Errorf("on 25 mm foam, ignored: %.4f times as long, want %.4f", grown, want)
	}
}

func measuresOf(points []plane.Point) (perimeter float64) {
	for i, p := range points {
		perimeter += p.DistanceTo(points[(i+1)%len(points)])
	}
	return perimeter
}

func TestCalibrateIsDeterministic(t *testing.T) {
	in, s := inputOf(t, realistic(), 12, loose(1, -290, 0, 0), loose(2, 290, 0, 0))
	a := calibrate(t, in)
	in.Sightings[0], in.Sightings[1] = in.Sightings[1], in.Sightings[0]
	b := calibrate(t, in)
	if a.Camera != b.Camera {
		t.Errorf("the order of the sightings changes the camera: %+v and %+v", a.Camera, b.Camera)
	}
	o := measure.Outline{Points: outlineOf(a, s), Closed: true}
	x, _ := a.Budget(o)
	y, _ := b.Budget(o)
	if x.Within != y.Within || x.Width != y.Width {
		t.Errorf("two budgets of one outline: %v and %v", x.Within, y.Within)
	}
}

func TestTrace(t *testing.T) {
	in, s := inputOf(t, idealOptics(), 13, loose(1, -290, 0, 0), loose(2, 290, 0, 0))
	c := calibrate(t, in)
	see := func(x, y float64) photo.Point { return s.Truth.See(x, y, 0) }
	nowhere := photo.Point{X: math.NaN(), Y: math.NaN()}
	edge := detect.Edge{Kind: detect.Line, Samples: []detect.EdgeSample{
		{Centre: see(100, 0), Inner: see(99, 0), Outer: see(101, 0), Sigma: 0.2, SheetEdge: true},
		{Centre: see(0, 100), Inner: see(0, 99), Outer: see(0, 101), Sigma: 0.4, Bridged: true},
		{Centre: nowhere, Inner: nowhere, Outer: nowhere},
	}, Ticks: []detect.Tick{{At: see(100, 0), From: see(95, 0), To: see(105, 0)}}}
	apart := map[measure.Side]float64{measure.Inner: 99, measure.Centre: 100, measure.Outer: 101}
	for side, r := range apart {
		traced := c.Trace(edge, side)
		if len(traced.Samples) != 2 || len(traced.Ticks) != 1 || traced.Kind != detect.Line {
			t.Fatalf("traced %+v", traced)
		}
		a, b := traced.Samples[0], traced.Samples[1]
		if got := a.At.DistanceTo(b.At); math.Abs(got-r*math.Sqrt2) > 0.2 {
			t.Errorf("side %d: samples %.2f mm apart, want %.2f", side, got, r*math.Sqrt2)
		}
		if !a.SheetEdge || a.Bridged || b.SheetEdge || !b.Bridged {
			t.Errorf("flags lost: %+v %+v", a, b)
		}
		if want := 0.2 * c.MillimetresPerPixel(a.At); a.Sigma != want {
			t.Errorf("sigma %.4f mm, want %.4f", a.Sigma, want)
		}
		if got := traced.Ticks[0].From.DistanceTo(traced.Ticks[0].To); math.Abs(got-10) > 0.05 {
			t.Errorf("the tick is %.3f mm long, want 10", got)
		}
	}
}

// Marks at random places are refused in words, whatever the fit does with them.
func TestRandomMarksAreRefused(t *testing.T) {
	good, _ := inputOf(t, idealOptics(), 14, loose(1, -290, 0, 0))
	for seed := range uint64(6) {
		rng := seeded(seed)
		in := good
		marks := append([]detect.Mark(nil), good.Sightings[0].Marks...)
		for k := range marks {
			marks[k].Photo = photo.Point{X: photoWidth * rng.Float64(), Y: photoHeight * rng.Float64()}
		}
		in.Sightings = []detect.Sighting{{Card: good.Sightings[0].Card, Marks: marks}}
		if _, err := measure.Calibrate(in); problem.KindOf(err) != problem.PoorFit {
			t.Errorf("seed %d: %v (%v), want %v", seed, err, problem.KindOf(err), problem.PoorFit)
		}
	}
}

// Pixels above the horizon see no place on the bench.
func TestAboveTheHorizon(t *testing.T) {
	w := idealOptics()
	w.TiltLow, w.TiltHigh = 35, 40
	in, _ := inputOf(t, w, 15, loose(1, -290, 0, 0), loose(2, 290, 0, 0))
	c := calibrate(t, in)
	none := 0
	for k := range 72 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 36)
		p := photo.Point{X: photoWidth/2 + 6000*cos, Y: photoHeight/2 + 6000*sin}
		at := c.PlaneFromPhoto(p)
		if !at.IsFinite() {
			none++
			continue
		}
		if back := c.PhotoFromPlane(at); math.Hypot(back.X-p.X, back.Y-p.Y) > 1e-5 {
			t.Errorf("%v -> %v -> %v", p, at, back)
		}
	}
	// The horizon passes F / tan 38° = 3900 px from the middle: a part of a circle of
	// 6000 px lies beyond it, and not all.
	if none == 0 || none == 72 {
		t.Errorf("%d of 72 directions miss the bench", none)
	}
}
