package detect

import (
	"math"

	"fairedge/internal/card"
)

// sectors are the middles of the four cells about a mark, in lattice steps.
var sectors = [4][2]float64{{0.5, 0.5}, {-0.5, 0.5}, {-0.5, -0.5}, {0.5, -0.5}}

// Blur of more than dotsMatter cells carries the dots, whose rims are 0.2 cells
// outside the window, into it. Each round of taking them out uses the contrast and
// blur of the fit before; the third changes the mark by under 0.01 px.
const (
	dotsMatter = 0.05
	dotRounds  = 3
)

// withoutDots returns the samples less the halo of the dots in the cells about.
//
// A disc of radius r seen through a Gaussian blur of variance s² is, away from its
// rim and wherever s is not much less than r, a Gaussian with the variances of both
// added (the variance of a disc is r²/4 per axis). Seen at a tilt, with A the
// matrix whose columns are the lattice's steps in px and r in cells, the covariance
// is s² 1 + r²/4 A Aᵀ and the volume π r² det A. A dot turns its cell from
// +contrast to -contrast, or back.
func (w *fitWindow) withoutDots(samples []sample, m *markFit) []sample {
	const r = card.DotRadius / card.Pitch
	cxx := m.blur*m.blur + r*r/4*(w.ax*w.ax+w.bx*w.bx)
	cyy := m.blur*m.blur + r*r/4*(w.ay*w.ay+w.by*w.by)
	cxy := r * r / 4 * (w.ax*w.ay + w.bx*w.by)
	det := cxx*cyy - cxy*cxy
	peak := r * r * math.Abs(w.det()) / (2 * math.Sqrt(det))
	clean := append([]sample(nil), samples...)
	for k, at := range sectors {
		if !w.dots[k] {
			continue
		}
		x, y := m.x-w.x+at[0]*w.ax+at[1]*w.bx, m.y-w.y+at[0]*w.ay+at[1]*w.by
		gain := -2 * m.contrast * math.Copysign(peak, at[0]*at[1])
		for n := range clean {
			dx, dy := clean[n].dx-x, clean[n].dy-y
			q := (cyy*dx*dx - 2*cxy*dx*dy + cxx*dy*dy) / det
			clean[n].grey -= gain * math.Exp(-q/2)
		}
	}
	return clean
}
