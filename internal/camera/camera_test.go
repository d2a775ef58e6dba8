package camera_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairedge/internal/camera"
	"fairedge/internal/photo"
)

func sampleCamera(rng *rand.Rand) camera.Camera {
	n := func(sd float64) float64 { return sd * rng.NormFloat64() }
	down := camera.Mat3{{1, 0, 0}, {0, -1, 0}, {0, 0, -1}}
	pose := camera.Pose{R: down, T: camera.Vec3{n(30), n(30), 500 + 100*rng.Float64()}}
	return camera.Camera{
		Lens: camera.Lens{F: 2800 + n(200), Centre: photo.Point{X: 2016 + n(20), Y: 1512 + n(20)},
			K1: n(0.1), K2: n(0.03), P1: n(1e-3), P2: n(1e-3)},
		CameraFromBench: pose.Turned(camera.Vec3{n(0.3), n(0.3), n(2)}, camera.Vec3{}),
	}
}

// perturbed moves one camera parameter by h, in the parametrisation of Jacobian.
func perturbed(c camera.Camera, param int, h float64) camera.Camera {
	switch param {
	case camera.ParamLogF:
		c.Lens.F *= math.Exp(h)
	case camera.ParamCx:
		c.Lens.Centre.X += h
	case camera.ParamCy:
		c.Lens.Centre.Y += h
	case camera.ParamK1:
		c.Lens.K1 += h
	case camera.ParamK2:
		c.Lens.K2 += h
	case camera.ParamP1:
		c.Lens.P1 += h
	case camera.ParamP2:
		c.Lens.P2 += h
	default:
		var w, d camera.Vec3
		if param < camera.ParamShift {
			w[param-camera.ParamTurn] = h
		} else {
			d[param-camera.ParamShift] = h
		}
		c.CameraFromBench = c.CameraFromBench.Turned(w, d)
	}
	return c
}

// Central differences with step h have an error of order h² and of rounding/h;
// 1e-5 leaves both below 1e-6 of the derivative's own size.
func TestProjectJacobianAgainstFiniteDifferences(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		c := sampleCamera(rng)
		x := camera.Vec3{200 * rng.NormFloat64(), 150 * rng.NormFloat64(), 10 * rng.NormFloat64()}
		_, jac, ok := c.Project(x)
		if !ok {
			continue
		}
		const h = 1e-5
		check := func(name string, k int, lo, hi photo.Point, u, v float64) {
			t.Helper()
			du, dv := (hi.X-lo.X)/(2*h), (hi.Y-lo.Y)/(2*h)
			tolerance := 1e-4 * (1 + math.Hypot(du, dv))
			if math.Abs(du-u) > tolerance || math.Abs(dv-v) > tolerance {
				t.Errorf("%s %d: analytic (%g, %g), differences (%g, %g)", name, k, u, v, du, dv)
			}
		}
		for k := range camera.ParamCount {
			lo, _ := perturbed(c, k, -h).PhotoFromBench(x)
			hi, _ := perturbed(c, k, h).PhotoFromBench(x)
			check("camera parameter", k, lo, hi, jac.ByCamera[0][k], jac.ByCamera[1][k])
		}
		for k := range 3 {
			var d camera.Vec3
			d[k] = h
			lo, _ := c.PhotoFromBench(x.Sub(d))
			hi, _ := c.PhotoFromBench(x.Add(d))
			check("bench coordinate", k, lo, hi, jac.ByBench[0][k], jac.ByBench[1][k])
		}
	}
}

func TestUndistortInvertsDistort(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		lens := camera.Lens{F: 1, K1: 0.2 * rng.NormFloat64(), K2: 0.05 * rng.NormFloat64(),
			P1: 1e-3 * rng.NormFloat64(), P2: 1e-3 * rng.NormFloat64()}
		// 0.8 is the corner of a 24 mm equivalent lens (21.6/24 = 0.9 diagonally, less the border).
		n := camera.Normal{X: (2*rng.Float64() - 1) * 0.64, Y: (2*rng.Float64() - 1) * 0.48}
		j := lens.DistortJacobian(n)
		if j[0][0]*j[1][1]-j[0][1]*j[1][0] < 0.2 { // folded lens: no inverse to be had
			continue
		}
		got, ok := lens.Undistort(lens.Distort(n))
		if !ok || math.Hypot(got.X-n.X, got.Y-n.Y) > 1e-11 {
			t.Errorf("%+v: Undistort(Distort(%v)) = %v, %v", lens, n, got, ok)
		}
	}
}

func TestUndistortBeyondTheRimSaysSo(t *testing.T) {
	// x (1 - x²) is greatest at 1/√3 with the value 0.385: nothing maps to 0.5.
	lens := camera.Lens{F: 1, K1: -1}
	if n, ok := lens.Undistort(camera.Normal{X: 0.5}); ok {
		t.Errorf("Undistort(0.5) = %v, want no answer", n)
	}
}

// The formula as the OpenCV documentation of calib3d states it, worked by hand for
// x = 0.3, y = -0.2, k = (-0.27, 0.1, 0.001, -0.002): r² = 0.13, radial = 0.96659.
func TestDistortByHand(t *testing.T) {
	lens := camera.Lens{F: 1, K1: -0.27, K2: 0.1, P1: 0.001, P2: -0.002}
	got := lens.Distort(camera.Normal{X: 0.3, Y: -0.2})
	want := camera.Normal{
		X: 0.3*0.96659 + 2*0.001*0.3*-0.2 - 0.002*(0.13+2*0.09),
		Y: -0.2*0.96659 + 0.001*(0.13+2*0.04) + 2*-0.002*0.3*-0.2,
	}
	if math.Hypot(got.X-want.X, got.Y-want.Y) > 1e-12 {
		t.Errorf("Distort = %v, want %v", got, want)
	}
}

func TestRotationFromVector(t *testing.T) {
	quarter := camera.RotationFromVector(camera.Vec3{0, 0, math.Pi / 2})
	if got := quarter.Apply(camera.Vec3{1, 0, 0}); got.Sub(camera.Vec3{0, 1, 0}).Length() > 1e-15 {
		t.Errorf("a quarter turn about z sends x to %v, want y", got)
	}
	rng := rand.New(rand.NewPCG(5, 6))
	for range 200 {
		w := camera.Vec3{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()}.Scale(math.Pow(10, -8*rng.Float64()))
		r := camera.RotationFromVector(w)
		if math.Abs(r.Det()-1) > 1e-12 || r.Apply(w).Sub(w).Length() > 1e-12 {
			t.Errorf("R(%v): determinant %v, axis moved to %v", w, r.Det(), r.Apply(w))
		}
		inv, ok := r.Inverse()
		back := camera.RotationFromVector(w.Scale(-1))
		for i := range 3 {
			if !ok || inv[i].Sub(back[i]).Length() > 1e-12 {
				t.Errorf("R(%v) inverse row %d = %v, want %v", w, i, inv[i], back[i])
			}
		}
	}
}

func BenchmarkUndistort(b *testing.B) {
	lens := camera.Lens{F: 2900, Centre: photo.Point{X: 2016, Y: 1512}, K1: 0.02, K2: -0.01, P1: 2e-4, P2: -1e-4}
	for i := range b.N {
		lens.NormalFromPhoto(photo.Point{X: float64(i % 4032), Y: float64(i % 3024)})
	}
}
