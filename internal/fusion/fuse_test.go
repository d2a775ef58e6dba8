package fusion_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"fairedge/internal/fusion"
	"fairedge/internal/measure"
	"fairedge/internal/plane"
	"fairedge/internal/sweep"
)

// What is each photo's own falls as one over the root of how many there are: the stated
// uncertainty and the true error. Photos differ in tilt, so that the weighted mean of
// four does a little better or worse than half.
func TestOwnErrorsAverageOut(t *testing.T) {
	var trueErrors, stated [3]float64
	cover, n := 0.0, 0.0
	counts := []int{1, 4, 9}
	for seed := range uint64(6) {
		rng := rand.New(rand.NewPCG(seed, 1))
		w := marksOnly()
		b := sweep.LayOut(rng, w, sweep.Four(), outlinePoints)
		photos := photosOf(t, rng, b, sweep.RandomTruth(rng, w), 9)
		for k, count := range counts {
			if count == 1 {
				for _, p := range photos {
					e := sweep.RMS(errorsOf(p.Samples, b.Outline))
					trueErrors[k] += e * e / 9
				}
				continue
			}
			f := fuse(t, photos[:count])
			if len(f.Used) != count {
				t.Fatalf("seed %d: used %v of %d, left out %+v", seed, f.Used, count, f.LeftOut)
			}
			budget := budgetOf(t, f, outlineOf(f.Samples))
			e := errorsOf(f.Samples, b.Outline)
			trueErrors[k] += sweep.RMS(e) * sweep.RMS(e)
			stated[k] += sweep.RMS(budget.Point) * sweep.RMS(budget.Point)
			cover, n = cover+inside(budget, e), n+1
		}
	}
	for k, count := range counts[1:] {
		ratio := math.Sqrt(trueErrors[k+1] / trueErrors[0])
		want := 1 / math.Sqrt(float64(count))
		t.Logf("%d photos: error %.3f of one photo's, 1/sqrt(n) is %.3f; stated %.3f mm, true %.3f", count, ratio, want,
			math.Sqrt(stated[k+1]/6), math.Sqrt(trueErrors[k+1]/6))
		if ratio < 0.7*want || ratio > 1.3*want {
			t.Errorf("%d photos have %.3f of one photo's error, want about %.3f", count, ratio, want)
		}
		if s := math.Sqrt(stated[k+1] / trueErrors[k+1]); s < 0.8 || s > 1.25 {
			t.Errorf("%d photos: stated over true error is %.2f", count, s)
		}
	}
	if cover/n < 0.9 {
		t.Errorf("the stated band covers %.3f of the points, want 0.95", cover/n)
	}
}

// Realistic photos of one bench by one phone: the fused outline is nearer the truth than
// the photos are, and the stated band holds.
func TestRealisticPhotosAreFused(t *testing.T) {
	var single, fused, best []float64
	cover, whole, n := 0.0, 0.0, 0.0
	for seed := range uint64(8) {
		rng := rand.New(rand.NewPCG(seed, 2))
		w := sweep.Realistic()
		b := sweep.LayOut(rng, w, sweep.Four(), outlinePoints)
		photos := photosOf(t, rng, b, sweep.RandomTruth(rng, w), 3)
		f := fuse(t, photos)
		budget := budgetOf(t, f, outlineOf(f.Samples))
		e := errorsOf(f.Samples, b.Outline)
		fused = append(fused, sweep.RMS(e))
		for i, p := range photos {
			rms := sweep.RMS(errorsOf(p.Samples, b.Outline))
			single = append(single, rms)
			if i == f.Best {
				best = append(best, rms)
			}
		}
		cover, n = cover+inside(budget, e), n+1
		if sweep.Greatest(e) <= budget.Within {
			whole++
		}
		if len(f.Used) != 3 {
			t.Errorf("seed %d: used %v, left out %+v, dispute %+v", seed, f.Used, f.LeftOut, f.Dispute)
		}
	}
	t.Logf("rms %.3f mm of one photo, %.3f of the best of three, %.3f of three; band covers %.3f of points, %.2f of outlines",
		sweep.RMS(single), sweep.RMS(best), sweep.RMS(fused), cover/n, whole/n)
	if sweep.RMS(fused) > 0.95*sweep.RMS(single) {
		t.Errorf("three photos are off by %.3f mm rms, one by %.3f", sweep.RMS(fused), sweep.RMS(single))
	}
	if cover/n < 0.9 || whole < n-1 {
		t.Errorf("the band covers %.3f of the points and %.0f of %.0f outlines", cover/n, whole, n)
	}
}

// The same photo twice tells nothing new of what both have together: the print, the lens,
// the lie of the cards. Only where marks and edge are seen is halved, in squares.
func TestCopiesHalveNothingShared(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	w := sweep.Realistic()
	b := sweep.LayOut(rng, w, sweep.Four(), outlinePoints)
	p := measured(t, rng, b.Photograph(rng, sweep.RandomTruth(rng, w)))
	f := fuse(t, []fusion.Photo{p, p})
	o := outlineOf(p.Samples)
	twice := budgetOf(t, f, o)
	parts, err := p.Calibration.ErrorParts(o)
	if err != nil {
		t.Fatal(err)
	}
	once := measure.BudgetOfParts(o, parts)
	for i, r := range once.Rows {
		want := r.Shape
		if r.Source == "places of the card marks" {
			want /= math.Sqrt2
		}
		if r.Source == "finding the edge in the photo" {
			want = p.Uncertainty / math.Sqrt2
		}
		if math.Abs(twice.Rows[i].Shape-want) > 1e-6*want {
			t.Errorf("%s: %.6f mm of two copies, want %.6f", r.Source, twice.Rows[i].Shape, want)
		}
	}
	if r := f.Repeatability(plane.Vec{X: 1}); r.Width > 1e-9 || r.Distance > 1e-6 || r.Photos != 2 {
		t.Errorf("copies scatter: %+v", r)
	}
}

// Whatever their order, the photos give the same outline, uncertainty and verdict.
func TestOrderDoesNotMatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	w := sweep.Realistic()
	b := sweep.LayOut(rng, w, sweep.Four(), outlinePoints)
	photos := photosOf(t, rng, b, sweep.RandomTruth(rng, w), 4)
	bulge(&photos[2], 2.1)
	first := fuse(t, photos)
	want := budgetOf(t, first, outlineOf(first.Samples))
	for _, order := range [][]int{{3, 2, 1, 0}, {2, 0, 3, 1}} {
		var turned []fusion.Photo
		for _, i := range order {
			turned = append(turned, photos[i])
		}
		got := fuse(t, turned)
		if order[got.Best] != first.Best || len(got.LeftOut) != 1 || order[got.LeftOut[0].Photo] != first.LeftOut[0].Photo {
			t.Fatalf("order %v: best %d, left out %+v", order, got.Best, got.LeftOut)
		}
		for i, s := range got.Samples {
			if s.At.DistanceTo(first.Samples[i].At) > 1e-6 {
				t.Fatalf("order %v moves sample %d by %g mm", order, i, s.At.DistanceTo(first.Samples[i].At))
			}
		}
		if b := budgetOf(t, got, outlineOf(got.Samples)); math.Abs(b.Within-want.Within) > 1e-6 {
			t.Errorf("order %v: within %g, was %g", order, b.Within, want.Within)
		}
	}
}

// bulge pushes 120 mm of a photo's outline out, as a template does that does not lie flat.
func bulge(p *fusion.Photo, by float64) {
	n := len(p.Samples)
	o := outlineOf(p.Samples).Points
	from := n / 2
	for i := from; i < from+24; i++ {
		out := o[(i+1)%n].Sub(o[(i+n-1)%n]).Unit().TurnRight()
		p.Samples[i].At = o[i].Add(out.Scale(by * math.Sin(math.Pi*float64(i-from)/24)))
	}
}

// A photo that lies 2.1 mm off the others in one place is found, named and left out.
func TestOutlierIsNamed(t *testing.T) {
	for seed := range uint64(4) {
		rng := rand.New(rand.NewPCG(seed, 5))
		w := sweep.Realistic()
		b := sweep.LayOut(rng, w, sweep.Four(), outlinePoints)
		photos := photosOf(t, rng, b, sweep.RandomTruth(rng, w), 3)
		bad := int(seed) % 3
		at := photos[bad].Samples[outlinePoints/2+12].At
		bulge(&photos[bad], 2.1)
		f := fuse(t, photos)
		if len(f.LeftOut) != 1 || f.LeftOut[0].Photo != bad || slices.Contains(f.Used, bad) || len(f.Used) != 2 {
			t.Errorf("seed %d: left out %+v, used %v; want photo %d", seed, f.LeftOut, f.Used, bad)
			continue
		}
		// 2.1 mm less the mean of the others, and less what laying it on them takes away.
		if off := f.LeftOut[0].Off; off < 1.4 || off > 2.6 {
			t.Errorf("seed %d: %.2f mm off, want about 2.1", seed, off)
		}
		_ = at
	}
}

// Of two photos that disagree neither is blamed: the better one's outline stays, and its
// uncertainty takes the difference in.
func TestTwoThatDisagree(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 6))
	w := sweep.Realistic()
	b := sweep.LayOut(rng, w, sweep.Four(), outlinePoints)
	photos := photosOf(t, rng, b, sweep.RandomTruth(rng, w), 2)
	bulge(&photos[1], 3)
	f := fuse(t, photos)
	if f.Dispute == nil || f.Dispute.Photos != [2]int{0, 1} || len(f.LeftOut) != 0 || len(f.Used) != 1 || f.Used[0] != f.Best {
		t.Fatalf("dispute %+v, left out %+v, used %v", f.Dispute, f.LeftOut, f.Used)
	}
	if f.Dispute.Off < 2 || f.Dispute.Off > 4 {
		t.Errorf("they lie %.2f mm apart, want about 3", f.Dispute.Off)
	}
	best := photos[f.Best]
	for i, s := range f.Samples {
		if s != best.Samples[i] {
			t.Fatalf("sample %d was moved", i)
		}
	}
	budget := budgetOf(t, f, outlineOf(f.Samples))
	if budget.Within < f.Dispute.Off {
		t.Errorf("within %.2f mm, although the photos lie %.2f mm apart", budget.Within, f.Dispute.Off)
	}
	if last := budget.Rows[len(budget.Rows)-1]; last.Source != "photos that disagree" || last.Shape <= 0 {
		t.Errorf("the last row is %+v", last)
	}
}

// A gap in one photo is filled by what another photo saw there.
func TestGapIsFilledByAnotherPhoto(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 7))
	w := sweep.Realistic()
	b := sweep.LayOut(rng, w, sweep.Four(), outlinePoints)
	photos := photosOf(t, rng, b, sweep.RandomTruth(rng, w), 2)
	best := fuse(t, photos).Best
	for i := 40; i < 50; i++ {
		s := &photos[best].Samples[i]
		s.Bridged, s.At = true, s.At.Add(plane.Vec{X: 0.3})
	}
	for i := 100; i < 105; i++ {
		for k := range photos {
			photos[k].Samples[i].Bridged = true
		}
	}
	f := fuse(t, photos)
	if f.Best != best {
		t.Fatal("the best photo is another one now")
	}
	for i, s := range f.Samples {
		if want := i >= 100 && i < 105; s.Bridged != want && (i < 98 || i > 106) {
			t.Errorf("sample %d: bridged %t", i, s.Bridged)
		}
	}
	if e := errorsOf(f.Samples, b.Outline); sweep.Greatest(e[40:50]) > 0.9 {
		t.Errorf("the gap is off by %.2f mm", sweep.Greatest(e[40:50]))
	}
}

// One photo is no several.
func TestOnePhotoIsRefused(t *testing.T) {
	if _, err := fusion.Fuse(make([]fusion.Photo, 1), fusion.DefaultParams()); err == nil {
		t.Error("one photo was fused")
	}
}

// ISO 5725-6:1994, 4.1: r = 2.8 s_r (1.96 times the root of 2).
func TestRepeatabilityLimit(t *testing.T) {
	if r := fusion.Limit(1); math.Abs(r-1.96*math.Sqrt2) > 0.03 {
		t.Errorf("r = %g s_r", r)
	}
}
