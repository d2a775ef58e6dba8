package measure

import (
	"math"
	"slices"
	"sort"

	"fairedge/internal/camera"
	"fairedge/internal/card"
	"fairedge/internal/photo"
	"fairedge/internal/problem"
)

// CalibrateSet is Calibrate for plain lists of marks. With a PoorFit that the fit
// itself showed it also returns the calibration, as evidence.
func CalibrateSet(set Set) (*Calibration, error) { return CalibrateWith(set, DefaultParams()) }

// CalibrateWith is CalibrateSet with other thresholds.
func CalibrateWith(set Set, params Params) (*Calibration, error) {
	if err := set.check(params); err != nil {
		return nil, err
	}
	gauge := largestTarget(set.Targets)
	m := newModel(set, gauge, params)
	first, other, noise, err := m.firstFits(set, gauge, params)
	if err != nil {
		return nil, err
	}
	chosen := m.chooseCandidate(set, gauge, first.state, params)
	fit := chosen.fit
	evidence := Evidence{
		Candidate: chosen.candidate, Flatness: chosen.flatness, Noise: noise, Cost: fit.cost,
		FirstCost: first.cost, OtherPoseCost: other.cost,
		Steps: first.steps + fit.steps, Converged: fit.converged,
	}
	c, err := newCalibration(set, m, gauge, fit, evidence)
	if err != nil {
		return nil, err
	}
	return c, c.judge(params)
}

// firstFits makes the first fit with the expected priors of the lens, and when the
// marks contradict it with every lens that the candidates allow. It sets blunders
// aside and returns how much more the marks scatter than they should.
func (m *model) firstFits(set Set, gauge int, params Params) (best, other fitResult, noise float64, err error) {
	best, other, err = m.firstFit(gauge)
	if err == nil {
		noise = m.settleNoise(best.state, params)
	}
	if err == nil && noise < params.Misfit || !m.widenLens(set, gauge) {
		return best, other, noise, err
	}
	wide, wideOther, wideErr := m.firstFit(gauge)
	switch {
	case wideErr != nil && err != nil:
		return best, other, noise, err
	case wideErr != nil: // back to the first
		return best, other, m.settleNoise(best.state, params), nil
	}
	return wide, wideOther, m.settleNoise(wide.state, params), nil
}

// largestTarget returns the index of the target that covers most of the photo: it
// gives the best first pose and the stiffest gauge.
func largestTarget(targets []Target) int {
	best := 0
	for i := range targets {
		if targets[i].seenArea() > targets[best].seenArea() {
			best = i
		}
	}
	return best
}

func newModel(set Set, gauge int, params Params) *model {
	m := &model{
		layout:  layout{len(set.Prints), len(set.Targets)},
		targets: set.Targets, photoWidth: set.Width, photoHeight: set.Height, huber: params.Huber,
	}
	for _, t := range set.Targets {
		used, sigma := make([]bool, len(t.Marks)), make([]float64, len(t.Marks))
		warp := make([][warpTerms]float64, len(t.Marks))
		for i, mark := range t.Marks {
			used[i], sigma[i], warp[i] = true, mark.Sigma, warpBasis(mark.Seen, set.Width, set.Height)
		}
		m.used, m.sigma, m.warpAt = append(m.used, used), append(m.sigma, sigma), append(m.warpAt, warp)
	}
	m.placement = set.Candidates[0].Placement
	m.mean, m.sd = m.priorRow(set, gauge, set.Candidates[0])
	return m
}

// priorRow lays the priors out as mean and sd of every unknown.
func (m *model) priorRow(set Set, gauge int, p Priors) (mean, sd []float64) {
	mean, sd = make([]float64, m.count()), make([]float64, m.count())
	at := func(i int, value, deviation float64) { mean[i], sd[i] = value, deviation }
	lensPriors(p, at)
	free := math.Inf(1)
	for k := camera.ParamTurn; k < camera.ParamCount; k++ {
		at(k, 0, free)
	}
	for i, print := range set.Prints {
		scale, anisotropy := printPrior(print, p.Anisotropy)
		at(m.print(i), scale.Value, scale.Uncertainty)
		at(m.print(i)+1, anisotropy.Value, anisotropy.Uncertainty)
	}
	for i := range set.Targets {
		for k := range poseParams {
			if i != gauge {
				at(m.pose(i)+k, 0, free)
			}
		}
		at(m.height(i), p.CardLiftMean, p.CardLift)
		for k, deviation := range []float64{p.CardTilt, p.CardTilt, p.CardBend, p.CardBend, p.CardBend} {
			at(m.height(i)+1+k, 0, deviation)
		}
	}
	for k := range warpParams {
		at(m.warp()+k, 0, warpCoefficientSD(p.Warp))
	}
	return mean, sd
}

func lensPriors(p Priors, at func(i int, value, deviation float64)) {
	at(camera.ParamLogF, math.Log(p.Lens.F), p.Focal)
	at(camera.ParamCx, p.Lens.Centre.X, p.Centre)
	at(camera.ParamCy, p.Lens.Centre.Y, p.Centre)
	at(camera.ParamK1, p.Lens.K1, p.K1)
	at(camera.ParamK2, p.Lens.K2, p.K2)
	at(camera.ParamP1, p.Lens.P1, p.P1)
	at(camera.ParamP2, p.Lens.P2, p.P2)
}

// printPrior turns a print's record into its common scale - 1 and its anisotropy
// (across/along - 1), each with its standard uncertainty. Two independent readings
// of equal uncertainty make sum and difference independent too. An unmeasured
// print has the anisotropy that printers have.
func printPrior(p card.Print, unmeasured float64) (scale, anisotropy card.Ratio) {
	both := math.Hypot(p.Across.Uncertainty, p.Along.Uncertainty)
	scale = card.Ratio{Value: (p.Across.Value+p.Along.Value)/2 - 1, Uncertainty: both / 2}
	anisotropy = card.Ratio{Value: p.Across.Value - p.Along.Value, Uncertainty: both}
	if !p.IsMeasured() {
		scale.Uncertainty = (p.Across.Uncertainty + p.Along.Uncertainty) / 2
		anisotropy.Uncertainty = unmeasured
	}
	return scale, anisotropy
}

// firstFit fits from every start without the warp, and returns the best result and
// the best with another tilt (of infinite cost when there is none). Some of each
// target's marks suffice to see where a start leads; the two best go on with all.
func (m *model) firstFit(gauge int) (best, other fitResult, err error) {
	warpSD := append([]float64(nil), m.sd[m.warp():]...)
	clear(m.sd[m.warp():])
	defer copy(m.sd[m.warp():], warpSD)
	best.cost, other.cost = math.Inf(1), math.Inf(1)
	starts, ok := m.starts(gauge)
	if !ok {
		return best, other, problem.Newf(problem.PoorFit, "check that the picture is not mirrored and that the card lies flat",
			"the marks of %s do not fit a flat card seen from above", m.targets[gauge].Name)
	}
	roughBest, roughOther := m.withFewMarks().bestOf(starts)
	for _, end := range []fitResult{roughBest, roughOther} {
		switch {
		case math.IsInf(end.cost, 1): // there is none
		case end.cost > hopelessCost*roughBest.cost:
			other = end
		default:
			m.scaleSigmas(end.state)
			best, other = better(best, other, m.fit(end.state, roughSolverParams()))
		}
	}
	if math.IsInf(best.cost, 1) {
		return best, other, problem.New(problem.PoorFit, "the marks do not fit any place of the camera", "take the photo again")
	}
	return best, other, nil
}

// bestOf fits from every start and returns the best result and the best of another tilt.
func (m *model) bestOf(starts []state) (best, other fitResult) {
	best.cost, other.cost = math.Inf(1), math.Inf(1)
	for _, s := range starts {
		m.scaleSigmas(s)
		rough := roughSolverParams()
		rough.giveUpAfter, rough.giveUpAbove = 12, hopelessCost*best.cost
		best, other = better(best, other, m.fit(s, rough))
	}
	return best, other
}

// hopelessCost: a fit that after a dozen steps is this many times worse than another is
// on its way elsewhere. The two poses of a small plane, which matter here, differ by far
// less.
const hopelessCost = 100

// better puts a result in its place among the best and the best of another tilt.
func better(best, other, fit fitResult) (fitResult, fitResult) {
	switch {
	case fit.cost < best.cost:
		if !sameTilt(best.state, fit.state) {
			other = best
		}
		best = fit
	case fit.cost < other.cost && !sameTilt(best.state, fit.state):
		other = fit
	}
	return best, other
}

// fewMarks of a target suffice to see where a start leads: six times what its place
// and its height field need.
const fewMarks = 36

// withFewMarks returns the model with about fewMarks marks of each target. Multiples
// of the golden section fall evenly between 0 and 1 whatever the targets' rows are
// (Weyl, "Über die Gleichverteilung von Zahlen mod. Eins", Math. Annalen 77, 1916).
func (m *model) withFewMarks() *model {
	few := *m
	few.used = make([][]bool, len(m.used))
	for ti, used := range m.used {
		few.used[ti] = slices.Clone(used)
		share := fewMarks / float64(len(used))
		for mi := range used {
			_, place := math.Modf(float64(mi) * (math.Sqrt(5) - 1) / 2)
			few.used[ti][mi] = used[mi] && place < share
		}
	}
	return &few
}

// widenLens gives every lens unknown the widest prior of all candidates, and
// reports whether that is any wider.
func (m *model) widenLens(set Set, gauge int) bool {
	wider := false
	for _, candidate := range set.Candidates {
		_, sd := m.priorRow(set, gauge, candidate)
		for i := camera.ParamLogF; i <= camera.ParamP2; i++ {
			if sd[i] > m.sd[i] {
				m.sd[i], wider = sd[i], true
			}
		}
	}
	for ti := range m.used {
		for mi := range m.used[ti] {
			m.used[ti][mi] = true
		}
	}
	return wider
}

// sameTilt reports whether two states see the bench at angles within 0.3 degrees
// (5 milliradians) of each other.
func sameTilt(a, b state) bool {
	return a.row != nil && b.row != nil && a.r.Column(2).Cross(b.r.Column(2)).Length() < 0.005
}

// scaleSigmas sets each mark's sigma to that of its sighting together with how
// exactly it was printed.
func (m *model) scaleSigmas(s state) {
	cam := s.camera()
	for ti, t := range m.targets {
		p := m.place(s, ti)
		for mi, mark := range t.Marks {
			m.sigma[ti][mi] = mark.Sigma
			_, jac, ok := cam.Project(p.onBench(mark.Drawn))
			if ok && m.placement > 0 {
				a, b := jac.ByBench[0], jac.ByBench[1]
				pxPerMM := math.Sqrt(math.Abs(a[0]*b[1] - a[1]*b[0]))
				m.sigma[ti][mi] = math.Hypot(mark.Sigma, m.placement*pxPerMM)
			}
		}
	}
}

// settleNoise sets blunders aside, and when the marks scatter more than their
// sigmas say raises all sigmas to what they do. It returns that factor. The median
// of a chi-square with two degrees of freedom is 2 ln 2; it does not mind the
// blunders.
func (m *model) settleNoise(s state, params Params) float64 {
	m.scaleSigmas(s)
	cam := s.camera()
	var squares []float64
	each := func(do func(ti, mi int, square float64)) {
		for ti := range m.targets {
			p := m.place(s, ti)
			for mi := range p.target.Marks {
				u, v, ok := m.residual(s, &cam, &p, ti, mi)
				square := math.Inf(1)
				if ok {
					square = (u*u + v*v) / (m.sigma[ti][mi] * m.sigma[ti][mi])
				}
				do(ti, mi, square)
			}
		}
	}
	each(func(_, _ int, square float64) { squares = append(squares, square) })
	sort.Float64s(squares)
	noise := math.Sqrt(squares[len(squares)/2] / (2 * math.Ln2))
	noise = math.Max(noise, 1)
	each(func(ti, mi int, square float64) {
		m.used[ti][mi] = square <= params.Blunder*params.Blunder*noise*noise
		m.sigma[ti][mi] *= noise
	})
	return noise
}

// Evidence says how the fit went.
type Evidence struct {
	Candidate int     // index of the priors chosen
	Flatness  float64 // the cards are about this many times as far from flat as the priors say
	Marks     int     // marks used
	Blunders  []Blame // marks set aside
	Noise     float64 // how many times more than their sigmas the marks scatter (>= 1)
	RMS       float64 // of the used marks' residuals, px
	Worst     Blame   // the used mark with the largest residual
	Steps     int
	Converged bool
	Cost      float64 // of the last fit, in squared sigmas
	// FirstCost and OtherPoseCost are of the first fits, from the chosen pose and from
	// the other pose that a plane has (+Inf when both led to one place).
	FirstCost, OtherPoseCost float64
}

// Blame points at one mark.
type Blame struct {
	Target string
	Mark   int // index in the target
	Seen   photo.Point
	Off    float64 // px from where it should be
}
