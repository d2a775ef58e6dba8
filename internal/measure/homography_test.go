package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairedge/internal/camera"
	"fairedge/internal/plane"
)

func TestHomographyRecoversAnExactOne(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 50 {
		h := camera.Mat3{{1, 0.1, 20}, {-0.2, -1, 30}, {1e-4 * rng.NormFloat64(), 1e-4 * rng.NormFloat64(), 400}}
		var source []plane.Point
		var target []camera.Normal
		apply := func(m camera.Mat3, p plane.Point) camera.Normal {
			q := m.Apply(homogeneous(p))
			return camera.Normal{X: q[0] / q[2], Y: q[1] / q[2]}
		}
		for range 12 {
			p := plane.Point{X: 100 * rng.NormFloat64(), Y: 100 * rng.NormFloat64()}
			source, target = append(source, p), append(target, apply(h, p))
		}
		got, ok := homographyFromPoints(source, target)
		far := plane.Point{X: 300, Y: -200}
		a, b := apply(got, far), apply(h, far)
		if !ok || math.Hypot(a.X-b.X, a.Y-b.Y) > 1e-9 {
			t.Errorf("extrapolated to %v, want %v", a, b)
		}
	}
}

func TestHomographyRefusesPointsInLine(t *testing.T) {
	var source []plane.Point
	var target []camera.Normal
	for i := range 9 {
		x := float64(i)
		source, target = append(source, plane.Point{X: x, Y: 2 * x}), append(target, camera.Normal{X: x / 9, Y: -x / 9})
	}
	if h, ok := homographyFromPoints(source, target); ok {
		t.Errorf("nine points in line gave %v", h)
	}
	if h, ok := homographyFromPoints(source[:3], target[:3]); ok {
		t.Errorf("three points gave %v", h)
	}
}

// The mirrored pose keeps the point and the angle to the line of sight, and
// mirroring twice comes back.
func TestOtherPose(t *testing.T) {
	down := camera.Mat3{{1, 0, 0}, {0, -1, 0}, {0, 0, -1}}
	pose := camera.Pose{R: down, T: camera.Vec3{20, -10, 500}}.Turned(camera.Vec3{0.3, -0.2, 0.5}, camera.Vec3{})
	about := camera.Vec3{30, 40, 0}
	other := otherPose(pose, about)
	if d := other.Apply(about).Sub(pose.Apply(about)).Length(); d > 1e-9 {
		t.Errorf("the point moved by %g mm", d)
	}
	sight := pose.Apply(about)
	a, b := pose.R.Column(2).Dot(sight), other.R.Column(2).Dot(sight)
	if math.Abs(a-b) > 1e-9*math.Abs(a) || pose.R.Column(2).Sub(other.R.Column(2)).Length() < 0.1 {
		t.Errorf("normals %v and %v: want equal angles to the line of sight, and different", pose.R.Column(2), other.R.Column(2))
	}
	back := otherPose(other, about)
	if back.R.Column(2).Sub(pose.R.Column(2)).Length() > 1e-9 {
		t.Errorf("mirrored twice: normal %v, want %v", back.R.Column(2), pose.R.Column(2))
	}
}
