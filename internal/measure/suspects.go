package measure

import (
	"math"
	"sort"

	"fairedge/internal/plane"
	"fairedge/internal/uncertainty"
)

// Cause is a mistake that makes tape and photo disagree.
type Cause int

// The causes that are tried. Each has one amount, and the taped sizes say which:
// a print of another size scales the outline, a higher template looks larger by
// its height over the camera's (similar triangles), and a tape laid between other
// points is wrong by itself.
const (
	WrongPrint  Cause = iota // Amount: the cards' true size over the believed one, less 1
	WrongHeight              // Amount: mm that the template lies higher than told
	WrongPoints              // Amount: mm that the tape of Size reads too much
)

// Suspect is a mistake that would explain a disagreement.
type Suspect struct {
	Cause  Cause
	Amount float64
	Tape   int // WrongPoints: index of the tape
	// SeenOther: WrongPoints, and the tape fits the outline's other size.
	SeenOther bool
	// Measured: WrongPrint, although a ruler was laid on the print.
	Measured bool
}

// The range of amounts that happen: fit-to-page makes 2 to 6 %, a template taped on
// its foam lies 10 to 100 mm high (common practice).
const (
	greatestPrintMistake = 0.08
	leastHeightMistake   = -60
	greatestHeight       = 120
)

// Suspects returns the mistakes that would make tape and photo agree, the most
// likely first. A common mistake must explain all tapes: the sum of squares that it
// leaves, in standard deviations, is 4 at most for each tape after the first (95 %
// of right ones or more). A wrong tape is suspected when it stands alone, or when
// the others agree with the photo and it does not.
func (c *Calibration) Suspects(o Outline, taped []Taped) ([]Suspect, error) {
	if err := c.checkTaped(o, taped); err != nil {
		return nil, err
	}
	w := c.foretell(o, taped)
	inverse, ok := w.inverse(taped)
	if !ok {
		return nil, nil
	}
	var all []Suspect
	fits := func(amount, misfit float64) bool { return misfit <= 4*float64(len(taped)-1)+1e-6 }
	print := func(share float64, t Taped) float64 { return t.Seen * (1 + share) }
	if amount, misfit := explain(print, 0.01, taped, inverse); fits(amount, misfit) && math.Abs(amount) <= greatestPrintMistake {
		all = append(all, Suspect{Cause: WrongPrint, Amount: amount, Measured: c.printIsMeasured()})
	}
	height := func(higher float64, t Taped) float64 { return c.seenFrom(higher, o, t) }
	if amount, misfit := explain(height, 10, taped, inverse); fits(amount, misfit) && amount >= leastHeightMistake && amount <= greatestHeight {
		all = append(all, Suspect{Cause: WrongHeight, Amount: amount})
	}
	all = append(all, c.wrongTapes(o, w, taped)...)
	sort.SliceStable(all, func(i, j int) bool { return all[i].rank() < all[j].rank() })
	return all, nil
}

// rank orders what is likely: mixed up sizes are plain to see; an unmeasured print
// is what nobody has checked; a measured one is what somebody has.
func (s Suspect) rank() int {
	switch {
	case s.SeenOther:
		return 0
	case s.Cause == WrongPrint && !s.Measured:
		return 1
	case s.Cause == WrongHeight:
		return 2
	case s.Cause == WrongPoints:
		return 3
	}
	return 4
}

// printIsMeasured reports whether the fit knew all prints better than an
// unmeasured one is known (0.5 %/√3).
func (c *Calibration) printIsMeasured() bool {
	for i := range c.model.prints {
		if c.model.sd[c.model.print(i)] > 0.002 {
			return false
		}
	}
	return true
}

// explain finds the amount of a mistake that makes the sum of squares left over
// least, by Gauss-Newton with a numeric derivative (the sizes are nearly linear in
// it), and returns that sum.
func explain(size func(amount float64, t Taped) float64, step float64, taped []Taped, inverse symmetric) (amount, misfit float64) {
	n := len(taped)
	left, slope := make([]float64, n), make([]float64, n)
	for range 8 {
		for i, t := range taped {
			left[i] = t.Value - size(amount, t)
			slope[i] = (size(amount+step/2, t) - size(amount-step/2, t)) / step
		}
		amount += uncertainty.Covariance(slope, left, inverse.a) / uncertainty.Covariance(slope, slope, inverse.a)
	}
	for i, t := range taped {
		left[i] = t.Value - size(amount, t)
	}
	if misfit = uncertainty.Covariance(left, left, inverse.a); math.IsNaN(misfit) {
		misfit = math.Inf(1)
	}
	return amount, misfit
}

// seenFrom returns a taped size as the photo would have it, were the template
// higher than told.
func (c *Calibration) seenFrom(higher float64, o Outline, t Taped) float64 {
	lifted := *c
	lifted.templateHeight += higher
	if !lifted.setHomography() {
		return math.NaN()
	}
	along := o.widthAxis()
	if t.Size == TapedDepth {
		along = along.TurnLeft()
	}
	now, then := newReach(), newReach()
	for _, p := range o.Points {
		now.take(p, along)
		then.take(lifted.PlaneFromPhoto(c.PhotoFromPlane(p)), along)
	}
	return t.Seen * then.length() / now.length()
}

// reach is how far points extend along a direction.
type reach struct{ low, high float64 }

func newReach() reach { return reach{math.Inf(1), math.Inf(-1)} }

func (r *reach) take(p plane.Point, along plane.Vec) {
	x := p.Sub(plane.Point{}).Dot(along)
	r.low, r.high = math.Min(r.low, x), math.Max(r.high, x)
}

func (r *reach) length() float64 { return r.high - r.low }

// wrongTapes returns the tapes that may have been laid between other points.
func (c *Calibration) wrongTapes(o Outline, w observed, taped []Taped) []Suspect {
	f := newFunctionals(o)
	other := map[TapedSize]float64{TapedWidth: f.depth(), TapedDepth: f.width()}
	var all []Suspect
	for t, one := range taped {
		if !w.othersAgree(taped, t) {
			continue
		}
		mean, variance := w.given(taped, t)
		wrong := one.Value - one.Seen - mean
		if math.Abs(wrong) <= 2*math.Hypot(one.Sigma, math.Sqrt(math.Max(0, variance))) {
			continue
		}
		swapped := math.Abs(one.Value-other[one.Size]) < 2*math.Hypot(one.Sigma, math.Sqrt(w.cov[t][t]))
		all = append(all, Suspect{Cause: WrongPoints, Amount: wrong, Tape: t, SeenOther: swapped})
	}
	return all
}

// othersAgree reports whether the photo and all tapes but one permit each other.
func (w observed) othersAgree(taped []Taped, but int) bool {
	for u, other := range taped {
		if u != but && math.Abs(other.Value-other.Seen) > 2*math.Hypot(other.Sigma, math.Sqrt(w.cov[u][u])) {
			return false
		}
	}
	return true
}
