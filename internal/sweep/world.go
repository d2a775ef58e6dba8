package sweep

import (
	"math"
	"math/rand/v2"
)

// World says how good lens, print and bench are.
type World struct {
	Name                  string
	K1, K2, F, PP, P1P2   float64 // sd of the lens; but F: half-width of a uniform share, PP: of a uniform shift in px
	FocalLow, FocalHigh   float64 // 35 mm equivalent
	K1Mean                float64
	Noise                 float64 // of each mark, px per axis
	CardOutOfFlat         float64 // h, mm: tilt and bend terms sd h/2, lowest point on the bench
	Anisotropy, Placement float64 // of the print: across over along less 1, sd; each mark, mm per axis
	Warp                  float64 // smooth error of the lens beyond its model, px rms per axis
	TiltLow, TiltHigh     float64 // degrees
	// NormalLens draws focal length and principal point from normal distributions of the
	// same standard deviations.
	NormalLens bool
	Fill       float64 // share of the frame that template and cards reach
}

// IdealOptics and realistic are the two error models of the study behind the goals:
// an unknown phone (k1 0.01, k2 0.005, f ±2 %, principal point ±20 px), tilt to 40
// degrees, 85 % of the frame filled.
func IdealOptics() World {
	return World{Name: "ideal optics", K1: 0.01, K2: 0.005, F: 0.02, PP: 20, FocalLow: 24, FocalHigh: 28,
		Noise: 0.1, TiltHigh: 40, Fill: 0.85}
}

func Realistic() World {
	w := IdealOptics()
	w.Name, w.P1P2, w.CardOutOfFlat, w.Anisotropy, w.Placement, w.Warp = "realistic", 2e-4, 0.3, 0.002, 0.03, 0.2
	return w
}

// spread draws from -1 to 1 evenly, or from the normal distribution of the same
// standard deviation.
func (w World) spread(rng *rand.Rand) float64 {
	if w.NormalLens {
		return rng.NormFloat64() / math.Sqrt(3)
	}
	return 2*rng.Float64() - 1
}
