package measure_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fairedge/internal/camera"
	"fairedge/internal/card"
	"fairedge/internal/detect"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/problem"
)

func phoneEXIF() photo.Lens {
	return photo.Lens{Make: "Maker", Model: "Maker Seven", FocalMM: 4.2, Focal35MM: 26, Orientation: 1}
}

func sampleProfile() measure.LensProfile {
	return measure.LensProfile{
		Make: "Maker", Model: "Maker Seven", FocalMM: 4.2, Focal35MM: 26, Width: 4032, Height: 3024,
		Lens:        camera.Lens{F: 3029, Centre: photo.Point{X: 2030, Y: 1500}, K1: 0.012, K2: -0.003, P1: 3e-4, P2: -5e-4},
		Uncertainty: measure.LensUncertainty{Focal: 0.003, CentreX: 3, CentreY: 4, K1: 0.002, K2: 1e-4, P1: 2e-4, P2: 1e-4},
		Moves:       measure.LensMoves{Focal: 0.004, Centre: 10},
	}
}

func TestProfileIsForItsOwnCameraOnly(t *testing.T) {
	p := sampleProfile()
	for name, c := range map[string]struct {
		change        func(*photo.Lens)
		width, height int
		want          bool
	}{
		"its own":                {func(*photo.Lens) {}, 4032, 3024, true},
		"upright":                {func(l *photo.Lens) { l.Orientation = 6 }, 3024, 4032, true},
		"half size":              {func(*photo.Lens) {}, 2016, 1512, true},
		"capitals":               {func(l *photo.Lens) { l.Make = "MAKER" }, 4032, 3024, true},
		"another model":          {func(l *photo.Lens) { l.Model = "Maker Eight" }, 4032, 3024, false},
		"no EXIF":                {func(l *photo.Lens) { *l = photo.Lens{} }, 4032, 3024, false},
		"its long lens":          {func(l *photo.Lens) { l.FocalMM, l.Focal35MM = 6, 52 }, 4032, 3024, false},
		"wide picture":           {func(*photo.Lens) {}, 4032, 2268, false},
		"turned without a word":  {func(*photo.Lens) {}, 3024, 4032, false},
		"zoomed":                 {func(l *photo.Lens) { l.Zoomed = true }, 4032, 3024, false},
		"cropped":                {func(l *photo.Lens) { l.Cropped = true }, 4032, 3024, false},
		"mirrored":               {func(l *photo.Lens) { l.Orientation = 2 }, 4032, 3024, false},
		"focal length not there": {func(l *photo.Lens) { l.FocalMM = 0 }, 4032, 3024, false},
	} {
		lens := phoneEXIF()
		c.change(&lens)
		if got := p.Fits(lens, c.width, c.height); got != c.want {
			t.Errorf("%s: fits = %v, want %v", name, got, c.want)
		}
	}
}

// A lens turned with its picture sees, at the turned place, the turned direction. The
// turns are written out from EXIF 2.32, tag 0x0112: 6 shows the stored picture's left
// side at the top, 3 its last row at the top, 8 its right side at the top.
func TestProfileTurnsWithThePicture(t *testing.T) {
	p := sampleProfile()
	const w, h = 4032.0, 3024.0
	for orientation, turn := range map[int]struct {
		width, height int
		place         func(photo.Point) photo.Point
		direction     func(camera.Normal) camera.Normal
	}{
		1: {4032, 3024, func(q photo.Point) photo.Point { return q }, func(n camera.Normal) camera.Normal { return n }},
		6: {3024, 4032, func(q photo.Point) photo.Point { return photo.Point{X: h - q.Y, Y: q.X} },
			func(n camera.Normal) camera.Normal { return camera.Normal{X: -n.Y, Y: n.X} }},
		3: {4032, 3024, func(q photo.Point) photo.Point { return photo.Point{X: w - q.X, Y: h - q.Y} },
			func(n camera.Normal) camera.Normal { return camera.Normal{X: -n.X, Y: -n.Y} }},
		8: {3024, 4032, func(q photo.Point) photo.Point { return photo.Point{X: q.Y, Y: w - q.X} },
			func(n camera.Normal) camera.Normal { return camera.Normal{X: n.Y, Y: -n.X} }},
	} {
		exif := phoneEXIF()
		exif.Orientation = orientation
		up := p.Over(measure.Priors{}, exif, turn.width, turn.height).Lens
		for _, n := range []camera.Normal{{X: 0.1, Y: 0.2}, {X: -0.5, Y: 0.3}, {X: 0.6, Y: -0.4}} {
			want, got := turn.place(p.Lens.PhotoFromNormal(n)), up.PhotoFromNormal(turn.direction(n))
			if pxApart(got, want) > 1e-9 {
				t.Errorf("orientation %d: %v is seen at %v, want %v", orientation, n, got, want)
			}
		}
	}
}

func pxApart(a, b photo.Point) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

func TestProfileScalesWithThePicture(t *testing.T) {
	p := sampleProfile()
	half := p.Over(measure.Priors{}, phoneEXIF(), 2016, 1512)
	full := p.Over(measure.Priors{}, phoneEXIF(), 4032, 3024)
	n := camera.Normal{X: 0.4, Y: -0.3}
	a, b := half.Lens.PhotoFromNormal(n), full.Lens.PhotoFromNormal(n)
	if math.Abs(2*a.X-b.X) > 1e-9 || math.Abs(2*a.Y-b.Y) > 1e-9 {
		t.Errorf("half a picture sees %v, a whole one %v", a, b)
	}
	// Independent errors add as squares: 3 and 4 make 5.
	if math.Abs(full.Focal-0.005) > 1e-12 || math.Abs(full.Centre-math.Hypot(4, 10)) > 1e-12 || half.Centre*2 != full.Centre {
		t.Errorf("focal length to %v, middle to %v and %v px", full.Focal, full.Centre, half.Centre)
	}
	if least := measure.DefaultProfileParams(); full.K1 != 0.002 || full.K2 != least.K2 {
		t.Errorf("k1 to %v, k2 to %v, want 0.002 and no better than %v", full.K1, full.K2, least.K2)
	}
}

// sightings turns a set back into what detect would say of it.
func sightings(set measure.Set) []detect.Sighting {
	var all []detect.Sighting
	for _, target := range set.Targets {
		design, err := card.DesignOf(target.ID)
		if err != nil {
			panic(err)
		}
		s := detect.Sighting{Card: target.ID}
		for _, mark := range design.Marks() {
			for _, m := range target.Marks {
				if design.Mark(mark.I, mark.J) == m.Drawn {
					s.Marks = append(s.Marks, detect.Mark{At: mark, Photo: m.Seen, Sigma: m.Sigma})
				}
			}
		}
		all = append(all, s)
	}
	return all
}

// lensPhotos are photos for LearnLens of one random phone.
func lensPhotos(rng *rand.Rand, n int) (phone, []measure.LensPhoto) {
	w := realistic()
	p := randomPhone(rng, w)
	var photos []measure.LensPhoto
	for i := range n {
		photos = append(photos, measure.LensPhoto{
			Name: string(rune('a'+i)) + ".jpg",
			Input: measure.Input{Sightings: sightings(p.lesson(rng, w, []target{targetOf(frame(0, 0, 0))}, i%2 == 1)), Width: photoWidth, Height: photoHeight,
				Lens: phoneEXIF(), Prints: []card.Print{exactPrint()}},
		})
	}
	return p, photos
}

func TestPhotosThatDoNotBelongTogetherAreRefused(t *testing.T) {
	for name, c := range map[string]struct {
		change func([]measure.LensPhoto) []measure.LensPhoto
		says   string
	}{
		"too few":        {func(p []measure.LensPhoto) []measure.LensPhoto { return p[:5] }, "6 to 15 photos"},
		"another camera": {func(p []measure.LensPhoto) []measure.LensPhoto { p[3].Input.Lens.Model = "Other"; return p }, "d.jpg with Maker Other"},
		"another size":   {func(p []measure.LensPhoto) []measure.LensPhoto { p[1].Input.Width = 2000; return p }, "2000 x 3024"},
		"another lens":   {func(p []measure.LensPhoto) []measure.LensPhoto { p[5].Input.Lens.FocalMM = 6; return p }, "f.jpg at 6 mm"},
		"zoomed":         {func(p []measure.LensPhoto) []measure.LensPhoto { p[2].Input.Lens.Zoomed = true; return p }, "c.jpg was taken with digital zoom"},
		"cropped":        {func(p []measure.LensPhoto) []measure.LensPhoto { p[0].Input.Lens.Cropped = true; return p }, "a.jpg was cropped"},
		"twice": {func(p []measure.LensPhoto) []measure.LensPhoto { p[4].Input = p[1].Input; return p },
			"b.jpg and e.jpg are the same photo"},
	} {
		_, photos := lensPhotos(rand.New(rand.NewPCG(5, 5)), 6)
		_, _, err := measure.LearnLens(c.change(photos), measure.DefaultLensParams())
		if problem.KindOf(err) != problem.Usage || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error = %v, want one of kind usage that says %q", name, err, c.says)
		}
	}
}

// Photos that all look straight down from far away do not show the lens, and the
// verdict says so in words.
func TestWhatIsMissingIsSaid(t *testing.T) {
	w := realistic()
	rng := rand.New(rand.NewPCG(6, 6))
	p := randomPhone(rng, w)
	var views []measure.LensView
	for range 6 {
		lens := p.moved(rng, w)
		w.TiltHigh, w.Fill = 3, 0.3
		s := photographThrough(rng, w, []target{targetOf(frame(0, 0, 0))}, lens)
		production(&s.Set)
		views = append(views, measure.LensView{Set: s.Set, Orientation: 6})
	}
	l, err := measure.LearnLensFromSets(views, measure.DefaultLensParams())
	if err != nil {
		t.Fatal(err)
	}
	err = l.Reach.Verdict()
	t.Log(err)
	if problem.KindOf(err) != problem.NotAccurateEnough {
		t.Fatalf("verdict = %v, want kind %v", err, problem.NotAccurateEnough)
	}
	for _, word := range []string{"upper left", "lower right", "tilted"} {
		if !strings.Contains(err.Error(), word) {
			t.Errorf("%v does not say %q", err, word)
		}
	}
}

// A profile whose distortion is not the camera's (a lens cap, a converter, a repair) is
// left aside, and the photo measured as if there were none.
func TestProfileThatNoLongerFitsIsLeftAside(t *testing.T) {
	w := realistic()
	for seed := range uint64(2) {
		rng := rand.New(rand.NewPCG(seed, 9))
		s := photograph(rng, w, several())
		input := measure.Input{Sightings: sightings(s.Set), Width: photoWidth, Height: photoHeight, Lens: phoneEXIF(),
			Prints: []card.Print{exactPrint()}}
		profile := sampleProfile()
		profile.Lens = camera.Lens{F: s.Truth.F, Centre: photo.Point{X: s.Truth.Cx, Y: s.Truth.Cy}, K1: s.Truth.K1, K2: s.Truth.K2}
		profile.Uncertainty.P1, profile.Moves.Focal = 2e-4, 0.01
		for _, c := range []struct {
			off  float64
			used bool
		}{{0, true}, {0.06, false}, {-0.06, false}} {
			wrong := profile
			wrong.Lens.K1 += c.off
			input.Profile = &wrong
			got, err := measure.Calibrate(input)
			if err != nil {
				t.Fatal(err)
			}
			if used := got.Priors.Profile != ""; used != c.used {
				t.Errorf("scene %d, k1 off by %g: profile used = %v, want %v", seed, c.off, used, c.used)
			}
			if math.Abs(got.Camera.Lens.K1-s.Truth.K1) > 0.02 {
				t.Errorf("scene %d, k1 off by %g: k1 = %.3f, want %.3f", seed, c.off, got.Camera.Lens.K1, s.Truth.K1)
			}
		}
	}
}

// Photos held upright and flat teach the same lens as those held one way: the marks are
// turned, the lens must not notice.
func TestLensIsLearntFromTurnedPhotos(t *testing.T) {
	_, photos := lensPhotos(rand.New(rand.NewPCG(8, 8)), 6)
	straight, _, err := measure.LearnLens(photos, measure.DefaultLensParams())
	if err != nil {
		t.Fatal(err)
	}
	for i := range photos { // as EXIF 6 turns them: (u, v) becomes (h - v, u)
		if i%2 == 0 {
			continue
		}
		in := &photos[i].Input
		for _, s := range in.Sightings {
			for k, m := range s.Marks {
				s.Marks[k].Photo = photo.Point{X: photoHeight - m.Photo.Y, Y: m.Photo.X}
			}
		}
		in.Width, in.Height, in.Lens.Orientation = photoHeight, photoWidth, 6
	}
	turned, _, err := measure.LearnLens(photos, measure.DefaultLensParams())
	if err != nil {
		t.Fatal(err)
	}
	a, b := straight.Lens, turned.Lens
	if math.Abs(a.F-b.F) > 1e-6*a.F || pxApart(a.Centre, b.Centre) > 1e-3 || math.Abs(a.K1-b.K1) > 1e-6 || math.Abs(a.P1-b.P1) > 1e-7 {
		t.Errorf("turned photos teach %+v, straight ones %+v", b, a)
	}
}
