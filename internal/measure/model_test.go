package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairedge/internal/camera"
	"fairedge/internal/card"
	"fairedge/internal/photo"
	"fairedge/internal/plane"

	"gonum.org/v1/gonum/mat"
)

// twoTargets is a model with every unknown moving.
func twoTargets() (*model, state) {
	var marks []TargetMark
	for i := range 5 {
		for j := range 4 {
			p := plane.Point{X: float64(20*i - 40), Y: float64(25*j - 37)}
			marks = append(marks, TargetMark{p, photo.Point{X: 2000 + 10*p.X, Y: 1500 - 10*p.Y}, 0.1})
		}
	}
	set := Set{
		Targets: []Target{NewTarget("a", marks), NewTarget("b", marks)},
		Prints:  []card.Print{card.UnmeasuredPrint(card.A4, false)}, Width: 4000, Height: 3000,
		Candidates: []Priors{PriorsFor(UnknownCamera, photo.Lens{}, 4000, 3000)},
	}
	m := newModel(set, 0, DefaultParams())
	starts, _ := m.starts(0)
	s := starts[0]
	rng := rand.New(rand.NewPCG(9, 9))
	for i := range s.row {
		if sd := m.sd[i]; sd > 0 && !math.IsInf(sd, 1) {
			s.row[i] += 0.3 * sd * rng.NormFloat64()
		}
	}
	return m, s.stepped(make([]float64, m.count()))
}

// Central differences over a step h have an error of order h² f”'; the steps are a
// millionth of each unknown's natural size, and 1e-4 of the derivative is far above
// both that and rounding.
func TestResidualJacobianAgainstFiniteDifferences(t *testing.T) {
	m, s := twoTargets()
	seen := make([]bool, m.count())
	for ti := range m.targets {
		p, cam := m.place(s, ti), s.camera()
		for mi := range p.target.Marks {
			var rows [2][blockParams]float64
			m.linearised(s, &cam, &p, ti, mi, &rows)
			for row := range 2 {
				got := make([]float64, m.count())
				for k, place := range p.block() {
					got[place] = rows[row][k]
				}
				for k, b := range m.warpAt[ti][mi] {
					got[m.warp()+row*warpTerms+k] = b
				}
				for i := range got {
					want := m.difference(s, ti, mi, row, i)
					if math.Abs(got[i]-want) > 1e-4*(1+math.Abs(want)) {
						t.Errorf("target %d mark %d row %d unknown %d: analytic %g, differences %g", ti, mi, row, i, got[i], want)
					}
					seen[i] = seen[i] || math.Abs(want) > 1e-9
				}
			}
		}
	}
	for place, ok := range seen {
		if !ok {
			t.Errorf("unknown %d moves no mark: the test is blind to it", place)
		}
	}
}

func (m *model) difference(s state, ti, mi, row, unknown int) float64 {
	const h = 1e-6
	at := func(d float64) float64 {
		delta := make([]float64, m.count())
		delta[unknown] = d
		next := s.stepped(delta)
		cam, p := next.camera(), m.place(next, ti)
		u, v, _ := m.residual(next, &cam, &p, ti, mi)
		return [2]float64{u, v}[row]
	}
	return (at(h) - at(-h)) / (2 * h)
}

// The gradient that the solver descends is that of the cost it reports, robust
// loss and priors included.
func TestGradientIsOfTheCost(t *testing.T) {
	m, s := twoTargets()
	eq := m.linearise(s)
	for i, place := range eq.active {
		if place < 0 {
			continue
		}
		h := 1e-6
		at := func(d float64) float64 {
			delta := make([]float64, m.count())
			delta[i] = d
			return m.cost(s.stepped(delta))
		}
		want := (at(h) - at(-h)) / (4 * h) // half the derivative
		if math.Abs(eq.gradient[place]-want) > 2e-3*(1+math.Abs(want)) {
			t.Errorf("unknown %d: gradient %g, differences %g", i, eq.gradient[place], want)
		}
	}
}

// The oracle is gonum's dense Cholesky.
func TestCholeskyAgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 5))
	for _, n := range []int{1, 2, 7, 40} {
		root := mat.NewDense(n, n+3, nil)
		root.Apply(func(_, _ int, _ float64) float64 { return rng.NormFloat64() }, root)
		var full mat.SymDense
		full.SymOuterK(1, root)
		own := newSymmetric(n)
		for i := range n {
			for j := range n {
				own.a[i*n+j] = full.At(i, j)
			}
		}
		l, ok := own.cholesky(0)
		var want mat.Cholesky
		if !ok || !want.Factorize(&full) {
			t.Fatalf("n = %d: not factored", n)
		}
		var inverse mat.SymDense
		if err := want.InverseTo(&inverse); err != nil {
			t.Fatal(err)
		}
		got := l.inverse()
		for i := range n {
			for j := range n {
				if math.Abs(got.at(i, j)-inverse.At(i, j)) > 1e-9*(1+math.Abs(inverse.At(i, j))) {
					t.Errorf("n = %d: inverse at %d,%d = %g, want %g", n, i, j, got.at(i, j), inverse.At(i, j))
				}
			}
		}
		if math.Abs(l.logDet()-want.LogDet()) > 1e-9*(1+math.Abs(want.LogDet())) {
			t.Errorf("n = %d: logDet = %g, want %g", n, l.logDet(), want.LogDet())
		}
	}
	singular := symmetric{2, []float64{1, 1, 1, 1}}
	if _, ok := singular.cholesky(0); ok {
		t.Error("a singular matrix was factored")
	}
}

// A field drawn from the prior has the stated rms, averaged over the picture.
func TestWarpPriorHasItsRMS(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	const rms, fields = 0.2, 400
	sum, count := 0.0, 0.0
	for range fields {
		var c [warpTerms]float64
		for k := range c {
			c[k] = warpCoefficientSD(rms) * rng.NormFloat64()
		}
		for x := 0.5; x < 40; x += 4 {
			for y := 0.5; y < 30; y += 3 {
				w := 0.0
				for k, b := range warpBasis(photo.Point{X: x, Y: y}, 40, 30) {
					w += c[k] * b
				}
				sum, count = sum+w*w, count+1
			}
		}
	}
	// 400 fields of 14 terms: the mean square is known to about 2 %.
	if got := math.Sqrt(sum / count); math.Abs(got-rms) > 0.03*rms {
		t.Errorf("rms of the warp = %.4f, want %.4f", got, rms)
	}
}

// Seen from afar a card has two poses that both fit: each start leads to its own, and
// the first fit keeps the better one and reports the other.
func TestBothPosesOfAPlaneAreTried(t *testing.T) {
	m, _ := twoTargets()
	for i := camera.ParamLogF; i <= camera.ParamP2; i++ {
		m.sd[i] = 0 // a known lens
	}
	down := camera.Mat3{{1, 0, 0}, {0, -1, 0}, {0, 0, -1}}
	s := state{row: append([]float64(nil), m.mean...), r: down}
	truth := camera.Pose{R: down, T: camera.Vec3{0, 0, 3000}}.Turned(camera.Vec3{0.5, 0, 0}, camera.Vec3{})
	s.setPose(truth)
	s.row[m.pose(1)+1] = 150
	cam := s.camera()
	rng := rand.New(rand.NewPCG(3, 3))
	for ti := range m.targets {
		p := m.place(s, ti)
		m.targets[ti].Marks = append([]TargetMark(nil), m.targets[ti].Marks...)
		p.target = &m.targets[ti]
		for mi := range p.target.Marks {
			seen, _ := cam.PhotoFromBench(p.onBench(p.target.Marks[mi].Drawn))
			seen.X, seen.Y = seen.X+0.1*rng.NormFloat64(), seen.Y+0.1*rng.NormFloat64()
			p.target.Marks[mi].Seen = seen
		}
	}
	best, other, err := m.firstFit(0)
	if err != nil {
		t.Fatal(err)
	}
	if math.IsInf(other.cost, 1) || other.cost <= best.cost {
		t.Errorf("costs %g and %g: want two poses, the better one first", best.cost, other.cost)
	}
	if off := best.state.r.Column(2).Sub(truth.R.Column(2)).Length(); off > 0.05 {
		t.Errorf("the pose kept is %.3f rad off", off)
	}
	if off := other.state.r.Column(2).Sub(truth.R.Column(2)).Length(); off < 0.3 {
		t.Errorf("the other pose is only %.3f rad off: it was not tried", off)
	}
}
