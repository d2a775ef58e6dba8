package measure

import (
	"math"

	"fairedge/internal/camera"
)

// stepped returns the state after the step r, taken downhill. See state.stepped for
// the valley along which a step of the focal length carries distance and distortion.
func (b *bundle) stepped(s bundleState, eq *bundleEquations, r *reduced) bundleState {
	next := bundleState{shared: append([]float64(nil), s.shared...), moves: append([][moveParams]float64(nil), s.moves...)}
	byShared := make([]float64, b.count())
	for k, p := range eq.places {
		if p >= 0 {
			byShared[k] = -r.shared[p]
			next.shared[k] += byShared[k]
		}
	}
	for v := range b.views {
		delta := make([]float64, len(s.views[v].row))
		for i := range delta {
			if k := b.sharedPlace(v, i); k >= 0 {
				delta[i] = byShared[k]
			}
		}
		for j, i := range eq.views[v].own {
			delta[i] -= r.own[v][j]
			if i < moveParams {
				next.moves[v][i] -= r.own[v][j]
			}
		}
		next.views = append(next.views, s.views[v].stepped(delta))
	}
	d := byShared[camera.ParamLogF]
	next.shared[camera.ParamK1] += s.shared[camera.ParamK1] * (math.Expm1(2*d) - 2*d)
	next.shared[camera.ParamK2] += s.shared[camera.ParamK2] * (math.Expm1(4*d) - 4*d)
	b.spread(&next)
	return next
}

// bundleFit is where an iteration ended.
type bundleFit struct {
	state     bundleState
	cost      float64
	steps     int
	converged bool
}

// fit runs Levenberg-Marquardt from s to convergence, as model.fit does.
func (b *bundle) fit(s bundleState, params solverParams) bundleFit {
	result := bundleFit{state: s, cost: b.cost(s)}
	damping := params.firstDamping
	for result.steps < params.maxSteps && !result.converged {
		result.steps++
		eq := b.linearise(result.state)
		if !b.descend(&result, &eq, &damping, params) {
			break
		}
	}
	if !result.converged {
		eq := b.linearise(result.state)
		if r, ok := eq.solve(0); ok {
			result.converged = eq.decrement(&r) < params.enough
		}
	}
	return result
}

// decrement is what the step r promises to lower the cost by.
func (eq *bundleEquations) decrement(r *reduced) float64 {
	sum := dotOf(eq.gradient, r.shared)
	for v, view := range eq.views {
		sum += dotOf(view.gradient, r.own[v])
	}
	return sum
}

// descend raises the damping until a step lowers the cost, takes it, and reports
// whether there was one.
func (b *bundle) descend(result *bundleFit, eq *bundleEquations, damping *float64, params solverParams) bool {
	for ; *damping < params.maxDamping; *damping *= 8 {
		r, ok := eq.solve(*damping)
		if !ok {
			continue
		}
		decrement := eq.decrement(&r)
		next := b.stepped(result.state, eq, &r)
		cost := b.cost(next)
		settled := decrement < params.decrement && *damping <= params.firstDamping
		if cost <= result.cost || settled && cost < result.cost+params.decrement {
			result.state, result.cost, result.converged = next, math.Min(cost, result.cost), settled
			*damping = math.Max(*damping/10, 1e-12)
			return true
		}
	}
	return false
}
