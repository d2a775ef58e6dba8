package detect

import (
	"math"
	"math/rand"
	"testing"

	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// flatBench lays the photo on the bench at a fixed scale, y turned over.
type flatBench struct{ mmPerPx, height float64 }

func (b flatBench) PlaneFromPhoto(q photo.Point) plane.Point {
	return plane.Point{X: q.X * b.mmPerPx, Y: (b.height - q.Y) * b.mmPerPx}
}

func (b flatBench) PhotoFromPlane(p plane.Point) photo.Point {
	return photo.Point{X: p.X / b.mmPerPx, Y: b.height - p.Y/b.mmPerPx}
}

// stripe is a straight line through a photo: linear light across it is the model
// of section 6 of Steger's paper (a bar with unequal grounds, blurred), computed
// here from math.Erf, then toned by sRGB.
type stripe struct {
	width, blur            float64 // px
	left, right, ink, tilt float64 // light, 0 to 1; tilt is ground's light per px
	lean                   float64 // ink's light per px
	snr                    float64 // contrast over noise
	angle                  float64 // of the line's normal
}

const stripeSize = 260

// photo renders the stripe with its middle off the picture's middle by shift px
// along the normal.
func (s stripe) photo(shift float64, seed int64) *photo.Photo {
	p := &photo.Photo{Width: stripeSize, Height: stripeSize, Luma: make([]uint8, stripeSize*stripeSize)}
	w, h := p.ChromaSize()
	p.Cb, p.Cr = make([]uint8, w*h), make([]uint8, w*h)
	random := rand.New(rand.NewSource(seed))
	sin, cos := math.Sincos(s.angle)
	cdf := func(u float64) float64 { return (1 + math.Erf(u/math.Sqrt2)) / 2 }
	for y := range stripeSize {
		for x := range stripeSize {
			u := (float64(x)+0.5-stripeSize/2)*cos + (float64(y)+0.5-stripeSize/2)*sin - shift
			a, b := cdf((u+s.width/2)/s.blur), cdf((u-s.width/2)/s.blur)
			light := (s.left+s.tilt*u)*(1-a) + (s.ink+s.lean*u)*(a-b) + (s.right+s.tilt*u)*b
			tone := 12.92 * light
			if light > 0.0031308 {
				tone = 1.055*math.Pow(light, 1/2.4) - 0.055
			}
			grey := 255 * tone
			if s.snr > 0 {
				grey += s.greyContrast() / s.snr * random.NormFloat64()
			}
			p.Luma[y*stripeSize+x] = uint8(math.Max(0, math.Min(255, math.Round(grey))))
		}
	}
	return p
}

func (s stripe) greyContrast() float64 {
	tone := func(l float64) float64 { return 255 * (1.055*math.Pow(l, 1/2.4) - 0.055) }
	return tone(math.Min(s.left, s.right)) - tone(s.ink)
}

// measureStripe reads profiles along the stripe's true course moved by away px,
// and returns the middles' mean error and scatter, px.
func measureStripe(p *photo.Photo, s stripe, shift, away float64) (bias, rms, width, sigma float64, n int) {
	bench := flatBench{0.2, stripeSize}
	pr := newProber(p, bench)
	sin, cos := math.Sincos(s.angle)
	out := plane.Vec{X: cos, Y: -sin}
	var sum, sumSq float64
	for k := -75; k <= 75; k++ {
		x := stripeSize/2 + (shift+away)*cos - float64(k)*sin
		y := stripeSize/2 + (shift+away)*sin + float64(k)*cos
		q, ok := pr.across(bench.PlaneFromPhoto(photo.Point{X: x, Y: y}), out)
		if !ok || !pr.read(&q, 5, probeRows) {
			continue
		}
		r := roughLine(&q, 1.2, s.width*0.2+2)
		if r.ok {
			r = fitLine(&q, r, s.blur*0.2, math.Max(1.4, 1))
		}
		if !r.ok {
			continue
		}
		e := r.middle()/0.2 + away
		sum, sumSq, width, sigma = sum+e, sumSq+e*e, width+r.width()/0.2, sigma+r.sigma/0.2
		n++
	}
	m := float64(n)
	return sum / m, math.Sqrt(sumSq / m), width / m, sigma / m, n
}

// The goals: bias under 0.02 px whatever the grounds, the shading, the ink's lean
// or the way the line runs through the pixels; and at signal to noise 20 the
// scatter. For a thin line the goal is 0.05 px. For a bar whose edges have blur w,
// Cramér and Rao allow (noise/contrast)·sqrt(w·sqrt(π)) = 0.082 px in a section of
// 1 px, half of that over the 4 px that a sample averages; 0.09 px (0.1 with a lean) is twice the
// bound, the price of unknown grounds and lean.
func TestLineMiddleIsUnbiased(t *testing.T) {
	plain := stripe{width: 9, blur: 1.5, left: 0.7, right: 0.7, ink: 0.04, snr: 20, angle: 0.4}
	const bar = 0.09
	cases := []struct {
		name   string
		change func(s *stripe)
		rms    float64
	}{
		{"plain", func(s *stripe) {}, bar},
		{"along the pixels", func(s *stripe) { s.angle = 0 }, bar},
		{"other ground twice as bright", func(s *stripe) { s.left = 0.35 }, bar},
		{"a penumbra of 50 mm that takes half the light", func(s *stripe) { s.tilt = 0.35 / 250 }, bar},
		{"ink leans by a fifth", func(s *stripe) { s.ink, s.lean = 0.1, 0.004 }, 0.1},
		{"pencil of 2.5 px", func(s *stripe) { s.width, s.ink, s.blur = 2.5, 0.3, 1 }, 0.05},
		{"broad marker", func(s *stripe) { s.width = 18 }, bar},
	}
	for i, c := range cases {
		s := plain
		c.change(&s)
		var worstBias, bias, rms float64
		const trials = 8
		for trial := range trials {
			shift := float64(trial) / trials
			b, r, _, sigma, n := measureStripe(s.photo(shift, int64(100*i+trial+1)), s, shift, 0.8*math.Sin(float64(trial)))
			if n < 120 {
				t.Fatalf("%s: only %d readings", c.name, n)
			}
			if ratio := sigma / r; ratio < 0.4 || ratio > 2.5 {
				t.Errorf("%s: states %.3f px, scatters by %.3f px", c.name, sigma, r)
			}
			worstBias = math.Max(worstBias, math.Abs(b))
			bias, rms = bias+b/trials, rms+r/trials
		}
		t.Logf("%-42s bias %+.4f (worst phase %.4f) rms %.4f px", c.name, bias, worstBias, rms)
		if math.Abs(bias) > 0.02 || rms > c.rms {
			t.Errorf("%s: bias %+.4f, rms %.4f px; want 0.02, %.2f", c.name, bias, rms, c.rms)
		}
	}
}

// A cut edge half-way in light, through the sRGB curve, not half-way in grey
// (which would be off by about 0.3 px).
func TestEdgeIsHalfWayInLight(t *testing.T) {
	s := stripe{width: 400, blur: 1.2, left: 0.6, right: 0.6, ink: 0.05, snr: 25, angle: 0.3}
	for _, shift := range []float64{0, 0.25, 0.5, 0.75} {
		p := s.photo(200+shift, 3) // its left edge is at shift
		bench := flatBench{0.2, stripeSize}
		pr := newProber(p, bench)
		sin, cos := math.Sincos(s.angle)
		sum, n := 0.0, 0.0
		for k := -75; k <= 75; k++ {
			at := photo.Point{X: stripeSize/2 + shift*cos - float64(k)*sin, Y: stripeSize/2 + shift*sin + float64(k)*cos}
			q, ok := pr.across(bench.PlaneFromPhoto(at), plane.Vec{X: cos, Y: -sin})
			if !ok || !pr.read(&q, 4, probeRows) {
				continue
			}
			r := roughEdge(&q, 0.8, 1)
			if r.ok {
				r = fitEdge(&q, r, 0.2, 1.2)
			}
			if r.ok {
				sum, n = sum+r.middle()/0.2, n+1
			}
		}
		if n < 120 || math.Abs(sum/n) > 0.02 {
			t.Errorf("shift %.2f: %v readings, off by %+.4f px, want under 0.02", shift, n, sum/n)
		}
	}
}

// With exact samples the parabola is exact, and a third of strays do not move it.
func TestTukeyParabola(t *testing.T) {
	var xs, ys []float64
	for k := -15; k <= 15; k++ {
		x := float64(k) / 15
		xs, ys = append(xs, x), append(ys, 0.3-0.2*x+0.1*x*x+0.004*math.Sin(float64(7*k)))
	}
	if a, _, ok := tukeyParabola(xs, ys); !ok || math.Abs(a-0.3) > 0.004 {
		t.Errorf("clean: %v, want 0.3", a)
	}
	for k := 12; k < 20; k++ {
		ys[k] += 1.5 // 8 in the very middle
	}
	if a, _, ok := tukeyParabola(xs, ys); !ok || math.Abs(a-0.3) > 0.02 {
		t.Errorf("8 of 31 strayed by 1.5: %v, want 0.3", a)
	}
}

// The rational approximation against math.Erf.
func TestNormalStep(t *testing.T) {
	for u := -6.0; u <= 6; u += 0.01 {
		f, d := normalStep(u)
		if want := (1 + math.Erf(u/math.Sqrt2)) / 2; math.Abs(f-want) > 3e-7 {
			t.Fatalf("F(%v) = %v, want %v", u, f, want)
		}
		if want := math.Exp(-u*u/2) / math.Sqrt(2*math.Pi); math.Abs(d-want) > 2e-6 {
			t.Fatalf("density(%v) = %v, want %v", u, d, want)
		}
	}
}

// The derivatives of the line model against central differences.
func TestLineModelDerivatives(t *testing.T) {
	x := [lineUnknowns]float64{180, 150, 2, 20, 3, -1.1, 0.9}
	const h = 1e-5
	for at := -3.0; at <= 3; at += 0.37 {
		_, j := lineModel(&x, at, 0.3, true)
		for u := range x {
			up, down := x, x
			up[u] += h
			down[u] -= h
			fu, _ := lineModel(&up, at, 0.3, true)
			fd, _ := lineModel(&down, at, 0.3, true)
			if want := (fu - fd) / (2 * h); math.Abs(j[u]-want) > 1e-3*(1+math.Abs(want)) {
				t.Errorf("d/d%d at %.2f = %v, want %v", u, at, j[u], want)
			}
		}
	}
}
