package likeness_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/likeness"
	"fairedge/internal/plane"
)

func rectangle(w, d float64) curve.Path {
	return curve.Polygon(pt(w/2, 0), pt(-w/2, 0), pt(-w/2, -d), pt(w/2, -d))
}

// Rectangles of one depth lie nearest with their middles on each other, half the difference
// of their widths apart: 2 mm from each to the next, and 9 mm to the last.
func TestTemplatesOfRectangles(t *testing.T) {
	rng := rand.New(rand.NewPCG(91, 92))
	var chairs []curve.Path
	for _, w := range []float64{400, 404, 408, 412, 430} {
		chairs = append(chairs, anyMotion(rng, likeness.Options{}).Path(rectangle(w, 300)))
	}
	p, err := likeness.PairUp(chairs, 2.1, likeness.Options{Flip: true}, nil)
	if err != nil {
		t.Fatal(err)
	}
	var told []int
	enough := errors.New("enough")
	_, err = likeness.PairUp(chairs, 2.1, likeness.Options{}, func(done, all int) error {
		if told = append(told, done, all); done == 3 {
			return enough
		}
		return nil
	})
	if !errors.Is(err, enough) || !slices.Equal(told, []int{0, 10, 0, 10, 1, 10, 3, 10}) {
		t.Errorf("told %v, ended with %v", told, err)
	}
	for i := range chairs {
		for k := range chairs {
			got := p.Between(i, k)
			want := []float64{0, 2, 4, 6, 15}[max(i, k)] - []float64{0, 2, 4, 6, 15}[min(i, k)]
			if math.Abs(got.Max-want) > 0.05 && !(want > 2.1 && math.IsInf(got.Max, 1)) {
				t.Errorf("chairs %d and %d are %.3f mm apart, want %g", i, k, got.Max, want)
			}
		}
	}
	if best := p.Best(); len(best.Fits) != 3 || best.Outline != 1 && best.Outline != 2 {
		t.Errorf("the best template is %+v, want 404 or 408, which fit three", best)
	}
	if c := p.Fewest(); len(c.Templates) != 3 || !c.IsFewest() {
		t.Errorf("%d templates, at least %d, want 3", len(c.Templates), c.AtLeast)
	}
}

// Laying for the least greatest distance is never worse than laying for the mean, and as
// good as a slow search that turns and shifts by smaller and smaller steps.
func TestLeastMaxAgainstSlowSearch(t *testing.T) {
	rng := rand.New(rand.NewPCG(101, 102))
	for range 3 {
		a := randomSeat(rng)
		b := a
		b.front, b.leftBow, b.frontRadius, b.push = a.front+3*rng.NormFloat64(), a.leftBow+3*rng.NormFloat64(), a.frontRadius+8, a.push+2*rng.NormFloat64()
		p, q := a.outline(), b.outline()
		plain := register(t, p, q, likeness.Options{})
		tight := register(t, p, q, likeness.Options{LeastMax: true})
		if tight.Max > plain.Max+0.01 {
			t.Errorf("least max %.3f mm, by least squares %.3f", tight.Max, plain.Max)
		}
		if want := slowLeastMax(plain.FixedFromMoved, p, q); tight.Max > want*1.03+0.03 {
			t.Errorf("least max %.3f mm, slow search %.3f (by least squares %.3f)", tight.Max, want, plain.Max)
		}
	}
}

func slowLeastMax(m likeness.Motion, p, q curve.Path) float64 {
	most := func(m likeness.Motion) float64 {
		worst := 0.0
		moved := m.Path(p)
		for _, way := range [][2]curve.Path{{moved, q}, {q, moved}} {
			for _, a := range way[0].Flatten(0.05) {
				_, d := way[1].Nearest(a)
				worst = math.Max(worst, d)
			}
		}
		return worst
	}
	centre, best := centroid(q), most(m)
	for turn, shift := 0.004, 1.0; shift > 0.01; turn, shift = turn/2, shift/2 {
		for improved := true; improved; {
			improved = false
			for i := range 27 { // every way of turning and shifting at once: a valley may run aslant
				c := plane.RigidFromAngle(turn*float64(i%3-1), plane.Vec{})
				c.Shift = centre.Add(plane.Vec{X: shift * float64(i/3%3-1), Y: shift * float64(i/9-1)}).Sub(c.Apply(centre))
				next := m
				next.Rigid = c.After(m.Rigid)
				if d := most(next); d < best-1e-6 {
					m, best, improved = next, d, true
				}
			}
		}
	}
	return best
}

// Parallel outlines lie on each other as they were made (the sum of the normals of a closed
// line is 0), so that mean, envelope and core are parallel outlines too.
func TestGroupOfParallelOutlines(t *testing.T) {
	base := lopsided()
	offset := func(d float64) curve.Path {
		b, err := base.OffsetOutline(curve.Uniform(d).WithJoin(curve.JoinRound), 0.001)
		if err != nil {
			t.Fatal(err)
		}
		return b.Path
	}
	rng := rand.New(rand.NewPCG(111, 112))
	chairs := []curve.Path{offset(0), anyMotion(rng, likeness.Options{}).Path(offset(3)), anyMotion(rng, likeness.Options{}).Path(offset(-1.5))}
	g, err := likeness.GroupOf(chairs, likeness.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct{ got, want curve.Path }{"mean": {g.Mean, offset(0.5)}, "envelope": {g.Envelope, offset(3)}, "core": {g.Core, offset(-1.5)}} {
		if r := register(t, c.got, c.want, likeness.Options{}); r.Max > 0.15 || r.RMS > 0.05 {
			t.Errorf("%s: %.3f mm rms, %.3f at most off its closed form", name, r.RMS, r.Max)
		}
	}
	if math.Abs(g.Spread-4.5) > 0.1 || g.Excess > 0.1 {
		t.Errorf("spread %.3f mm, want 4.5; excess %.3f", g.Spread, g.Excess)
	}
}

// The straight sides of rectangles stay single lines, but for the last millimetres, where
// the rays fan out round the corner.
func TestGroupOfRectangles(t *testing.T) {
	g, err := likeness.GroupOf([]curve.Path{rectangle(400, 300), rectangle(402, 300), rectangle(404, 300)}, likeness.Options{Flip: true})
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		got  curve.Path
		want float64
	}{"mean": {g.Mean, 402}, "envelope": {g.Envelope, 404}, "core": {g.Core, 400}} {
		sides := 0
		for _, s := range c.got.Segments() {
			if s.Straight && s.P0.DistanceTo(s.P3) > 270 {
				sides++
			}
		}
		if sides != 4 || c.got.Len() > 12 || math.Abs(c.got.Bounds().Width()-c.want) > 0.1 || math.Abs(c.got.SignedArea()-300*c.want) > 100 {
			t.Errorf("%s: %d sides of %d pieces, %.3f mm wide, %.1f mm2, want 4, %g, %g", name, sides, c.got.Len(), c.got.Bounds().Width(), c.got.SignedArea(), c.want, 300*c.want)
		}
	}
}

// Whatever the chairs, the envelope covers all and the core lies in all.
func TestEnvelopeCoversAndCoreFits(t *testing.T) {
	rng := rand.New(rand.NewPCG(121, 122))
	for range 3 {
		s := randomSeat(rng)
		var chairs []curve.Path
		for range 4 {
			one := s
			one.front, one.depth, one.frontRadius = s.front+3*rng.NormFloat64(), s.depth+2*rng.NormFloat64(), s.frontRadius+4*rng.Float64()
			chairs = append(chairs, one.outline())
		}
		chairs = append(chairs, rectangleLike(s))
		g, err := likeness.GroupOf(chairs[:4], likeness.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range chairs[:4] {
			for _, a := range g.Members[i].Path(p).Flatten(0.01) {
				if _, d := g.Envelope.Nearest(a); !g.Envelope.Contains(a) && d > 1e-3 {
					t.Errorf("chair %d stands %.3f mm out of the envelope", i, d)
				}
				if _, d := g.Core.Nearest(a); g.Core.Contains(a) && d > 1e-3 {
					t.Errorf("the core stands %.3f mm out of chair %d", d, i)
				}
			}
		}
		if g.Excess > 0.5 {
			t.Errorf("the envelope was moved by %.3f mm", g.Excess)
		}
		t.Logf("spread %.2f mm, excess %.3f mm, %d pieces", g.Spread, g.Excess, g.Envelope.Len())
		if _, err := likeness.GroupOf(chairs, likeness.Options{}); err == nil {
			t.Error("a chair 80 mm larger is taken into the group")
		}
	}
}

// rectangleLike is a chair of quite another size.
func rectangleLike(s seat) curve.Path { return rectangle(s.back+160, s.depth+160) }
