package plane

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

const eps = 1e-9 // mm, for coordinates up to 1000 mm

func anyPoint(t *rapid.T, name string) Point {
	return Point{rapid.Float64Range(-1000, 1000).Draw(t, name+".x"), rapid.Float64Range(-1000, 1000).Draw(t, name+".y")}
}

func anyRigid(t *rapid.T, name string) Rigid {
	return RigidFromAngle(rapid.Float64Range(-7, 7).Draw(t, name+".angle"), Vec(anyPoint(t, name+".shift")))
}

func TestHandedness(t *testing.T) {
	x, y := Vec{X: 1}, Vec{Y: 1}
	if x.Cross(y) != 1 || y.Cross(x) != -1 {
		t.Error("x × y must be +1: y lies to the left of x")
	}
	if x.TurnLeft() != y || y.TurnRight() != x {
		t.Errorf("TurnLeft(x) = %v, TurnRight(y) = %v", x.TurnLeft(), y.TurnRight())
	}
	if got := x.AngleTo(y); got != math.Pi/2 {
		t.Errorf("AngleTo from x to y = %v, want π/2", got)
	}
	if got := RigidFromAngle(math.Pi/2, Vec{X: 10}).Apply(Point{X: 3}); got.DistanceTo(Point{X: 10, Y: 3}) > eps {
		t.Errorf("a quarter turn left of (3, 0), shifted by 10 along x = %v, want (10, 3)", got)
	}
}

func TestVectorLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := anyPoint(t, "p"), anyPoint(t, "q")
		v, w := Vec(p), Vec(q)
		if p.Add(q.Sub(p)).DistanceTo(q) > eps {
			t.Fatal("p + (q - p) must be q")
		}
		if p.Lerp(q, 0) != p || p.Lerp(q, 1).DistanceTo(q) > eps {
			t.Fatal("Lerp must start at p and end at q")
		}
		if v.Dot(v.TurnLeft()) != 0 || v.Cross(v.TurnLeft()) < 0 || v.TurnLeft().TurnRight() != v {
			t.Fatal("TurnLeft must be square and positive")
		}
		if math.Abs(math.Hypot(v.Dot(w), v.Cross(w))-v.Length()*w.Length()) > 1e-6 {
			t.Fatal("dot² + cross² must be |v|²|w|²") // Lagrange's identity
		}
		if math.Abs(p.DistanceSqTo(q)-p.DistanceTo(q)*p.DistanceTo(q)) > 1e-6 {
			t.Fatal("DistanceSqTo must be the square of DistanceTo")
		}
		if v != (Vec{}) && math.Abs(v.Unit().Length()-1) > 1e-12 {
			t.Fatal("Unit must have length 1")
		}
	})
	if (Vec{}).Unit() != (Vec{}) {
		t.Error("the zero vector has no direction")
	}
}

func TestRigidLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := anyRigid(t, "a"), anyRigid(t, "b"), anyRigid(t, "c")
		p, q := anyPoint(t, "p"), anyPoint(t, "q")
		if d := a.Apply(p).DistanceTo(a.Apply(q)) - p.DistanceTo(q); math.Abs(d) > eps {
			t.Fatalf("a motion stretched a distance by %g", d)
		}
		if got := a.Inverse().Apply(a.Apply(p)); got.DistanceTo(p) > eps {
			t.Fatalf("inverse: %v, want %v", got, p)
		}
		if got := a.After(a.Inverse()).Apply(p); got.DistanceTo(p) > eps {
			t.Fatalf("a after its inverse: %v, want %v", got, p)
		}
		if got, want := a.After(b).Apply(p), a.Apply(b.Apply(p)); got.DistanceTo(want) > eps {
			t.Fatalf("a.After(b): %v, want %v", got, want)
		}
		if got, want := a.After(b).After(c).Apply(p), a.After(b.After(c)).Apply(p); got.DistanceTo(want) > 10*eps {
			t.Fatalf("associativity: %v, want %v", got, want)
		}
		if Identity().After(a) != a || a.After(Identity()) != a {
			t.Fatal("the identity changed a motion")
		}
		if got, want := a.ApplyVec(q.Sub(p)), a.Apply(q).Sub(a.Apply(p)); got.Sub(want).Length() > eps {
			t.Fatalf("ApplyVec: %v, want %v", got, want)
		}
		if got := RigidFromAngle(a.Angle(), a.Shift).Apply(p); got.DistanceTo(a.Apply(p)) > eps {
			t.Fatal("Angle must give the turn back")
		}
	})
}

func TestBestRigidRecovers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := anyRigid(t, "motion")
		n := rapid.IntRange(2, 12).Draw(t, "n")
		source, target := make([]Point, n), make([]Point, n)
		spread := 0.0
		for i := range source {
			source[i] = anyPoint(t, "source")
			target[i] = want.Apply(source[i])
			spread = math.Max(spread, source[i].DistanceTo(source[0]))
		}
		if spread < 1 {
			t.Skip("the points nearly coincide: no direction")
		}
		got := BestRigid(source, target)
		for i := range source {
			if d := got.Apply(source[i]).DistanceTo(target[i]); d > 1e-8 {
				t.Fatalf("point %d lands %g mm off", i, d)
			}
		}
	})
}

// TestBestRigidIsLeast: no small motion away from the answer lessens the sum of squares,
// also where the targets are noisy.
func TestBestRigidIsLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 10).Draw(t, "n")
		source, target := make([]Point, n), make([]Point, n)
		for i := range source {
			source[i], target[i] = anyPoint(t, "source"), anyPoint(t, "target")
		}
		sum := func(m Rigid) float64 {
			s := 0.0
			for i := range source {
				s += m.Apply(source[i]).DistanceSqTo(target[i])
			}
			return s
		}
		best := BestRigid(source, target)
		least := sum(best)
		for _, nudge := range []Rigid{
			RigidFromAngle(1e-3, Vec{}), RigidFromAngle(-1e-3, Vec{}),
			RigidFromAngle(0, Vec{X: 0.5}), RigidFromAngle(0, Vec{Y: -0.5}),
			RigidFromAngle(math.Pi, Vec{}), RigidFromAngle(1, Vec{X: 3}),
		} {
			if got := sum(nudge.After(best)); got < least*(1-1e-9)-1e-9 {
				t.Fatalf("a nudge lessens the sum from %g to %g", least, got)
			}
		}
	})
}

func TestBestRigidOfCoincidentPoints(t *testing.T) {
	p, q := Point{X: 1, Y: 2}, Point{X: 5, Y: -1}
	if got := BestRigid([]Point{p, p}, []Point{q, q}).Apply(p); got.DistanceTo(q) > eps {
		t.Errorf("points without direction land at %v, want %v", got, q)
	}
}

func TestRect(t *testing.T) {
	r := RectFromPoints(Point{3, 4}, Point{-1, 10}, Point{0, 5})
	if r != (Rect{Point{-1, 4}, Point{3, 10}}) || r.Width() != 4 || r.Height() != 6 || r.Centre() != (Point{1, 7}) {
		t.Errorf("RectFromPoints = %v", r)
	}
	if e := EmptyRect(); !e.IsEmpty() || e.Contains(Point{}) || e.Union(r) != r || r.Union(e) != r {
		t.Error("the empty box must hold nothing and add nothing")
	}
	if g := r.Grow(2); g != (Rect{Point{-3, 2}, Point{5, 12}}) || !r.Grow(-3).IsEmpty() {
		t.Errorf("Grow = %v", g)
	}
	for _, p := range []Point{{-1, 4}, {3, 10}, {1, 7}} {
		if !r.Contains(p) {
			t.Errorf("%v must lie in %v", p, r)
		}
	}
	if r.Contains(Point{3.001, 7}) || r.Contains(Point{0, 3.999}) {
		t.Error("points outside must not lie in the box")
	}
}

func TestIsFinite(t *testing.T) {
	inf := math.Inf(1)
	for _, p := range []Point{{math.NaN(), 0}, {0, inf}, {inf, -inf}, {-inf, 1}} {
		if p.IsFinite() {
			t.Errorf("%v is not finite", p)
		}
	}
	if !(Point{-1e300, 1e300}).IsFinite() || !(Point{math.MaxFloat64, math.MaxFloat64}).IsFinite() {
		t.Error("large ordinary numbers are finite")
	}
}
