package curve

import (
	"sync"

	"gonum.org/v1/gonum/dsp/fourier"
)

// fitFourier transforms series of one length. A transform works in memory of its own,
// which two trials at once must not share: each takes one that is free.
type fitFourier struct{ free sync.Pool }

func newFitFourier(n int) *fitFourier {
	return &fitFourier{sync.Pool{New: func() any { return fourier.NewFFT(n) }}}
}

func (f *fitFourier) coefficients(series []float64) []complex128 {
	fft, _ := f.free.Get().(*fourier.FFT) // New makes nothing else
	defer f.free.Put(fft)
	return fft.Coefficients(nil, series)
}
