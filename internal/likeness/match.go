package likeness

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Options say what may be done to an outline to make it fit. Turning and shifting are
// always allowed.
type Options struct {
	Flip  bool // it may be turned over, as a template is
	Scale bool // it may be made larger or smaller
	// LeastMax lays it so that the greatest distance is least, within some hundredths of a
	// millimetre, instead of the root mean square. Index does not heed it.
	LeastMax bool
}

// shifts is how many starts along the outline are tried at once when two signatures are
// compared; the best ones are refined in between.
const shifts = 128

// alignment is one way of laying one signature's outline on another's.
type alignment struct {
	rms     float64 // between points of equal share of the way round, mm; what the harmonics see
	flipped bool
	turn    float64 // radians, after flipping x
	scale   float64
}

// aligner compares signatures; it holds what comparing needs anew each time.
type aligner struct {
	fft          *fourier.CmplxFFT
	product, sum []complex128
}

func newAligner() *aligner {
	return &aligner{fourier.NewCmplxFFT(shifts), make([]complex128, shifts), make([]complex128, shifts)}
}

// power returns the sum of the squares of the coefficients: by Parseval's theorem the mean
// squared distance of the outline's points from their mean, mm².
func (s *Signature) power() float64 {
	sum := 0.0
	for _, c := range s.c {
		sum += squared(c)
	}
	return sum
}

func squared(c complex64) float64 {
	re, im := float64(real(c)), float64(imag(c))
	return re*re + im*im
}

// alignments returns the ways of laying moved on fixed that are best nearby, the best
// first, at most n for each side.
//
// With coefficients A of the one that is moved and B of the one that is not, moving by the
// factor r (turn and scale) and starting s further along gives the mean squared distance
// Σ |B - r A e^(iks)|². For given s it is least for r = c(s)/ΣA², c(s) = Σ B A* e^(-iks),
// where it is ΣB² - |c|²/ΣA²; if only turning is allowed, ΣA² + ΣB² - 2|c|. Both fall with
// |c|, which is evaluated for all s at once by a fast Fourier transform and then refined
// by Newton's method. Turning over makes every A its complex conjugate.
func (x *aligner) alignments(moved, fixed *Signature, o Options, n int) []alignment {
	var out []alignment
	for _, flipped := range []bool{false, true} {
		if flipped && !o.Flip {
			break
		}
		out = append(out, x.oneSide(moved, fixed, flipped, o.Scale, n)...)
	}
	sortBy(out, func(a alignment) float64 { return a.rms })
	return out
}

func (x *aligner) oneSide(moved, fixed *Signature, flipped, scaled bool, n int) []alignment {
	for i := range x.product {
		x.product[i] = 0
	}
	var terms [2 * harmonics]complex128
	for i := range terms {
		a := complex128(moved.c[i])
		if !flipped {
			a = cmplx.Conj(a)
		}
		terms[i] = complex128(fixed.c[i]) * a
		x.product[(harmonicAt(i)+shifts)%shifts] = terms[i]
	}
	x.fft.Coefficients(x.sum, x.product) // Σ product[k] e^(-2πi k j / shifts)
	var peaks []int
	for j, c := range x.sum {
		l, r := x.sum[(j+shifts-1)%shifts], x.sum[(j+1)%shifts]
		if size := magnitudeSq(c); size >= magnitudeSq(l) && size > magnitudeSq(r) {
			peaks = append(peaks, j)
		}
	}
	if len(peaks) == 0 {
		peaks = []int{0} // a circle: every start is as good
	}
	sortBy(peaks, func(j int) float64 { return -magnitudeSq(x.sum[j]) })
	powerA, powerB := moved.power(), fixed.power()
	var out []alignment
	for _, j := range peaks[:min(n, len(peaks))] {
		c := refinedPeak(&terms, 2*math.Pi*float64(j)/shifts)
		a := alignment{flipped: flipped, turn: cmplx.Phase(c), scale: 1}
		if scaled {
			a.scale = cmplx.Abs(c) / powerA
			a.rms = math.Sqrt(math.Max(0, powerB-cmplx.Abs(c)*a.scale))
		} else {
			a.rms = math.Sqrt(math.Max(0, powerA+powerB-2*cmplx.Abs(c)))
		}
		out = append(out, a)
	}
	return out
}

func magnitudeSq(c complex128) float64 { return real(c)*real(c) + imag(c)*imag(c) }

// refinedPeak returns c(s) at the s near the given one where |c|² is greatest, by Newton's
// method on its derivative. A step that would leave the neighbourhood ends it.
func refinedPeak(terms *[2 * harmonics]complex128, s float64) complex128 {
	const reach = 2 * math.Pi / shifts
	at := s
	best, bestSize := complex128(0), -1.0
	for range 5 {
		var c, d, dd complex128 // c and its derivatives by s
		root := cmplx.Rect(1, -at)
		power := complex128(1) // e^(-iks); its conjugate is that of -k
		for i := range harmonics {
			k := float64(i + 1)
			power *= root
			up, down := terms[harmonics+i]*power, terms[harmonics-1-i]*cmplx.Conj(power)
			c += up + down
			d += complex(0, -k)*up + complex(0, k)*down
			dd -= complex(k*k, 0) * (up + down)
		}
		if size := magnitudeSq(c); size > bestSize {
			best, bestSize = c, size
		}
		slope := 2 * real(cmplx.Conj(c)*d)
		bend := 2 * (magnitudeSq(d) + real(cmplx.Conj(c)*dd))
		if !(bend < 0) {
			break
		}
		at -= slope / bend
		if math.Abs(at-s) > reach || math.Abs(slope/bend) < 1e-9 {
			break
		}
	}
	return best
}
