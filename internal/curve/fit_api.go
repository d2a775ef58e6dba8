package curve

import (
	"fairedge/internal/plane"
)

// Sample is one measured point of a traced outline.
type Sample struct {
	At      plane.Point // millimetres
	Sigma   float64     // its own localisation error, mm (one standard deviation); 0 = unknown
	Bridged bool        // guessed across a gap, not seen
}

// Fair is the fair outline through noisy samples, with the evidence for it.
// Read-only after construction.
type Fair struct {
	// Path is closed and counter-clockwise. It starts at the corner, or failing
	// corners the joint, with the least x + y.
	Path Path
	// Corners lists the pieces that start at a true corner, ascending. At every
	// other joint both pieces share one direction.
	Corners []int
	// RMS and Max are the distances of all seen samples to Path, mm.
	RMS, Max float64
	// Noise is the estimated standard deviation of one sample across the outline,
	// mm, robust against stray samples.
	Noise float64
	// CorrelationLength is the integral of the noise's autocorrelation along the
	// outline, mm; the sample spacing when neighbours err independently.
	CorrelationLength float64
	// Uncertainty is the typical standard deviation of Path across itself, mm:
	// the noise of one sample shared out over the samples each number rests on.
	Uncertainty float64
	// Fairness is the integral of (dκ/ds)² over the pieces, mm⁻³: small is fair
	// (Moreton and Séquin, Functional optimization for fair surface design, 1992).
	Fairness float64
	// Strays counts the samples that were given less than a quarter of their
	// weight for lying far from their neighbours or the outline.
	Strays int
}

// FitClosed returns the fairest closed outline that the samples support. The
// samples are in order along the outline, either way round, starting anywhere.
//
// The outline is a chain of straight lines and cubics, G1 at every joint but the
// corners. How many pieces it has is decided by description length: a piece must
// explain more than the noise, whose size and correlation along the outline are
// estimated from the same samples. If params.Resolution is set it decides instead: the
// fewest pieces that the samples do not leave by more.
func FitClosed(samples []Sample, params FitParams) (Fair, error) {
	tr, err := newFitTrace(samples, params)
	if err != nil {
		return Fair{}, err
	}
	tr.muteBumps(params)
	best := tr.withCorners(tr.findCorners(params), params).fitted(params)
	if params.Resolution == 0 {
		best = best.withoutBlunt(tr, params)
	}
	return best.tr.report(best.chain, best.noise)
}
