package measure

import (
	"math"
	"sort"

	"fairedge/internal/camera"
	"fairedge/internal/photo"
)

// startLensesTried is how many photos' own lenses are tried as the shared one to
// begin from. One photo seen square on says nothing of its lens and one bad photo
// something wrong; the three that claim to know it best are not all of that kind.
const startLensesTried = 3

// startSteps are enough to bring a pose and the cards' places to rest for a given
// lens: they only choose where to begin.
const startSteps = 25

// firstState returns the most probable of a few states to begin from. Each has one
// lens for all photos: the prior's, and those that single photos came out with.
func (b *bundle) firstState(lenses []camera.Lens) (bundleState, bool) {
	prior := append([]float64(nil), b.mean...)
	tries := [][]float64{prior}
	for _, lens := range lenses {
		row := append([]float64(nil), b.mean...)
		lensPriors(Priors{Lens: lens}, func(i int, value, _ float64) {
			if b.sd[i] > 0 {
				row[i] = value
			}
		})
		tries = append(tries, row)
	}
	best, found := math.Inf(1), false
	var start bundleState
	for _, shared := range tries {
		s, cost, ok := b.placeCameras(shared)
		if ok && cost < best {
			start, best, found = s, cost, true
		}
	}
	return start, found
}

// placeCameras finds every photo's pose and lie of cards for a given lens.
func (b *bundle) placeCameras(shared []float64) (bundleState, float64, bool) {
	s := bundleState{shared: shared, moves: make([][moveParams]float64, len(b.views))}
	total := 0.0
	for v, m := range b.views {
		b.hold(v, shared)
		clear(m.sd[:lensParams])
		fit, ok := m.placeCamera(b.gauges[v])
		if !ok {
			return s, 0, false
		}
		s.views = append(s.views, fit.state)
		total += fit.cost
	}
	return s, total, true
}

// placeCamera fits pose and cards from both poses of the gauge card; the lens stands
// at its prior's mean.
func (m *model) placeCamera(gauge int) (best fitResult, ok bool) {
	lens := state{row: append([]float64(nil), m.mean...), r: camera.IdentityMat3()}
	pose, ok := m.gaugePose(lens, gauge)
	if !ok {
		return best, false
	}
	best.cost = math.Inf(1)
	rough := roughSolverParams()
	rough.maxSteps = startSteps
	middle := camera.Vec3{m.targets[gauge].Centre.X, m.targets[gauge].Centre.Y, 0}
	for _, p := range []camera.Pose{pose, otherPose(pose, middle)} {
		s := lens.clone()
		s.setPose(p)
		if !m.layTargets(s, gauge) {
			continue
		}
		m.scaleSigmas(s)
		if fit := m.fit(s, rough); fit.cost < best.cost {
			best = fit
		}
	}
	return best, !math.IsInf(best.cost, 1)
}

// ownLenses returns the lenses of the photos that say most of them, each measured by
// itself, surest first. They are for beginning only, so cards count as flat as they
// usually are and lenses as free of warp.
func ownLenses(sets []Set) []camera.Lens {
	type known struct {
		lens camera.Lens
		sd   float64
	}
	var all []known
	for _, set := range sets {
		set.Candidates = append([]Priors(nil), set.Candidates...)
		for i := range set.Candidates {
			set.Candidates[i].Flatness, set.Candidates[i].Warp = nil, 0
		}
		c, err := CalibrateSet(set)
		if err != nil {
			continue
		}
		if k := c.posterior.active[camera.ParamLogF]; k >= 0 {
			all = append(all, known{c.Camera.Lens, c.posterior.covariance.at(k, k)})
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].sd < all[j].sd })
	var lenses []camera.Lens
	for _, k := range all[:min(len(all), startLensesTried)] {
		lenses = append(lenses, k.lens)
	}
	return lenses
}

// lensOf returns the shared lens of a state.
func lensOf(shared []float64) camera.Lens {
	return camera.Lens{
		F:      math.Exp(shared[camera.ParamLogF]),
		Centre: photo.Point{X: shared[camera.ParamCx], Y: shared[camera.ParamCy]},
		K1:     shared[camera.ParamK1], K2: shared[camera.ParamK2],
		P1: shared[camera.ParamP1], P2: shared[camera.ParamP2],
	}
}
