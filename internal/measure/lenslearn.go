package measure

import (
	"fmt"
	"math"

	"fairedge/internal/camera"
	"fairedge/internal/card"
	"fairedge/internal/problem"
)

// LensParams are the thresholds of learning a lens.
type LensParams struct {
	// MinPhotos: with fewer the photos' own unknowns hide the lens. MaxPhotos: more
	// teach nothing that the smooth warp leaves to be learnt.
	MinPhotos, MaxPhotos int
	// Strain: a lens farther from what is thought of the camera beforehand (sum of squares
	// in standard deviations, see Params.LensStrain) is learnt again from the photos
	// alone; 0 does so always.
	Strain float64
	// Focal, Centre (a share of the longer side), K1, K2 and P are then the priors: next
	// to nothing, those of an unknown camera in the table at Priors or wider.
	Focal, Centre, K1, K2, P float64
	// Moves: how much focal length and principal point (a share of the longer side)
	// differ from photo to photo. A feasibility study of phones: ±2 % and ±20 px of
	// 4032 at most, which are sd of 1.15 % and 11.5 px.
	MovesFocal, MovesCentre float64
	// MoveMultiples of the two that the photos may choose among. A lens with focus
	// locked moves by nought; with too small a value the photos' differences are taken
	// for distortion, with too large a one later photos know less than they could.
	MoveMultiples []float64
	// Huber and Blunder as in Params.
	Huber, Blunder float64
	// Reach: what the photos must show of the lens.
	Reach ReachParams
}

// DefaultLensParams returns the thresholds described at LensParams.
func DefaultLensParams() LensParams {
	return LensParams{
		MinPhotos: 6, MaxPhotos: 15,
		Strain: DefaultParams().LensStrain, Focal: 0.3, Centre: 0.03, K1: 0.5, K2: 0.5, P: 0.005,
		MovesFocal: 0.0115, MovesCentre: 0.0029, MoveMultiples: []float64{0, 0.1, 0.3, 1},
		Huber: 3, Blunder: 5, Reach: DefaultReachParams(),
	}
}

// LensView is one photo for LearnLensFromSets.
type LensView struct {
	Name string
	// Set is in the stored picture's pixels. Its Candidates are those for measuring the
	// photo by itself; of the first one the flatness, print and warp count here too.
	Set Set
	// Orientation is EXIF's, for naming places as a person sees the picture.
	Orientation int
}

// LearnedLens is a lens with the evidence for it.
type LearnedLens struct {
	Lens        camera.Lens
	Uncertainty LensUncertainty
	Moves       LensMoves
	Photos      []LensPhotoFit // in the order of the views
	Marks       int            // used, of all photos
	Blunders    int            // set aside
	RMS         float64        // of the used marks' distances from where they should be, px
	Steps       int
	Reach       LensReach
}

// LensPhotoFit is one photo's part.
type LensPhotoFit struct {
	Name       string
	Marks      int
	RMS        float64    // px
	Noise      float64    // how many times more than their sigmas the marks scatter (>= 1)
	Tilt       float64    // rad
	FocalMove  float64    // of its focal length from the shared one, as a share
	CentreMove [2]float64 // px
	slope      [2]float64 // where the plumb line points, across the picture: sin(tilt) along x and y
}

// LearnLensFromSets learns the lens that all views were taken through. All are of one
// size. Failures are problem.PoorFit; whether the photos reach far enough is for
// LearnedLens.Reach to say.
func LearnLensFromSets(views []LensView, params LensParams) (*LearnedLens, error) {
	b, sets, err := newBundle(views, params)
	if err != nil {
		return nil, err
	}
	start, ok := b.firstState(ownLenses(sets))
	if !ok {
		return nil, problem.New(problem.PoorFit, "the photos do not fit any lens", "check that all were taken with one camera and show flat cards")
	}
	noise := make([]float64, len(views))
	warp := append([]float64(nil), b.sd[b.warpAt():]...)
	clear(b.sd[b.warpAt():])
	b.release()
	b.rescale(start)
	first := b.fit(start, roughSolverParams())
	if b.lensStrain(first.state) > params.Strain {
		b.forgetLens(views[0].Set, params)
		first = b.fit(first.state, roughSolverParams())
	}
	fit := first
	for range 2 { // flatness and blunders are judged by the lens, and the lens by them
		b.judgeViews(views, &fit.state, noise, params)
		copy(b.sd[b.warpAt():], warp)
		b.release()
		fit = b.fit(fit.state, roughSolverParams())
	}
	fit = b.chooseMoves(fit.state, params)
	fit.steps += first.steps
	if !fit.converged {
		return nil, problem.Newf(problem.PoorFit, "take more photos, tilted and with the cards all over the picture",
			"the joint fit of %d photos did not settle in %d steps", len(views), fit.steps)
	}
	return b.learned(views, fit, noise, params)
}

// newBundle lays the views' models side by side. It returns their sets too.
func newBundle(views []LensView, params LensParams) (*bundle, []Set, error) {
	b := &bundle{}
	measuring := DefaultParams()
	measuring.Huber = params.Huber
	var sets []Set
	for _, view := range views {
		if err := view.Set.check(measuring); err != nil {
			return nil, nil, fmt.Errorf("%s: %w", view.Name, err)
		}
		if w, h := views[0].Set.Width, views[0].Set.Height; view.Set.Width != w || view.Set.Height != h {
			return nil, nil, problem.Newf(problem.Usage, "use photos of one camera at one setting",
				"%s has %d x %d pixels and %s %d x %d", view.Name, view.Set.Width, view.Set.Height, views[0].Name, w, h)
		}
		gauge := largestTarget(view.Set.Targets)
		b.views, b.gauges = append(b.views, newModel(view.Set, gauge, measuring)), append(b.gauges, gauge)
		var places []int
		for _, p := range view.Set.Prints {
			places = append(places, b.sharedPrint(p))
		}
		b.printOf = append(b.printOf, places)
		sets = append(sets, view.Set)
	}
	if len(views) == 0 {
		return nil, nil, problem.New(problem.Usage, "there are no photos to learn a lens from", "name some")
	}
	b.setPriors(views[0].Set, params)
	if params.Strain == 0 {
		b.forgetLens(views[0].Set, params)
	}
	return b, sets, nil
}

func (b *bundle) sharedPrint(p card.Print) int {
	for i, known := range b.prints {
		if known == p {
			return i
		}
	}
	b.prints = append(b.prints, p)
	return len(b.prints) - 1
}

// setPriors lays out the priors of the shared unknowns.
func (b *bundle) setPriors(set Set, params LensParams) {
	b.mean, b.sd = make([]float64, b.count()), make([]float64, b.count())
	at := func(i int, value, deviation float64) { b.mean[i], b.sd[i] = value, deviation }
	longer := float64(max(set.Width, set.Height))
	lensPriors(set.Candidates[0], at)
	for i, p := range b.prints {
		scale, anisotropy := printPrior(p, set.Candidates[0].Anisotropy)
		at(b.printAt(i), scale.Value, scale.Uncertainty)
		at(b.printAt(i)+1, anisotropy.Value, anisotropy.Uncertainty)
	}
	for k := range warpParams {
		at(b.warpAt()+k, 0, warpCoefficientSD(set.Candidates[0].Warp))
	}
	b.moveSD = [moveParams]float64{params.MovesFocal, params.MovesCentre * longer, params.MovesCentre * longer}
}

// forgetLens replaces what is thought of the lens by next to nothing.
func (b *bundle) forgetLens(set Set, params LensParams) {
	lensPriors(Priors{
		Lens: set.Candidates[0].Lens, Focal: params.Focal, Centre: params.Centre * float64(max(set.Width, set.Height)),
		K1: params.K1, K2: params.K2, P1: params.P, P2: params.P,
	}, func(i int, value, deviation float64) { b.mean[i], b.sd[i] = value, deviation })
	b.release()
}

// lensStrain is model.lensStrain for the shared lens.
func (b *bundle) lensStrain(s bundleState) float64 {
	sum := 0.0
	for k := range lensParams {
		if b.sd[k] > 0 {
			sum += math.Pow((s.shared[k]-b.mean[k])/b.sd[k], 2)
		}
	}
	return sum
}

// rescale sets every mark's sigma at s.
func (b *bundle) rescale(s bundleState) {
	b.spread(&s)
	for v, m := range b.views {
		m.scaleSigmas(s.views[v])
	}
}

// judgeViews lets each photo choose how flat its cards lie, seen through the shared
// lens, and sets its blunders aside.
func (b *bundle) judgeViews(views []LensView, s *bundleState, noise []float64, params LensParams) {
	for v, m := range b.views {
		priors := views[v].Set.Candidates[0]
		if len(priors.Flatness) > 0 {
			b.hold(v, s.shared)
			m.resetFlatness(priors)
			_, _, fit := m.chooseFlatness(priors, s.views[v])
			for k := range moveParams {
				s.moves[v][k] = fit.state.row[k] - s.shared[k]
			}
			s.views[v] = fit.state
		}
		noise[v] = m.settleNoise(s.views[v], Params{Blunder: params.Blunder})
	}
	b.spread(s)
}

// resetFlatness takes back what an earlier choice of flatness scaled.
func (m *model) resetFlatness(p Priors) {
	for i := range m.layout.targets {
		at := m.height(i)
		m.mean[at] = p.CardLiftMean
		copy(m.sd[at:at+heightParams], []float64{p.CardLift, p.CardTilt, p.CardTilt, p.CardBend, p.CardBend, p.CardBend})
	}
}

// chooseMoves fits with several multiples of the moves and keeps the root of their
// mean square weighted by how probable each makes the marks (see flatness.go).
func (b *bundle) chooseMoves(from bundleState, params LensParams) bundleFit {
	full := b.moveSD
	logs, best := make([]float64, len(params.MoveMultiples)), math.Inf(-1)
	start := from
	for i, multiple := range params.MoveMultiples {
		s := b.withMoves(from, full, multiple)
		fit := b.fit(s, roughSolverParams())
		logs[i] = b.logEvidence(fit)
		if logs[i] > best {
			best, start = logs[i], fit.state
		}
	}
	sum, square := 0.0, 0.0
	for i, multiple := range params.MoveMultiples {
		weight := math.Exp(logs[i] - best)
		sum, square = sum+weight, square+weight*multiple*multiple
	}
	mixed := 1.0
	if sum > 0 {
		mixed = math.Sqrt(square / sum)
	}
	return b.fit(b.withMoves(start, full, mixed), defaultSolverParams())
}

// withMoves sets the moves' sd to a multiple and returns a state to begin from: moves
// that may not be are taken out of it.
func (b *bundle) withMoves(s bundleState, full [moveParams]float64, multiple float64) bundleState {
	for k := range full {
		b.moveSD[k] = multiple * full[k]
	}
	b.release()
	next := bundleState{shared: append([]float64(nil), s.shared...), moves: append([][moveParams]float64(nil), s.moves...)}
	for v := range s.views {
		next.views = append(next.views, s.views[v].clone())
		if multiple == 0 {
			next.moves[v] = [moveParams]float64{}
		}
	}
	b.spread(&next)
	return next
}

// logEvidence is model.logEvidence for a bundle.
func (b *bundle) logEvidence(fit bundleFit) float64 {
	eq := b.linearise(fit.state)
	r, ok := eq.solve(0)
	if !ok {
		return math.Inf(-1)
	}
	sum := -fit.cost/2 - r.logDet/2
	for _, sd := range b.moveSD {
		if sd > 0 {
			sum -= float64(len(b.views)) * math.Log(sd)
		}
	}
	return sum
}

// learned puts a fit into plain values.
func (b *bundle) learned(views []LensView, fit bundleFit, noise []float64, params LensParams) (*LearnedLens, error) {
	eq := b.linearise(fit.state)
	r, ok := eq.solve(0)
	if !ok {
		return nil, problem.New(problem.PoorFit, "the photos do not determine the lens", "take more photos, tilted and with the cards all over the picture")
	}
	covariance := r.factor.inverse()
	sd := func(k int) float64 {
		if p := eq.places[k]; p >= 0 {
			return math.Sqrt(covariance.at(p, p))
		}
		return 0
	}
	l := &LearnedLens{
		Lens: lensOf(fit.state.shared), Steps: fit.steps, Moves: LensMoves{b.moveSD[0], b.moveSD[1]},
		Uncertainty: LensUncertainty{
			Focal: sd(camera.ParamLogF), CentreX: sd(camera.ParamCx), CentreY: sd(camera.ParamCy),
			K1: sd(camera.ParamK1), K2: sd(camera.ParamK2), P1: sd(camera.ParamP1), P2: sd(camera.ParamP2),
		},
	}
	sum := 0.0
	for v := range views {
		p, square := b.photoFit(views[v], fit.state, v)
		p.Noise = noise[v]
		l.Photos = append(l.Photos, p)
		l.Marks += p.Marks
		for _, t := range views[v].Set.Targets {
			l.Blunders += len(t.Marks)
		}
		sum += square
	}
	l.Blunders -= l.Marks
	l.RMS = math.Sqrt(sum / math.Max(1, float64(l.Marks)))
	l.Reach = l.reachOf(views, params.Reach)
	return l, nil
}

// photoFit returns one photo's part and the sum of its squared distances, px².
func (b *bundle) photoFit(view LensView, s bundleState, v int) (LensPhotoFit, float64) {
	m, own := b.views[v], s.views[v]
	cam := own.camera()
	sum := 0.0
	p := LensPhotoFit{
		Name: view.Name, FocalMove: s.moves[v][camera.ParamLogF],
		CentreMove: [2]float64{s.moves[v][camera.ParamCx], s.moves[v][camera.ParamCy]},
	}
	for ti := range m.targets {
		lay := m.place(own, ti)
		for mi := range lay.target.Marks {
			if !m.used[ti][mi] {
				continue
			}
			du, dv, _ := m.residual(own, &cam, &lay, ti, mi)
			sum += du*du + dv*dv
			p.Marks++
		}
	}
	p.RMS = math.Sqrt(sum / math.Max(1, float64(p.Marks)))
	plumb := own.r.Column(2)
	p.slope = [2]float64{plumb[0], plumb[1]}
	p.Tilt = math.Acos(math.Min(1, math.Abs(plumb[2])))
	return p, sum
}
