package measure

import "math"

// solverParams are the thresholds of the least squares iteration.
type solverParams struct {
	// maxSteps ends a fit that will not converge. Eleven steps do not suffice from
	// a focal length 14 % wrong, forty do.
	maxSteps int
	// decrement: a fit has converged when the next step would lower the cost (a sum
	// of squared sigmas) by less: 1e-8 is a step of a ten-thousandth of the
	// answer's own standard uncertainty. Larger leaves visible error in stiff
	// directions; smaller runs into rounding.
	decrement float64
	// firstDamping and maxDamping of Levenberg and Marquardt, relative to the
	// Hessian's diagonal.
	firstDamping, maxDamping float64
}

func defaultSolverParams() solverParams {
	return solverParams{maxSteps: 100, decrement: 1e-8, firstDamping: 1e-3, maxDamping: 1e10}
}

// active returns for every unknown its place in the reduced system, or -1, and how
// many there are.
func (m *model) active() ([]int, int) {
	places, n := make([]int, m.count()), 0
	for i, sd := range m.sd {
		places[i] = -1
		if sd > 0 {
			places[i] = n
			n++
		}
	}
	return places, n
}

// weigh returns the robust cost of a normalised residual's square and the weight
// that makes weighted least squares share its gradient (Huber, "Robust estimation
// of a location parameter", Annals of Mathematical Statistics 35, 1964).
func weigh(square, huber float64) (cost, weight float64) {
	if square <= huber*huber {
		return square, 1
	}
	e := math.Sqrt(square)
	return 2*huber*e - huber*huber, huber / e
}

// cost returns the objective at s, or +Inf where a mark falls behind the camera.
func (m *model) cost(s state) float64 {
	cam := s.camera()
	sum := m.priorCost(s)
	for ti := range m.targets {
		for mi := range m.targets[ti].Marks {
			if !m.used[ti][mi] {
				continue
			}
			u, v, ok := m.project(s, &cam, ti, mi, nil)
			if !ok {
				return math.Inf(1)
			}
			sigma := m.sigma[ti][mi]
			c, _ := weigh((u*u+v*v)/(sigma*sigma), m.huber)
			sum += c
		}
	}
	if math.IsNaN(sum) {
		return math.Inf(1)
	}
	return sum
}

func (m *model) priorCost(s state) float64 {
	sum := 0.0
	for i, sd := range m.sd {
		if sd > 0 && !math.IsInf(sd, 1) {
			d := (s.row[i] - m.mean[i]) / sd
			sum += d * d
		}
	}
	return sum
}

// normalEquations are the Gauss-Newton Hessian (half the second derivative of the
// cost) and half its gradient, reduced to the unknowns that move. marks is the
// marks' part of the Hessian: the rest is the priors'.
type normalEquations struct {
	active   []int
	hessian  symmetric
	marks    symmetric
	gradient []float64
}

// linearise sums up the normal equations at s. A mark depends on some forty
// unknowns, so each adds a sparse outer product.
func (m *model) linearise(s state) normalEquations {
	active, n := m.active()
	eq := normalEquations{active: active, marks: newSymmetric(n), gradient: make([]float64, n)}
	cam := s.camera()
	rows := sparseRows{active: active}
	for ti := range m.targets {
		for mi := range m.targets[ti].Marks {
			if !m.used[ti][mi] {
				continue
			}
			u, v, ok := m.project(s, &cam, ti, mi, &rows)
			if !ok {
				continue
			}
			sigma := m.sigma[ti][mi]
			_, weight := weigh((u*u+v*v)/(sigma*sigma), m.huber)
			eq.addRow(rows.place[0], rows.value[0], u, weight/(sigma*sigma))
			eq.addRow(rows.place[1], rows.value[1], v, weight/(sigma*sigma))
		}
	}
	m.addPriors(&eq, s)
	return eq
}

func (eq *normalEquations) addRow(place []int, value []float64, residual, weight float64) {
	n := eq.marks.n
	for i, pi := range place {
		w := weight * value[i]
		eq.gradient[pi] += w * residual
		row := eq.marks.a[pi*n : pi*n+n]
		for j, v := range value[:i+1] {
			row[place[j]] += w * v
		}
	}
}

func (m *model) addPriors(eq *normalEquations, s state) {
	eq.hessian = symmetric{eq.marks.n, append([]float64(nil), eq.marks.a...)}
	for i, k := range eq.active {
		if sd := m.sd[i]; k >= 0 && !math.IsInf(sd, 1) {
			eq.hessian.a[k*eq.hessian.n+k] += 1 / (sd * sd)
			eq.gradient[k] += (s.row[i] - m.mean[i]) / (sd * sd)
		}
	}
}

// fitResult is where an iteration ended.
type fitResult struct {
	state     state
	cost      float64
	steps     int
	converged bool
}

// fit runs Levenberg-Marquardt from s to convergence (Marquardt, "An algorithm for
// least-squares estimation of nonlinear parameters", SIAM J. Appl. Math. 11, 1963).
func (m *model) fit(s state, params solverParams) fitResult {
	result := fitResult{state: s, cost: m.cost(s)}
	damping := params.firstDamping
	for result.steps < params.maxSteps && !result.converged {
		result.steps++
		eq := m.linearise(result.state)
		if !m.descend(&result, &eq, &damping, params) {
			break
		}
	}
	return result
}

// descend raises the damping until a step lowers the cost, takes it, and reports
// whether there was one.
func (m *model) descend(result *fitResult, eq *normalEquations, damping *float64, params solverParams) bool {
	for ; *damping < params.maxDamping; *damping *= 8 {
		l, ok := eq.hessian.cholesky(*damping)
		if !ok {
			continue
		}
		step := append([]float64(nil), eq.gradient...)
		l.solve(step)
		decrement := 0.0
		for i, g := range eq.gradient {
			decrement += g * step[i]
		}
		next := result.state.stepped(eq.expand(step, -1))
		cost := m.cost(next)
		settled := decrement < params.decrement && *damping <= params.firstDamping
		if cost <= result.cost || settled && cost < result.cost+params.decrement {
			result.state, result.cost, result.converged = next, math.Min(cost, result.cost), settled
			*damping = math.Max(*damping/10, 1e-12)
			return true
		}
	}
	return false
}

// expand returns a reduced vector times factor at its places among all unknowns.
func (eq *normalEquations) expand(reduced []float64, factor float64) []float64 {
	full := make([]float64, len(eq.active))
	for i, k := range eq.active {
		if k >= 0 {
			full[i] = factor * reduced[k]
		}
	}
	return full
}

// logEvidence returns the logarithm of the probability of the marks given the
// priors, up to a constant that all priors share, by Laplace's approximation about
// the fitted state (MacKay, "Bayesian interpolation", Neural Computation 4, 1992).
func (m *model) logEvidence(fit fitResult) float64 {
	eq := m.linearise(fit.state)
	l, ok := eq.hessian.cholesky(0)
	if !ok {
		return math.Inf(-1)
	}
	sum := -fit.cost/2 - l.logDet()/2
	for _, sd := range m.sd {
		if sd > 0 && !math.IsInf(sd, 1) {
			sum -= math.Log(sd)
		}
	}
	return sum
}
