package sweep

import (
	"math"
	"math/rand/v2"

	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

const (
	PhotoWidth  = 4032
	PhotoHeight = 3024
)

// Truth is a camera over the bench, in its own words: a position, a direction and
// trigonometry.
type Truth struct {
	F, Cx, Cy      float64
	K1, K2, P1, P2 float64
	right, down    [3]float64 // camera axes in the bench frame, y up, z up
	ahead, eye     [3]float64
	warp           []wave
	OutlineHeight  float64
}

// wave is one term of a smooth random displacement of the picture.
type wave struct{ kx, ky, phase, u, v float64 }

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// See returns the pixel that sees a bench point.
func (t *Truth) See(x, y, z float64) photo.Point {
	d := [3]float64{x - t.eye[0], y - t.eye[1], z - t.eye[2]}
	depth := dot(d, t.ahead)
	a, b := dot(d, t.right)/depth, dot(d, t.down)/depth
	r := math.Hypot(a, b)
	swell := 1 + t.K1*math.Pow(r, 2) + t.K2*math.Pow(r, 4)
	da := a*swell + 2*t.P1*a*b + t.P2*(r*r+2*a*a)
	db := b*swell + t.P1*(r*r+2*b*b) + 2*t.P2*a*b
	u, v := t.Cx+t.F*da, t.Cy+t.F*db
	wu, wv := 0.0, 0.0
	for _, w := range t.warp {
		s := math.Sin(w.kx*u + w.ky*v + w.phase)
		wu, wv = wu+w.u*s, wv+w.v*s
	}
	return photo.Point{X: u + wu, Y: v + wv}
}

// Aim turns the camera: it looks at the target point from distance, tilted away
// from the plumb line towards azimuth, rolled about its axis.
func (t *Truth) Aim(at plane.Point, distance, tilt, azimuth, roll float64) {
	st, ct := math.Sincos(tilt)
	sa, ca := math.Sincos(azimuth)
	t.ahead = [3]float64{-st * ca, -st * sa, -ct}
	t.eye = [3]float64{at.X - distance*t.ahead[0], at.Y - distance*t.ahead[1], -distance * t.ahead[2]}
	// Level axes: along the slope and across it, then rolled.
	up := [3]float64{-ct * ca, -ct * sa, st}
	side := [3]float64{-sa, ca, 0}
	sr, cr := math.Sincos(roll)
	for k := range 3 {
		t.right[k] = cr*side[k] + sr*up[k]
		t.down[k] = -sr*side[k] + cr*up[k]
	}
	// right x down must be ahead, or the picture is mirrored.
	cross := [3]float64{
		t.right[1]*t.down[2] - t.right[2]*t.down[1],
		t.right[2]*t.down[0] - t.right[0]*t.down[2],
		t.right[0]*t.down[1] - t.right[1]*t.down[0]}
	if dot(cross, t.ahead) < 0 {
		for k := range 3 {
			t.right[k] = -t.right[k]
		}
	}
}

func RandomTruth(rng *rand.Rand, w World) Truth {
	var t Truth
	n := rng.NormFloat64
	focal35 := w.FocalLow + (w.FocalHigh-w.FocalLow)*rng.Float64()
	t.F = focal35 * math.Hypot(PhotoWidth, PhotoHeight) / math.Hypot(36, 24)
	t.Cx = PhotoWidth/2 + w.PP*w.spread(rng)
	t.Cy = PhotoHeight/2 + w.PP*w.spread(rng)
	t.K1, t.K2, t.P1, t.P2 = w.K1Mean+w.K1*n(), w.K2*n(), w.P1P2*n(), w.P1P2*n()
	if w.Warp > 0 {
		// A dozen waves, half to one and a half periods across the picture; a sine's mean
		// square is a half.
		const waves = 12
		for range waves {
			angle, periods := 2*math.Pi*rng.Float64(), 0.5+rng.Float64()
			k := 2 * math.Pi * periods / PhotoWidth
			amplitude := w.Warp * math.Sqrt(2.0/waves)
			t.warp = append(t.warp, wave{k * math.Cos(angle), k * math.Sin(angle), 2 * math.Pi * rng.Float64(), amplitude * n(), amplitude * n()})
		}
	}
	return t
}

// Focal35 returns the 35 mm equivalent of a focal length in px.
func Focal35(f float64) float64 {
	return f / math.Hypot(PhotoWidth, PhotoHeight) * math.Hypot(36, 24)
}
