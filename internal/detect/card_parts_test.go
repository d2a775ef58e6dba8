package detect

import (
	"math"
	"math/rand"
	"testing"

	"fairedge/internal/card"
)

// Every patch of 7 x 7 cells of every card is read as what it is, whichever way
// it lies, mirrored or not, and one dot may be misread.
func TestDecodeFindsEveryPatch(t *testing.T) {
	designs := dotDesigns()
	random := rand.New(rand.NewSource(3))
	for _, d := range card.All() {
		for range 6 {
			want := pose{mirrored: random.Intn(2) == 1, turns: random.Intn(4)}
			bits, ok := patch(d, random.Intn(d.Cols-6), random.Intn(d.Rows-6), 7, &want, random)
			if !ok {
				continue // the frame's empty middle
			}
			bits[random.Intn(len(bits))].dot = random.Intn(2) == 1
			got := decode(bits, designs, DefaultCardParams())
			if !got.accepted() || got.design.ID != d.ID || got.pose != want {
				t.Errorf("decode of a patch of %v at %+v = %v at %+v, score %.1f of %.1f",
					d.ID, want, got.design.ID, got.pose, got.score, got.needed)
			}
		}
	}
}

// patch returns the n x n cells from (c0, r0) of a card as a lattice of unknown
// origin sees them, and completes pose with the shift that leads back.
func patch(d card.Design, c0, r0, n int, p *pose, random *rand.Rand) ([]dotBit, bool) {
	// Choose the shift so that dark cells of the lattice are odd, as lattices have it.
	p.shift = card.Lattice{I: random.Intn(40) - 20, J: random.Intn(40) - 20}
	probe := p.cell(card.Lattice{})
	if d.IsDark(probe.I, probe.J) { // cell (0, 0) of a lattice is light
		p.shift.I++
	}
	var bits []dotBit
	for i := -80; i < 80; i++ {
		for j := -80; j < 80; j++ {
			c := p.cell(card.Lattice{I: i, J: j})
			if c.I >= c0 && c.I < c0+n && c.J >= r0 && c.J < r0+n && d.HasCell(c.I, c.J) {
				bits = append(bits, dotBit{card.Lattice{I: i, J: j}, d.HasDot(c.I, c.J)})
			}
		}
	}
	return bits, len(bits) >= 42
}

// Dots at random, and dots of regular patterns (none, all, stripes), are no card.
// The bound is 1e-6 a lattice; 200 lattices must give none.
func TestDecodeRefusesWhatIsNoCard(t *testing.T) {
	designs := dotDesigns()
	random := rand.New(rand.NewSource(4))
	highest := math.Inf(-1)
	for n := range 200 {
		cols, rows := 4+random.Intn(25), 4+random.Intn(25)
		period := 1 + random.Intn(4)
		var bits []dotBit
		for i := range cols {
			for j := range rows {
				dot := random.Intn(2) == 1
				if n%2 == 0 {
					dot = (i+j*(n/2%3))%period == 0
				}
				bits = append(bits, dotBit{card.Lattice{I: i, J: j}, dot})
			}
		}
		got := decode(bits, designs, DefaultCardParams())
		if got.accepted() {
			t.Errorf("%d x %d cells with no card's dots were read as %v, score %.1f", cols, rows, got.design.ID, got.score)
		}
		highest = math.Max(highest, got.score-got.needed)
	}
	t.Logf("nearest came within %.1f of the score needed", -highest)
}

// The law the bound rests on: under a wrong hypothesis the expected likelihood
// ratio is 1 (see decode). Checked over 2e5 trials of 12 cells; the standard
// deviation of exp(score) for 12 cells is sqrt(((1-e)²·2 + e²·2)^12 - 1) = 42.6.
func TestExpectedLikelihoodRatioIsOne(t *testing.T) {
	e := DefaultCardParams().BitError
	random := rand.New(rand.NewSource(5))
	const trials, cells = 200000, 12
	sum := 0.0
	for range trials {
		score := 0.0
		for range cells {
			if random.Intn(2) == 1 {
				score += math.Log(2 * (1 - e))
			} else {
				score += math.Log(2 * e)
			}
		}
		sum += math.Exp(score)
	}
	sd := math.Sqrt(math.Pow(2*((1-e)*(1-e)+e*e), cells)-1) / math.Sqrt(trials)
	if got := sum / trials; math.Abs(got-1) > 4*sd {
		t.Errorf("expected likelihood ratio %.3f, want 1 ± %.3f", got, 4*sd)
	}
}

// Four quarter turns are none; a pose takes the cell between marks to the cell
// between their images.
func TestPoseLaws(t *testing.T) {
	for turns := range 4 {
		for _, mirrored := range []bool{false, true} {
			p := pose{mirrored, turns, card.Lattice{I: 3, J: -2}}
			c := card.Lattice{I: 5, J: 7}
			cell := p.cell(c)
			for _, step := range quadSteps {
				m := p.mark(card.Lattice{I: c.I + step.I, J: c.J + step.J})
				if m.I < cell.I || m.I > cell.I+1 || m.J < cell.J || m.J > cell.J+1 {
					t.Errorf("%+v: mark %v is not of cell %v", p, m, cell)
				}
			}
		}
	}
}

// drawnMark samples the fit's own model with noise, by math.Erf and pixel by pixel.
func drawnMark(x, y, a1, a2, blur, noise float64, random *rand.Rand) level {
	l := level{60, 60, 1, make([]uint8, 60*60)}
	s1, c1 := math.Sincos(a1)
	s2, c2 := math.Sincos(a2)
	for v := range 60 {
		for u := range 60 {
			dx, dy := float64(u)+0.5-x, float64(v)+0.5-y
			e := math.Erf((c1*dy-s1*dx)/(math.Sqrt2*blur)) * math.Erf((c2*dy-s2*dx)/(math.Sqrt2*blur))
			l.pix[v*60+u] = uint8(math.Round(math.Max(0, math.Min(255, 120+0.3*dx+80*e+noise*random.NormFloat64()))))
		}
	}
	return l
}

// Closed form: without noise the fit returns the mark it was drawn with. Rounding
// to whole grey values is noise of 1/√12 = 0.29, which allows about 0.005 px.
func TestFitFindsADrawnMark(t *testing.T) {
	random := rand.New(rand.NewSource(6))
	for range 40 {
		x, y := 29+2*random.Float64(), 29+2*random.Float64()
		turn, lean := 2*math.Pi*random.Float64(), 0.6*random.Float64()
		l := drawnMark(x, y, turn, turn+math.Pi/2+lean, 0.8+random.Float64(), 0, random)
		w := drawnWindow(turn, turn+math.Pi/2+lean)
		m, ok := newFitter(l, DefaultCardParams()).fit(w)
		if !ok || math.Hypot(m.x-x, m.y-y) > 0.01 {
			t.Errorf("fit = (%.3f, %.3f) %v, want (%.3f, %.3f)", m.x, m.y, ok, x, y)
		}
	}
}

// drawnWindow is a cell of 30 px about the picture's middle, guessed a little wrong.
func drawnWindow(a1, a2 float64) fitWindow {
	s1, c1 := math.Sincos(a1 + 0.05)
	s2, c2 := math.Sincos(a2 - 0.05)
	return fitWindow{x: 30, y: 30, ax: 30 * c1, ay: 30 * s1, bx: 30 * c2, by: 30 * s2, blur: 1.5}
}

// The stated uncertainty is the scatter of repeated fits: over 300 noisy pictures
// the rms of error/uncertainty is 1 within 10 % (its own standard deviation is
// 1/sqrt(2·600) = 3 %).
func TestFitKnowsItsUncertainty(t *testing.T) {
	random := rand.New(rand.NewSource(7))
	sum, n := 0.0, 0.0
	for range 300 {
		x, y := 29.5+random.Float64(), 29.5+random.Float64()
		l := drawnMark(x, y, 0.4, 1.8, 1.2, 6, random)
		m, ok := newFitter(l, DefaultCardParams()).fit(drawnWindow(0.4, 1.8))
		if !ok {
			t.Fatal("no fit")
		}
		sum += ((m.x-x)*(m.x-x) + (m.y-y)*(m.y-y)) / (m.sigma * m.sigma)
		n += 2
	}
	if got := math.Sqrt(sum / n); got < 0.9 || got > 1.1 {
		t.Errorf("rms of error/uncertainty = %.3f, want 1 ± 0.1", got)
	}
}

// The derivatives of the model against differences: the right side of the normal
// equations is minus half the gradient of the sum of squares.
func TestFitGradientAgainstDifferences(t *testing.T) {
	random := rand.New(rand.NewSource(8))
	l := drawnMark(30.4, 29.7, 0.4, 1.8, 1.3, 3, random)
	f := newFitter(l, DefaultCardParams())
	w := drawnWindow(0.4, 1.8)
	samples := f.samples(&w)
	s := newFitState(&w, samples)
	s.value[fitTone], s.value[fitSlopeX] = 3, 0.2
	s.accumulate(f, samples, true)
	for k := range fitUnknowns {
		const h = 1e-3
		sides := [2]float64{}
		for n, d := range [2]float64{-h, h} {
			moved := *s
			moved.value[k] += d
			moved.accumulate(f, samples, false)
			sides[n] = moved.error2
		}
		want := -(sides[1] - sides[0]) / (4 * h)
		if scale := math.Max(math.Abs(want), 30); math.Abs(s.right[k]-want) > 0.02*scale {
			t.Errorf("unknown %d: gradient %.3f, by differences %.3f", k, s.right[k], want)
		}
	}
}

func TestTabulatedErf(t *testing.T) {
	f := newFitter(level{}, DefaultCardParams())
	for x := -6.0; x <= 6; x += 0.0137 {
		value, slope := f.erf(x)
		wantSlope := math.Sqrt(2/math.Pi) * math.Exp(-x*x/2)
		if math.Abs(value-math.Erf(x/math.Sqrt2)) > 2e-5 || math.Abs(slope-wantSlope) > 4e-5 {
			t.Fatalf("erf(%v/√2) = %v, %v, want %v, %v", x, value, slope, math.Erf(x/math.Sqrt2), wantSlope)
		}
	}
}

// The saddle strength of I = c·x·y is dxy² with dxy = c·step² (by differences over
// step), whatever the direction of the axes; smoothing leaves it as it is.
func TestSaddleStrengthIsTheSameInAnyDirection(t *testing.T) {
	for _, turn := range []float64{0, 0.3, math.Pi / 4} {
		l := level{41, 41, 1, make([]uint8, 41*41)}
		sin, cos := math.Sincos(turn)
		for v := range 41 {
			for u := range 41 {
				x, y := float64(u-20), float64(v-20)
				p, q := cos*x+sin*y, cos*y-sin*x
				l.pix[v*41+u] = uint8(math.Round(math.Max(0, math.Min(255, 128+p*q))))
			}
		}
		peaks := l.smoothed().peaks(2, 1)
		for _, p := range peaks {
			if got := float64(p.strength) / 256; math.Abs(p.x-20.5) < 4 && math.Abs(p.y-20.5) < 4 && math.Abs(got-16) > 2 {
				t.Errorf("turn %v: strength %v, want 16", turn, got)
			}
		}
		if len(peaks) == 0 {
			t.Errorf("turn %v: no peak", turn)
		}
	}
}

func TestHalvedLevelKeepsPlaces(t *testing.T) {
	full := level{9, 7, 1, make([]uint8, 63)}
	for k := range full.pix {
		full.pix[k] = uint8(8*(k%9) + 3*(k/9))
	}
	half := full.halved()
	if half.width != 4 || half.height != 3 || half.scale != 2 {
		t.Fatalf("half of 9 x 7 is %d x %d at %v", half.width, half.height, half.scale)
	}
	for y := 1.0; y < 2; y += 0.25 {
		for x := 1.0; x < 3; x += 0.25 {
			if a, b := half.at(x, y), full.at(2*x, 2*y); math.Abs(a-b) > 0.6 {
				t.Errorf("at (%v, %v): half %v, full %v", x, y, a, b)
			}
		}
	}
}
