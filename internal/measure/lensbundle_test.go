package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/photo"
	"fairedge/internal/plane"

	"gonum.org/v1/gonum/mat"
)

// threeViews is a bundle with every unknown moving, at a state that is not its best.
// Two views share a print, the third has its own.
func threeViews(t *testing.T) (*bundle, bundleState) {
	t.Helper()
	rng := rand.New(rand.NewPCG(3, 3))
	var views []LensView
	for v := range 3 {
		var targets []Target
		for _, name := range []string{"a", "b"} {
			var marks []TargetMark
			for i := range 5 {
				for j := range 4 {
					p := plane.Point{X: float64(20*i - 40), Y: float64(25*j - 37)}
					seen := photo.Point{X: 2000 + float64(10+v)*p.X + 2*p.Y + rng.NormFloat64(), Y: 1500 - 10*p.Y + rng.NormFloat64()}
					marks = append(marks, TargetMark{p, seen, 0.3})
				}
			}
			targets = append(targets, NewTarget(name, marks))
		}
		views = append(views, LensView{Set: Set{
			Targets: targets, Prints: []card.Print{card.UnmeasuredPrint(card.A4, v == 2)}, Width: 4000, Height: 3000,
			Candidates: []Priors{PriorsFor(UnknownCamera, photo.Lens{}, 4000, 3000)},
		}})
	}
	b, _, err := newBundle(views, DefaultLensParams())
	if err != nil {
		t.Fatal(err)
	}
	s, ok := b.firstState(nil)
	if !ok {
		t.Fatal("no state to begin from")
	}
	b.release()
	b.rescale(s)
	for k, sd := range b.sd {
		s.shared[k] += 0.1 * sd * rng.NormFloat64()
	}
	for v := range s.moves {
		for k, sd := range b.moveSD {
			s.moves[v][k] = 0.3 * sd * rng.NormFloat64()
		}
	}
	b.spread(&s)
	return b, s
}

func TestPrintsAreSharedByTheBundle(t *testing.T) {
	b, _ := threeViews(t)
	if len(b.prints) != 2 || b.printOf[0][0] != b.printOf[1][0] || b.printOf[0][0] == b.printOf[2][0] {
		t.Errorf("prints of the views: %v of %d, want the first two to share one", b.printOf, len(b.prints))
	}
}

// dense is the whole Hessian and gradient, laid out shared first: the slow way.
func (eq *bundleEquations) dense() (*mat.SymDense, []float64) {
	n := eq.c.n
	for _, v := range eq.views {
		n += len(v.own)
	}
	h, g := mat.NewSymDense(n, nil), append([]float64(nil), eq.gradient...)
	for i := range eq.c.n {
		for j := range i + 1 {
			h.SetSym(i, j, eq.c.at(i, j))
		}
	}
	at := eq.c.n
	for _, v := range eq.views {
		for i := range v.own {
			for j := range i + 1 {
				h.SetSym(at+i, at+j, v.a.at(i, j))
			}
			for k, row := range v.b {
				if row != nil {
					h.SetSym(at+i, k, row[i])
				}
			}
		}
		g, at = append(g, v.gradient...), at+len(v.own)
	}
	return h, g
}

// The step, the determinant and the covariance of the shared unknowns by Schur's
// complement are those of the whole matrix, to the digits that its condition leaves.
func TestEliminationAgainstTheWholeMatrix(t *testing.T) {
	b, s := threeViews(t)
	eq := b.linearise(s)
	r, ok := eq.solve(0)
	if !ok {
		t.Fatal("the equations have no solution")
	}
	h, g := eq.dense()
	var whole mat.Cholesky
	if !whole.Factorize(h) {
		t.Fatal("the whole matrix is not positive definite")
	}
	var step mat.VecDense
	if err := whole.SolveVecTo(&step, mat.NewVecDense(len(g), g)); err != nil {
		t.Fatal(err)
	}
	got := append([]float64(nil), r.shared...)
	for _, own := range r.own {
		got = append(got, own...)
	}
	for i, v := range got {
		// In units of the unknown's own scale.
		if scale := 1 / math.Sqrt(h.At(i, i)); math.Abs(v-step.AtVec(i)) > 1e-6*(scale+math.Abs(v)) {
			t.Errorf("step %d = %g, whole matrix %g", i, v, step.AtVec(i))
		}
	}
	if math.Abs(r.logDet-whole.LogDet()) > 1e-6 {
		t.Errorf("log determinant = %v, whole matrix %v", r.logDet, whole.LogDet())
	}
	var inverse mat.SymDense
	if err := whole.InverseTo(&inverse); err != nil {
		t.Fatal(err)
	}
	covariance := r.factor.inverse()
	for i := range eq.c.n {
		if want := inverse.At(i, i); math.Abs(covariance.at(i, i)-want) > 1e-5*want {
			t.Errorf("variance %d = %g, whole matrix %g", i, covariance.at(i, i), want)
		}
	}
}

// The gradient is half the cost's slope along every unknown. Central differences over a
// ten-thousandth of an unknown's scale leave an error of 1e-8 of the curvature.
func TestBundleGradientAgainstFiniteDifferences(t *testing.T) {
	b, s := threeViews(t)
	eq := b.linearise(s)
	slope := func(set func(r *reduced, h float64), h float64) float64 {
		cost := func(h float64) float64 {
			r := reduced{shared: make([]float64, eq.c.n)}
			for _, v := range eq.views {
				r.own = append(r.own, make([]float64, len(v.own)))
			}
			set(&r, -h) // stepped goes downhill
			return b.cost(b.stepped(s, &eq, &r))
		}
		return (cost(h) - cost(-h)) / (4 * h)
	}
	compare := func(name string, k int, got, want, h float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-3*(1/h*1e-4+math.Abs(want)) {
			t.Errorf("%s %d: gradient %g, differences %g", name, k, got, want)
		}
	}
	for k := range eq.c.n {
		h := 1e-4 / math.Sqrt(eq.c.at(k, k))
		compare("shared", k, eq.gradient[k], slope(func(r *reduced, h float64) { r.shared[k] = h }, h), h)
	}
	for v := range eq.views {
		for k := range eq.views[v].own {
			h := 1e-4 / math.Sqrt(eq.views[v].a.at(k, k))
			compare("own", k, eq.views[v].gradient[k], slope(func(r *reduced, h float64) { r.own[v][k] = h }, h), h)
		}
	}
}
