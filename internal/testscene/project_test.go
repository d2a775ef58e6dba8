package testscene

import (
	"math"
	"testing"

	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// slowProjection follows OpenCV's documentation of projectPoints step by step,
// with the rotation put together from elementary turns.
func slowProjection(c Camera, p plane.Point, z float64) photo.Point {
	rad := math.Pi / 180
	// Seen by a camera that looks straight down from above LookAt: x right, y down.
	x, y, h := p.X-c.LookAt.X, p.Y-c.LookAt.Y, z
	turn := func(a, b, angle float64) (float64, float64) {
		return a*math.Cos(angle) - b*math.Sin(angle), a*math.Sin(angle) + b*math.Cos(angle)
	}
	x, y = turn(x, y, -c.AzimuthDeg*rad) // bring the person to -y
	y, h = -y, -h                        // y down, z away from the lens
	y, h = turn(y, h, -c.TiltDeg*rad)    // lean back: what is far (y < 0) gets deeper
	x, y = turn(x, y, -c.RollDeg*rad)    // the phone turns clockwise, the picture the other way
	h += c.DistanceMM
	u, v := x/h, y/h
	r2 := math.Pow(math.Hypot(u, v), 2)
	ud := u*(1+c.K1*r2+c.K2*r2*r2) + 2*c.P1*u*v + c.P2*(r2+2*u*u)
	vd := v*(1+c.K1*r2+c.K2*r2*r2) + c.P1*(r2+2*v*v) + 2*c.P2*u*v
	return photo.Point{
		X: c.F*ud + float64(c.Width)/2 + c.CxOffset,
		Y: c.F*vd + float64(c.Height)/2 + c.CyOffset,
	}
}

func cameras() map[string]Camera {
	base := Phone12MP()
	steep := base
	steep.TiltDeg, steep.AzimuthDeg, steep.RollDeg, steep.LookAt = 38, 110, 12, plane.Point{X: 40, Y: -25}
	lens := base
	lens.K1, lens.K2, lens.P1, lens.P2 = -0.12, 0.05, 8e-4, -6e-4
	return map[string]Camera{"everyday": base, "steep": steep, "strong lens": lens}
}

func TestTruthProjectsLikeOpenCVsFormula(t *testing.T) {
	for name, c := range cameras() {
		truth := Truth{view: newProjection(c)}
		for i := range 400 {
			p := plane.Point{X: float64(i%20)*40 - 380, Y: float64(i/20)*30 - 285}
			z := float64(i % 7)
			got, want := truth.PhotoFromBench(p, z), slowProjection(c, p, z)
			if d := math.Hypot(got.X-want.X, got.Y-want.Y); !(d < 1e-8) {
				t.Fatalf("%s: PhotoFromBench(%v, %g) = %v, want %v", name, p, z, got, want)
			}
			back := truth.PlaneFromPhoto(truth.PhotoFromPlane(p))
			if d := back.DistanceTo(p); !(d < 1e-8) {
				t.Fatalf("%s: PlaneFromPhoto(PhotoFromPlane(%v)) = %v", name, p, back)
			}
		}
	}
}

// Closed forms: f X/D straight down; y cos t / (D + y sin t) when leaning back.
func TestTruthInPlainCases(t *testing.T) {
	c := Camera{Width: 400, Height: 300, F: 1000, DistanceMM: 500}
	tests := []struct {
		name                string
		tilt, azimuth, roll float64
		p                   plane.Point
		wantX, wantY        float64
	}{
		{"straight down", 0, 0, 0, plane.Point{X: 10, Y: 20}, 200 + 20, 150 - 40},
		{"from the right, up is -x", 0, 90, 0, plane.Point{X: -20, Y: 10}, 200 + 20, 150 - 40},
		{"phone turned clockwise", 0, 0, 90, plane.Point{Y: 20}, 200 - 40, 150},
		{"leaning back", 30, 0, 0, plane.Point{Y: 100}, 200, 150 - 1000*100*math.Cos(math.Pi/6)/(500+100*0.5)},
	}
	for _, test := range tests {
		c.TiltDeg, c.AzimuthDeg, c.RollDeg = test.tilt, test.azimuth, test.roll
		got := Truth{view: newProjection(c)}.PhotoFromPlane(test.p)
		if math.Hypot(got.X-test.wantX, got.Y-test.wantY) > 1e-9 {
			t.Errorf("%s: PhotoFromPlane(%v) = %v, want (%g, %g)", test.name, test.p, got, test.wantX, test.wantY)
		}
	}
}

// The renderer steps from pixel to pixel with one Newton step each; the truth
// iterates to the end. Along a square's row they must agree to 1e-6 px.
func TestSteppingAlongARowStaysOnTheLensModel(t *testing.T) {
	for name, c := range cameras() {
		v := newProjection(c)
		step := 1 / c.F
		for _, start := range []photo.Point{{X: 0.5, Y: 0.5}, {X: 2016.5, Y: 3023.5}, {X: 4015.5, Y: 10.5}} {
			tx, ty := (start.X-v.cx)*step, (start.Y-v.cy)*step
			nx, ny := v.undistortFrom(tx, ty, tx, ty, 8)
			dx, dy := step, 0.0
			for k := 1; k < tilePx; k++ {
				tx += step
				mx, my := v.undistortFrom(nx+dx, ny+dy, tx, ty, 1)
				dx, dy, nx, ny = mx-nx, my-ny, mx, my
			}
			ux, uy := v.distort(nx, ny)
			if e := math.Hypot(ux-tx, uy-ty) * c.F; !(e < 1e-6) {
				t.Errorf("%s: row from %v ends %g px off", name, start, e)
			}
		}
	}
}
