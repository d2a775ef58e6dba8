package curve

import (
	"math"
)

// fitNoise describes the errors of the block means across the outline: part of
// the variance is white, part correlated along the outline like white noise
// smoothed by a Gaussian of standard deviation c.
type fitNoise struct {
	variance   float64 // of a block mean, mm²
	correlated float64 // share of the variance that is correlated
	c          float64 // mm
}

// The closed outline makes the residuals a circular series, so the Fourier
// transform diagonalises any stationary covariance and minus twice the log
// likelihood is, up to a constant, the sum over frequencies of ln f + I/f with
// periodogram I and spectrum f (Whittle, Estimation and information in stationary
// time series, 1953; exact here). High frequencies are taken in bands.

// fitBand is a band of neighbouring frequencies with its mean periodogram.
type fitBand struct {
	omega, power, count float64
}

// bandsOf returns the periodogram of the residuals (mm, one per block of length
// h) in bands. missing counts the blocks
// whose residual is the mean of neighbours: white noise has half its variance there.
func bandsOf(transform *fitFourier, residual []float64, h float64, missing int) []fitBand {
	n := len(residual)
	coeff := transform.coefficients(residual)
	scale := 1 / (float64(n) - float64(missing)/2)
	var bands []fitBand
	for j := 1; j < len(coeff); {
		end := max(j+1, int(float64(j)*1.12))
		b := fitBand{}
		for ; j < end && j < len(coeff); j++ {
			re, im := real(coeff[j]), imag(coeff[j])
			b.power += (re*re + im*im) * scale
			b.omega += 2 * math.Pi * float64(j) / (float64(n) * h)
			b.count++
		}
		b.power /= b.count
		b.omega /= b.count
		bands = append(bands, b)
	}
	return bands
}

// likelihood returns minus twice the log likelihood of the bands, and the noise
// that makes it least: the variance in closed form, share and length from a grid.
// floor, mm², is white variance that is always there: without it a smooth wobble,
// which has no high frequencies, would pass for shape measured without error.
func likelihood(bands []fitBand, h, floor float64) (float64, fitNoise) {
	best, noise := math.Inf(1), fitNoise{}
	try := func(shape []float64, share, c float64) {
		var ratio, sum, count float64
		for i, b := range bands {
			ratio += b.count * b.power / (shape[i] + 1e-6)
			count += b.count
		}
		v := ratio / count
		for i, b := range bands {
			f := v*shape[i] + floor
			sum += 2 * b.count * (math.Log(f) + b.power/f)
		}
		if sum < best {
			best, noise = sum, fitNoise{v, share, c}
		}
	}
	shape := make([]float64, len(bands))
	for i := range shape {
		shape[i] = 1
	}
	try(shape, 0, 0)
	gauss := make([]float64, len(bands))
	for c := h; c < 40*h; c *= 1.3 {
		gaussSpectrum(bands, c, gauss)
		for _, share := range [...]float64{0.05, 0.15, 0.3, 0.5, 0.7, 0.85, 0.94, 0.98, 0.995} {
			for i, g := range gauss {
				shape[i] = 1 - share + share*g
			}
			try(shape, share, c)
		}
	}
	return best, noise
}

// gaussSpectrum fills the spectrum of white noise smoothed by a Gaussian of
// standard deviation c, with mean 1 over the frequencies.
func gaussSpectrum(bands []fitBand, c float64, out []float64) {
	var sum, count float64
	for i, b := range bands {
		out[i] = math.Exp(-b.omega * b.omega * c * c)
		sum += b.count * out[i]
		count += b.count
	}
	for i := range out {
		out[i] *= count / sum
	}
}

// slow returns the variance, mm², that a block's share of any slow combination
// of blocks carries: the spectrum at wavelengths long against c.
func (n fitNoise) slow(h float64) float64 {
	if n.correlated == 0 {
		return n.variance
	}
	return n.variance * (1 - n.correlated + n.correlated*math.Max(1, 2*math.Sqrt(math.Pi)*n.c/h))
}
