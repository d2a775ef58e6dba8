package measure

import (
	"fmt"
	"math"

	"fairedge/internal/camera"
	"fairedge/internal/plane"
	"fairedge/internal/uncertainty"
)

// TapedSize says which size of an outline a tape measured.
type TapedSize int

// The sizes that a tape can measure: along Outline.Across, and square to it.
const (
	TapedWidth TapedSize = iota
	TapedDepth
)

// String returns the size in a maker's word.
func (s TapedSize) String() string { return [...]string{"width", "depth"}[s] }

// functional returns its place among an outline's sizes.
func (s TapedSize) functional() int { return [...]int{sizeWidth, sizeDepth}[s] }

// Taped is a size of the outline that somebody measured with a tape.
type Taped struct {
	Size  TapedSize
	Value float64 // what the tape says, mm
	Sigma float64 // its standard uncertainty, mm; greater than zero
	Seen  float64 // what the photo alone says of the same size, mm
}

// A taped size is one more observation. All errors of the budget are, to first
// order, linear in unit errors e (fit, height, buckle, warp), and so is the taped
// size: tape - photo = a·e + noise. With P the covariance of what the map from
// photo to bench consists of (every unknown of the fit, the template's height), the
// most probable map given the tape moves by
//
//	K (tape - photo),  K = P aᵀ S⁻¹,  S = a aᵀ + noise
//
// (the linear Gaussian update: Kalman, "A new approach to linear filtering and
// prediction problems", J. Basic Engineering 82, 1960). The outline is then mapped
// again through the moved camera, so it still lies on the line in the photo. What
// the map does not undo (buckle, the lens's warp) stays an error of the
// observation. After the update every functional y has the error
//
//	y·e - (K's effect on y) (a·e + noise)
//
// which Budget takes for any K whatever, so it holds also where K is not the best.

// gain is what one taped size moved, for each mm of tape less photo.
type gain struct {
	taped    Taped     // as it was told
	size     int       // functional
	sigma    float64   // of the tape and of seeing both ends in the photo, mm
	unknowns []float64 // every unknown of the fit
	height   float64   // the template's height, mm
}

// observed is what the photo alone foretells of some taped sizes.
type observed struct {
	unknowns [][]float64 // covariance of each unknown of the reduced system with each size
	height   []float64   // of the template's height
	cov      [][]float64 // of the sizes among each other, mm²
	ink      []float64   // the part of cov that is from seeing the ends
}

// foretell returns the covariances of the taped sizes.
func (c *Calibration) foretell(o Outline, taped []Taped) observed {
	sens, f := c.sensitivities(o), newFunctionals(o)
	fields, places := c.fields(sens)
	bench := c.benchModes(o, sens, f, DefaultBudgetParams())
	noise := c.inkVariances(o, f)
	size := func(t int) int { return len(o.Points) + taped[t].Size.functional() }
	covariance := c.posterior.covariance
	gradients := make([][]float64, len(taped)) // of each size, by every moving unknown
	for t := range taped {
		gradients[t] = make([]float64, covariance.n)
		for k, field := range fields {
			gradients[t][places[k]] = f.of(field)[size(t)]
		}
	}
	var w observed
	for t := range taped {
		row := make([]float64, len(taped))
		for u := range taped {
			row[u] = uncertainty.Covariance(gradients[t], gradients[u], covariance.a) + bench.covariance(size(t), size(u))
		}
		ink := noise[0][size(t)] + noise[1][size(t)]
		for u := range taped {
			if taped[u].Size == taped[t].Size { // the same two ends
				row[u] += ink
			}
		}
		height := 0.0
		for _, mode := range bench[benchHeight] {
			height += c.heightSigma() * mode[size(t)]
		}
		w.unknowns = append(w.unknowns, covariance.times(gradients[t]))
		w.cov, w.height, w.ink = append(w.cov, row), append(w.height, height), append(w.ink, ink)
	}
	return w
}

// covariance returns that of two functionals, as far as the bench makes it.
func (b benchModes) covariance(first, second int) float64 {
	sum := 0.0
	for _, group := range b {
		for _, mode := range group {
			sum += mode[first] * mode[second]
		}
	}
	return sum
}

// times returns s x, for a full s.
func (s symmetric) times(x []float64) []float64 {
	out := make([]float64, s.n)
	for i := range out {
		for j, v := range x {
			out[i] += s.a[i*s.n+j] * v
		}
	}
	return out
}

// heightSigma is the standard uncertainty of the template's height, mm.
func (c *Calibration) heightSigma() float64 {
	return math.Hypot(c.Priors.TemplateHeight, c.Priors.TemplateHeightShare*c.templateHeight)
}

// inverse returns (cov + the tapes' own variances)⁻¹, row by row.
func (w observed) inverse(taped []Taped) (symmetric, bool) {
	s := newSymmetric(len(taped))
	for i, row := range w.cov {
		copy(s.a[i*s.n:], row)
		s.a[i*s.n+i] += taped[i].Sigma * taped[i].Sigma
	}
	l, ok := s.cholesky(0)
	if !ok {
		return s, false
	}
	return l.inverse(), true
}

// WithTaped returns the calibration moved to the most probable one given what a tape
// says of the outline o, which was measured through c. The tapes should agree with
// the photo (CheckTaped): the update itself averages whatever it is given.
func (c *Calibration) WithTaped(o Outline, taped []Taped) (*Calibration, error) {
	if err := c.checkTaped(o, taped); err != nil {
		return nil, err
	}
	w := c.foretell(o, taped)
	inverse, ok := w.inverse(taped)
	if !ok {
		return nil, fmt.Errorf("the taped sizes do not make an observation")
	}
	moved := *c
	moved.tapes = w.gains(taped, inverse, c.posterior)
	step, height := make([]float64, c.posterior.layout.count()), 0.0
	for t, g := range moved.tapes {
		innovation := taped[t].Value - taped[t].Seen
		for i, v := range g.unknowns {
			step[i] += v * innovation
		}
		height += g.height * innovation
	}
	return &moved, moved.move(step, height)
}

// gains returns K, a column for each tape.
func (w observed) gains(taped []Taped, inverse symmetric, p posterior) []gain {
	all := make([]gain, len(taped))
	for t, one := range taped {
		g := gain{taped: one, size: one.Size.functional(), sigma: math.Sqrt(one.Sigma*one.Sigma + w.ink[t]),
			unknowns: make([]float64, p.layout.count())}
		for u := range taped {
			weight := inverse.at(u, t)
			for i, k := range p.active {
				if k >= 0 {
					g.unknowns[i] += weight * w.unknowns[u][k]
				}
			}
			g.height += weight * w.height[u]
		}
		all[t] = g
	}
	return all
}

// tapedSizes returns the sizes that have moved the map, as if they agreed to a hair.
func (c *Calibration) tapedSizes() []Taped {
	var all []Taped
	for _, g := range c.tapes {
		t := g.taped
		t.Seen = t.Value
		all = append(all, t)
	}
	return all
}

func (c *Calibration) checkTaped(o Outline, taped []Taped) error {
	for _, t := range taped {
		if !(t.Sigma > 0) || !(t.Value > 0) || !(t.Seen > 0) || t.Size < TapedWidth || t.Size > TapedDepth {
			return fmt.Errorf("%+v is not a taped size", t)
		}
	}
	if len(taped) == 0 || len(c.tapes) > 0 {
		return fmt.Errorf("a calibration takes taped sizes once, and one at least")
	}
	return c.checkOutline(o)
}

// move steps every unknown and the template's height.
func (c *Calibration) move(step []float64, height float64) error {
	c.posterior.state = c.posterior.state.stepped(step)
	c.templateHeight += height
	cam := c.posterior.state.camera()
	c.Camera = camera.Camera{Lens: cam.Lens, CameraFromBench: cameraFromPlane(cam.CameraFromBench, c.gaugeFromPlane)}
	c.Cards, c.Evidence.Blunders = nil, nil
	c.fillCards(c.model, c.posterior.state, c.gaugeFromPlane.Inverse())
	if !c.setHomography() {
		return fmt.Errorf("the taped sizes move the camera into the bench")
	}
	return nil
}

// tapeCorrections returns what the tapes' gains do to each functional of an
// outline, and the errors that come in with the tapes, as modes.
func (c *Calibration) tapeCorrections(sens []sensitivity, f *functionals) (errors [][]float64) {
	var all []correction
	for _, g := range c.tapes {
		field := make([]plane.Vec, len(sens))
		for i, s := range sens {
			field[i] = s.byHeight.Scale(g.height)
			for k, d := range s.byCamera {
				field[i] = field[i].Add(d.Scale(g.unknowns[k]))
			}
		}
		effect := f.of(field)
		all = append(all, correction{len(sens) + g.size, effect})
		own := make([]float64, len(effect))
		for j, e := range effect {
			own[j] = g.sigma * e
		}
		errors = append(errors, own)
	}
	f.corrections = all
	return errors
}

// TapeCheck is one taped size beside what the photo says of it.
type TapeCheck struct {
	Taped
	// SeenSigma is the standard uncertainty of Seen, mm.
	SeenSigma float64
	// En is (tape - photo) over the root of the sum of both expanded uncertainties
	// (k = 2) squared: ISO 13528:2022, 9.7. They agree when |En| <= 1.
	En float64
	// EnOthers is the same with the photo already moved to what the other tapes say:
	// tapes that each agree with the photo may still contradict each other.
	EnOthers float64
}

// Agrees reports whether photo and tape permit each other.
func (t TapeCheck) Agrees() bool { return math.Abs(t.En) <= 1 && math.Abs(t.EnOthers) <= 1 }

// CheckTaped compares each taped size of outline o with what the photo foretells.
func (c *Calibration) CheckTaped(o Outline, taped []Taped) ([]TapeCheck, error) {
	if err := c.checkTaped(o, taped); err != nil {
		return nil, err
	}
	w := c.foretell(o, taped)
	checks := make([]TapeCheck, len(taped))
	for t, one := range taped {
		sigma := math.Sqrt(w.cov[t][t])
		checks[t] = TapeCheck{Taped: one, SeenSigma: sigma,
			En: uncertainty.NormalisedError(one.Value-one.Seen, 2*one.Sigma, 2*sigma)}
		mean, variance := w.given(taped, t)
		checks[t].EnOthers = uncertainty.NormalisedError(one.Value-one.Seen-mean, 2*one.Sigma, 2*math.Sqrt(math.Max(0, variance)))
	}
	return checks, nil
}

// given returns what tape t should differ from the photo by, and with what
// variance, when the other tapes are believed.
func (w observed) given(taped []Taped, t int) (mean, variance float64) {
	var others []Taped
	var rest observed
	var with []float64
	for u := range taped {
		if u == t {
			continue
		}
		var row []float64
		for v := range taped {
			if v != t {
				row = append(row, w.cov[u][v])
			}
		}
		others, rest.cov, with = append(others, taped[u]), append(rest.cov, row), append(with, w.cov[t][u])
	}
	variance = w.cov[t][t]
	inverse, ok := rest.inverse(others)
	if !ok {
		return 0, variance
	}
	for i := range others {
		for j := range others {
			mean += with[i] * inverse.at(i, j) * (others[j].Value - others[j].Seen)
			variance -= with[i] * inverse.at(i, j) * with[j]
		}
	}
	return mean, variance
}
