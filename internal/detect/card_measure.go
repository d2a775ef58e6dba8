package detect

import (
	"math"

	"fairedge/internal/card"
)

// measureMarks fits every mark of the card that the search has found, then looks
// for the rest from the known ones outward, and at last drops those that do not
// fit in with their neighbours.
func (v *cardView) measureMarks(f *fitter) {
	blur := v.firstBlur(f)
	v.fitSpots(f, v.rough(), 2, blur, 0.25)
	typical := v.typical()
	v.refuse(typical, f.params)
	for _, reach := range [3]int{2, 3, 5} {
		for range v.cols + v.rows {
			if !v.extend(f, reach, typical) {
				break
			}
		}
	}
	for range 3 {
		if v.dropOutliers(f.params) == 0 {
			break
		}
	}
}

// rough returns the spots that await their fit.
func (v *cardView) rough() []int {
	var spots []int
	for k := range v.spots {
		if v.spots[k].state == spotRough {
			spots = append(spots, k)
		}
	}
	return spots
}

// window returns the fit window of spot k from the lattice about it, placed on
// the spot itself if it has been found, else on the prediction.
func (v *cardView) window(k, reach int, blur float64) (fitWindow, bool) {
	l, ok := v.around(v.place(k), reach, isSeen)
	if !ok {
		return fitWindow{}, false
	}
	w := fitWindow{x: l.x, y: l.y, ax: l.ax, ay: l.ay, bx: l.bx, by: l.by, blur: blur}
	w.dots = v.dotsAround(v.place(k))
	if v.spots[k].state == spotRough {
		w.x, w.y = v.spots[k].x, v.spots[k].y
	}
	return w, true
}

// dotsAround tells which of the four cells about a mark carry a dot, in the order
// of sectors. A lattice that is no known card has none to be reckoned with.
func (v *cardView) dotsAround(m card.Lattice) (dots [4]bool) {
	for k, s := range sectors {
		c, r := m.I+int(math.Floor(s[0])), m.J+int(math.Floor(s[1]))
		dots[k] = v.design.HasCell(c, r) && v.design.HasDot(c, r)
	}
	return dots
}

// firstBlur returns the card's blur, px, from up to five marks, the first two
// fitted from several guesses: the fits that follow start from it and need few
// steps.
func (v *cardView) firstBlur(f *fitter) float64 {
	spots := v.rough()
	if len(spots) == 0 {
		return 1.2 // of no consequence: there is nothing to fit
	}
	guesses := []float64{1, 2.5, 6}
	var blurs []float64
	for n := range 5 {
		if blur, ok := v.blurOf(f, spots[n*(len(spots)-1)/4], guesses); ok {
			blurs = append(blurs, blur)
		}
		if len(blurs) == 2 {
			guesses = []float64{(blurs[0] + blurs[1]) / 2}
		}
	}
	if len(blurs) == 0 {
		return 1.2
	}
	return median(blurs)
}

// blurOf returns the blur of the best fit of one mark.
func (v *cardView) blurOf(f *fitter, k int, guesses []float64) (blur float64, ok bool) {
	best := markFit{residual: math.Inf(1)}
	for _, guess := range guesses {
		w, ok := v.window(k, 2, guess)
		if !ok || guess > 1 && guess > 0.25*w.side() {
			continue
		}
		if m, ok := f.fit(w); ok && m.residual < best.residual {
			best = m
		}
	}
	return best.blur, !math.IsInf(best.residual, 1)
}

// fitSpots fits the given spots. A mark that moves by more than slack cells from
// its start, turns, or has the wrong tones is not this mark.
func (v *cardView) fitSpots(f *fitter, spots []int, reach int, blur, slack float64) {
	fits, good := make([]markFit, len(spots)), make([]bool, len(spots))
	inStripes(len(spots), func(_, from, to int) {
		for n := from; n < to; n++ {
			w, ok := v.window(spots[n], reach, blur)
			if !ok {
				continue
			}
			fits[n], ok = f.fit(w)
			good[n] = ok && v.isThisMark(v.place(spots[n]), &w, &fits[n], slack, f.params)
		}
	})
	for n, k := range spots {
		s := &v.spots[k]
		s.state, s.tries = spotRefused, s.tries+1
		if good[n] {
			s.state, s.fit, s.x, s.y = spotFitted, fits[n], fits[n].x, fits[n].y
		}
	}
}

// isThisMark reports whether a fit found the mark that was looked for. Cell
// (I, J) lies in the sector (+a, +b), so the fit's contrast is negative where it
// is dark.
func (v *cardView) isThisMark(m card.Lattice, w *fitWindow, fit *markFit, slack float64, params CardParams) bool {
	sign := 1.0
	if v.design.IsDark(m.I, m.J) {
		sign = -1
	}
	return sign*fit.contrast > params.MinRingContrast/4 &&
		math.Hypot(fit.x-w.x, fit.y-w.y) < slack*w.side()+1 &&
		fit.turn < params.MaxTurn && fit.sigma < 0.1*w.side()
}

// typicalFit is what the card's marks are like: medians.
type typicalFit struct{ blur, contrast, misfit, sigma float64 }

func (v *cardView) typical() typicalFit {
	var blurs, contrasts, misfits, sigmas []float64
	for k := range v.spots {
		if s := &v.spots[k]; s.state == spotFitted {
			c := math.Abs(s.fit.contrast)
			blurs, contrasts = append(blurs, s.fit.blur), append(contrasts, c)
			misfits, sigmas = append(misfits, s.fit.residual/c), append(sigmas, s.fit.sigma)
		}
	}
	return typicalFit{median(blurs), median(contrasts), median(misfits), median(sigmas)}
}

// refuse drops fitted marks whose contrast, blur or residual is out of line with
// the card's: covered, crossed by the edge of a shadow, or in a glint.
func (v *cardView) refuse(t typicalFit, params CardParams) {
	for k := range v.spots {
		s := &v.spots[k]
		if s.state != spotFitted {
			continue
		}
		c := math.Abs(s.fit.contrast)
		noisier := math.Max(1, t.contrast/c) // noise weighs more in the shade
		if c < params.MinFitContrast*t.contrast || c < params.MinNearContrast*v.contrastNear(k) ||
			s.fit.blur > 2*t.blur+1 ||
			s.fit.residual/c > noisier*1.5*t.misfit+params.MaxFitResidual {
			s.state = spotRefused
		}
	}
}

// contrastNear returns the median contrast of the fitted marks within two steps:
// shade dims neighbours alike, a cover's edge dims one mark alone.
func (v *cardView) contrastNear(k int) float64 {
	m := v.place(k)
	var near []float64
	for j := max(0, m.J-2); j <= min(v.rows-1, m.J+2); j++ {
		for i := max(0, m.I-2); i <= min(v.cols-1, m.I+2); i++ {
			if s := &v.spots[j*v.cols+i]; s.state == spotFitted {
				near = append(near, math.Abs(s.fit.contrast))
			}
		}
	}
	return median(near)
}

// maxTries is how often a mark that was not where it should be is sought again,
// once more neighbours are known.
const maxTries = 2

// extend seeks the marks next to the known ones and reports whether it found any.
func (v *cardView) extend(f *fitter, reach int, t typicalFit) bool {
	var spots []int
	for k := range v.spots {
		s := &v.spots[k]
		if s.state != spotUnseen && s.state != spotRefused || s.tries >= maxTries {
			continue
		}
		if l, ok := v.around(v.place(k), reach, isFitted); ok && l.marks >= 6 && l.leverage < 4 {
			spots = append(spots, k)
		}
	}
	if len(spots) == 0 {
		return false
	}
	for _, k := range spots {
		v.spots[k].state = spotUnseen
	}
	v.fitSpots(f, spots, reach, t.blur, 0.15)
	v.refuse(t, f.params)
	return true
}

// deviation is how far a mark lies from the smooth lattice of its neighbours, px,
// scaled to the error of a single mark.
type deviation struct {
	spot int
	size float64
}

// deviations measures every fitted mark against its neighbours. Marks with too few
// of them are refused: there is nothing to check them by.
func (v *cardView) deviations() []deviation {
	var all []deviation
	for k := range v.spots {
		s := &v.spots[k]
		if s.state != spotFitted {
			continue
		}
		l, ok := v.around(v.place(k), 2, isFitted)
		if ok && l.marks < 10 { // at a corner or in a frame's side: too few for the quadratic
			l, ok = v.around(v.place(k), 3, isFitted)
		}
		if !ok || l.marks < 5 {
			s.state = spotRefused
			continue
		}
		all = append(all, deviation{k, math.Hypot(s.x-l.x, s.y-l.y) / math.Sqrt(1+l.leverage)})
	}
	return all
}

// dropOutliers drops the marks that lie further from the smooth lattice of their
// neighbours than their own and the neighbours' errors explain, worst first among
// neighbours, and returns how many. The scale is the card's own, so a curled card
// is not punished for its shape: the length of a two-dimensional normal error has
// the median 1.1774 sigma (Rayleigh's distribution).
func (v *cardView) dropOutliers(params CardParams) int {
	all := v.deviations()
	sizes := make([]float64, len(all))
	bySpot := make(map[int]float64, len(all))
	for n, d := range all {
		sizes[n], bySpot[d.spot] = d.size, d.size
	}
	limit := params.MaxLatticeError * math.Max(median(sizes)/1.1774, params.SigmaFloor)
	dropped := 0
	for _, d := range all {
		if d.size > limit && v.isWorstNear(d.spot, bySpot) {
			v.spots[d.spot].state = spotRefused
			dropped++
		}
	}
	return dropped
}

// isWorstNear reports whether no mark within two steps deviates more: the
// neighbours of an outlier deviate too, and may be good.
func (v *cardView) isWorstNear(k int, size map[int]float64) bool {
	m := v.place(k)
	for dj := -2; dj <= 2; dj++ {
		for di := -2; di <= 2; di++ {
			other := card.Lattice{I: m.I + di, J: m.J + dj}
			if v.holds(other) && size[v.number(other)] > size[k] {
				return false
			}
		}
	}
	return true
}
