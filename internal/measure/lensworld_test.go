package measure_test

import (
	"math"
	"math/rand/v2"
	"os"
	"sync"
	"testing"

	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// phone is one phone's lens; its focal length and principal point move from photo to
// photo, evenly within the bounds that a feasibility study of phones assumes.
type phone struct {
	lens       truth
	anisotropy float64
}

func randomPhone(rng *rand.Rand, w world) phone {
	return phone{randomTruth(rng, w), w.Anisotropy * rng.NormFloat64()}
}

// moved is the lens as one photo has it.
func (p phone) moved(rng *rand.Rand, w world) truth {
	t := p.lens
	t.F *= 1 + w.F*(2*rng.Float64()-1)
	t.Cx += w.PP * (2*rng.Float64() - 1)
	t.Cy += w.PP * (2*rng.Float64() - 1)
	return t
}

// lesson is one photo of cards for learning: from a random side, the phone turned
// anyhow, filling the picture and a little off its middle. One in two leans by 20 to 35
// degrees, the other by up to 15.
func (p phone) lesson(rng *rand.Rand, w world, targets []target, leaning bool) measure.Set {
	t := p.moved(rng, w)
	box := plane.EmptyRect()
	for _, c := range targets {
		for _, m := range c.Marks {
			box = box.Include(c.At.Apply(m.Drawn))
		}
	}
	n := rng.NormFloat64
	at := plane.Point{X: box.Centre().X + 30*n(), Y: box.Centre().Y + 30*n()}
	tilt := 15 * math.Pi / 180 * rng.Float64()
	if leaning {
		tilt += 20 * math.Pi / 180
	}
	fill := 0.9 + 0.15*rng.Float64()
	azimuth, roll := 2*math.Pi*rng.Float64(), 2*math.Pi*rng.Float64()
	t.Aim(at, distanceThatFills(&t, box, tilt, azimuth, roll, fill), tilt, azimuth, roll)
	set := measure.Set{Width: photoWidth, Height: photoHeight}
	for _, c := range targets {
		seen := seenThrough(rng, w, &t, c, p.anisotropy)
		var inside []measure.TargetMark
		for _, m := range seen.Marks {
			if m.Seen.X > 0 && m.Seen.Y > 0 && m.Seen.X < photoWidth && m.Seen.Y < photoHeight {
				inside = append(inside, m)
			}
		}
		if seen.Marks = inside; len(inside) >= 8 {
			set.Targets = append(set.Targets, seen)
		}
	}
	set.Prints = append(set.Prints, exactPrint())
	// The focal length that EXIF states is the phone's, to its rounding.
	set.Candidates = []measure.Priors{measure.PriorsFor(measure.PhoneWithFocal,
		photo.Lens{Focal35MM: math.Round(p.lens.F * math.Hypot(36, 24) / math.Hypot(photoWidth, photoHeight))}, photoWidth, photoHeight)}
	return set
}

func (p phone) lessons(rng *rand.Rand, w world, n int) []measure.LensView {
	var views []measure.LensView
	for i := range n {
		views = append(views, measure.LensView{Set: p.lesson(rng, w, fewerMarks(several()), i%2 == 1)})
	}
	return views
}

// fewerMarks takes every third mark, to be quick: the lens is then known less well, and
// must be said to be. The full sweep takes all.
func fewerMarks(targets []target) []target {
	if os.Getenv("FAIREDGE_SLOW") != "" {
		return targets
	}
	for i := range targets {
		var kept []measure.TargetMark
		for k, m := range targets[i].Marks {
			if k%3 == 0 {
				kept = append(kept, m)
			}
		}
		targets[i].Marks = kept
	}
	return targets
}

// errors are the lens's true errors over its stated uncertainties. What moves from
// photo to photo has no true mean: the shared focal length and principal point are
// compared with the middle of their range.
func (p phone) errors(l *measure.LearnedLens) []float64 {
	u, t := l.Uncertainty, p.lens
	return []float64{
		math.Log(l.Lens.F/t.F) / u.Focal, (l.Lens.Centre.X - t.Cx) / u.CentreX, (l.Lens.Centre.Y - t.Cy) / u.CentreY,
		(l.Lens.K1 - t.K1) / u.K1, (l.Lens.K2 - t.K2) / u.K2, (l.Lens.P1 - t.P1) / u.P1, (l.Lens.P2 - t.P2) / u.P2,
	}
}

// taught is a phone with the profile that photos of cards gave.
type taught struct {
	phone
	profile measure.LensProfile
	learned *measure.LearnedLens
}

// teach draws phones and learns the lens of each, two at a time.
func teach(t *testing.T, w world, phones, photos int) []taught {
	t.Helper()
	all := make([]taught, phones)
	errs := make([]error, phones)
	var both sync.WaitGroup
	for worker := range 2 {
		both.Go(func() {
			for i := worker; i < phones; i += 2 {
				rng := rand.New(rand.NewPCG(uint64(i), 77))
				p := randomPhone(rng, w)
				l, err := measure.LearnLensFromSets(p.lessons(rng, w, photos), measure.DefaultLensParams())
				if errs[i] = err; err == nil {
					all[i] = taught{p, measure.LensProfile{Name: "learnt", Width: photoWidth, Height: photoHeight,
						Lens: l.Lens, Uncertainty: l.Uncertainty, Moves: l.Moves}, l}
				}
			}
		})
	}
	both.Wait()
	for _, err := range errs {
		if err != nil {
			t.Fatal(err)
		}
	}
	return all
}

func TestLensLearntFromPhotos(t *testing.T) {
	n := 3
	if os.Getenv("FAIREDGE_SLOW") != "" {
		n = 24
	}
	phones := teach(t, realistic(), n, 8)
	t.Run("recovered", func(t *testing.T) { lensIsRecovered(t, phones) })
	t.Run("later photos", func(t *testing.T) { laterPhotosAreBetter(t, realistic(), phones) })
}

// Eight photos of four cards that do not lie flat teach the lens. Its true errors are as
// large as stated: their rms over the stated uncertainties is 1, here with 21 of them
// (rms of so many independent ones: 1 ± 0.15; they hang together in each lens, so 1.4 is
// allowed), and none is beyond 3.5 (one in 2000). All photos together show enough.
func lensIsRecovered(t *testing.T, phones []taught) {
	var z []float64
	for _, p := range phones {
		e, l := p.errors(p.learned), p.learned
		t.Logf("%.2f; %.4f %+.4f; %.3f px, %d steps", e, l.Uncertainty, l.Moves, l.RMS, l.Steps)
		if err := l.Reach.Verdict(); err != nil {
			t.Error(err)
		}
		z = append(z, e...)
	}
	t.Logf("true over stated: %.2f rms, %.2f at most", rmsOf(z), quantile(absolute(z), 1))
	if rms := rmsOf(z); rms > 1.4 || quantile(absolute(z), 1) > 3.5 {
		t.Errorf("true errors are %.2f times the stated ones (at most %.2f)", rms, quantile(absolute(z), 1))
	}
}

// A lens with focus and stabiliser locked is found to be one: of the multiples of a
// phone's moves (see LensParams.MoveMultiples) the photos choose none above 0.3.
func TestLensThatStandsStillIsSeenTo(t *testing.T) {
	w := realistic()
	w.F, w.PP = 0, 0
	rng := rand.New(rand.NewPCG(4, 4))
	p := randomPhone(rng, w)
	params := measure.DefaultLensParams()
	l, err := measure.LearnLensFromSets(p.lessons(rng, w, 6), params)
	if err != nil {
		t.Fatal(err)
	}
	if most := 0.3 * params.MovesFocal; l.Moves.Focal > most {
		t.Errorf("focal length moves by %.4f, want %.4f at most", l.Moves.Focal, most)
	}
	e := p.errors(l)
	t.Logf("%.2f; %.5f; %+.4f", e, l.Uncertainty, l.Moves)
	if worst := quantile(absolute(e), 1); worst > 3.5 {
		t.Errorf("true errors are up to %.1f times the stated ones", worst)
	}
}

func absolute(v []float64) []float64 {
	out := make([]float64, len(v))
	for i, e := range v {
		out[i] = math.Abs(e)
	}
	return out
}

// One card of A5 size beside the outline, an unknown phone against one whose lens was
// learnt. A feasibility study of the same world that took the distortion for ten times
// better known found 0.62 mm and 0.39 (median over scenes of the outline's rms), a ratio
// of 0.63. A median of 18 scenes is uncertain by a quarter, of 240 by a sixteenth.
func laterPhotosAreBetter(t *testing.T, w world, phones []taught) {
	later := 6
	ratio, most := 0.85, 0.5
	if os.Getenv("FAIREDGE_SLOW") != "" {
		later, ratio, most = 10, 0.7, 0.39
	}
	var without, with tally
	unused := 0
	for i, p := range phones {
		for k := range later {
			rng := rand.New(rand.NewPCG(uint64(i), uint64(1000+k)))
			s := photographThrough(rng, w, []target{a5(320, 0, 0)}, p.moved(rng, w))
			production(&s.Set)
			without.Add(measured(s))
			known := p.profile.Over(s.Set.Candidates[0], photo.Lens{}, photoWidth, photoHeight)
			s.Set.Candidates = append([]measure.Priors{known}, s.Set.Candidates...)
			with.Add(measured(s))
			if c, err := measure.CalibrateSet(s.Set); err == nil && c.Priors.Profile == "" {
				unused++
			}
		}
	}
	n := float64(later * len(phones))
	a, b := quantile(without.RMS, 0.5), quantile(with.RMS, 0.5)
	t.Logf("without: %v, points %.2f; with: %v, points %.2f; left aside %d of %.0f", without, without.Points/n, with, with.Points/n, unused, n)
	if b > ratio*a || b > most {
		t.Errorf("outline off by %.2f mm with the profile, %.2f without; want %.2f, and %.2f of it at most", b, a, most, ratio)
	}
	if unused > int(n/20) {
		t.Errorf("%d of %.0f photos left the profile of their own lens aside", unused, n)
	}
	if with.Failed+without.Failed > 0 || with.Points/n < 0.86 {
		t.Errorf("%d failed, the stated band covers %.2f of the outline's points; want 0.86", with.Failed+without.Failed, with.Points/n)
	}
}
