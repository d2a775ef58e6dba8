package measure

import "math"

// solverParams are the thresholds of the least squares iteration.
type solverParams struct {
	// maxSteps ends a fit that will not converge. Eleven steps do not suffice from
	// a focal length 14 % wrong, forty do.
	maxSteps int
	// enough: a fit that ran out of steps still counts when a full step would lower the
	// cost by less than this: it is a tenth of the answer's standard uncertainty away.
	enough float64
	// decrement: a fit has converged when the next step would lower the cost (a sum
	// of squared sigmas) by less: 1e-8 is a step of a ten-thousandth of the
	// answer's own standard uncertainty. Larger leaves visible error in stiff
	// directions; smaller runs into rounding.
	decrement float64
	// giveUpAfter so many steps a fit ends whose cost is still above giveUpAbove: it
	// is on its way to another, far worse place. Zero = never.
	giveUpAfter int
	giveUpAbove float64
	// firstDamping and maxDamping of Levenberg and Marquardt, relative to the
	// Hessian's diagonal.
	firstDamping, maxDamping float64
}

func defaultSolverParams() solverParams {
	return solverParams{maxSteps: 300, enough: 0.01, decrement: 1e-8, firstDamping: 1e-3, maxDamping: 1e10}
}

// roughSolverParams are for fits that only choose between alternatives: a
// thousandth of a squared sigma decides nothing.
func roughSolverParams() solverParams {
	p := defaultSolverParams()
	p.decrement, p.maxSteps = 1e-3, 60
	return p
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
		p := m.place(s, ti)
		for mi := range p.target.Marks {
			if !m.used[ti][mi] {
				continue
			}
			u, v, ok := m.residual(s, &cam, &p, ti, mi)
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

// linearise sums up the normal equations at s.
func (m *model) linearise(s state) normalEquations {
	active, n := m.active()
	eq := normalEquations{active: active, marks: newSymmetric(n), gradient: make([]float64, n)}
	cam := s.camera()
	warped := m.sd[m.warp()] != 0
	var rows [2][blockParams]float64
	for ti := range m.targets {
		p := m.place(s, ti)
		var local targetEquations
		for mi := range p.target.Marks {
			if !m.used[ti][mi] {
				continue
			}
			u, v, ok := m.linearised(s, &cam, &p, ti, mi, &rows)
			if !ok {
				continue
			}
			sigma := m.sigma[ti][mi]
			_, weight := weigh((u*u+v*v)/(sigma*sigma), m.huber)
			local.add(&rows, u, v, weight/(sigma*sigma))
			if warped {
				local.addWarp(&rows, &m.warpAt[ti][mi], u, v, weight/(sigma*sigma))
			}
		}
		eq.scatter(&local, p.block(), m.warp(), warped)
	}
	m.addPriors(&eq, s)
	return eq
}

// targetEquations are one target's normal equations, dense. A mark's u depends on
// the warp's coefficients of u only, and both axes share their products.
type targetEquations struct {
	block    [blockParams][blockParams]float64 // lower triangle
	gradient [blockParams]float64
	cross    [2][warpTerms][blockParams]float64
	warp     [warpTerms][warpTerms]float64 // lower triangle
	byWarp   [2][warpTerms]float64
}

// add adds both rows of a mark, which share their weight. It is where most of the
// time of a fit goes: the slices let the compiler drop the bounds checks.
func (t *targetEquations) add(rows *[2][blockParams]float64, u, v, weight float64) {
	for i := range blockParams {
		a, b := weight*rows[0][i], weight*rows[1][i]
		t.gradient[i] += a*u + b*v
		into := t.block[i][:i+1]
		byU, byV := rows[0][:len(into)], rows[1][:len(into)]
		for j := range into {
			into[j] += a*byU[j] + b*byV[j]
		}
	}
}

func (t *targetEquations) addWarp(rows *[2][blockParams]float64, basis *[warpTerms]float64, u, v, weight float64) {
	for i, b := range basis {
		w := weight * b
		t.byWarp[0][i] += w * u
		t.byWarp[1][i] += w * v
		for j, c := range basis[:i+1] {
			t.warp[i][j] += w * c
		}
		cu, cv := &t.cross[0][i], &t.cross[1][i]
		for j := range blockParams {
			cu[j] += w * rows[0][j]
			cv[j] += w * rows[1][j]
		}
	}
}

// scatter adds a target's equations at their places in the reduced system.
func (eq *normalEquations) scatter(t *targetEquations, places [blockParams]int, warp int, warped bool) {
	for i, pi := range places {
		eq.addGradient(pi, t.gradient[i])
		for j, pj := range places[:i+1] {
			eq.add(pi, pj, t.block[i][j])
		}
	}
	if !warped {
		return
	}
	for axis := range 2 {
		first := warp + axis*warpTerms
		for i := range warpTerms {
			eq.addGradient(first+i, t.byWarp[axis][i])
			for j := range i + 1 {
				eq.add(first+i, first+j, t.warp[i][j])
			}
			for j, pj := range places {
				eq.add(first+i, pj, t.cross[axis][i][j])
			}
		}
	}
}

// add adds to the lower triangle; fixed unknowns have no place in it.
func (eq *normalEquations) add(i, j int, value float64) {
	a, b := eq.active[i], eq.active[j]
	if a < 0 || b < 0 {
		return
	}
	if a < b {
		a, b = b, a
	}
	eq.marks.a[a*eq.marks.n+b] += value
}

func (eq *normalEquations) addGradient(i int, value float64) {
	if k := eq.active[i]; k >= 0 {
		eq.gradient[k] += value
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
		if params.giveUpAfter > 0 && result.steps >= params.giveUpAfter && result.cost > params.giveUpAbove {
			break
		}
	}
	if !result.converged && params.giveUpAfter == 0 {
		result.converged = m.undampedDecrement(result.state) < params.enough
	}
	return result
}

// undampedDecrement is what a full Gauss-Newton step from s promises to lower the
// cost by: gᵀ H⁻¹ g. A damped step promises little even far from the end.
func (m *model) undampedDecrement(s state) float64 {
	eq := m.linearise(s)
	l, ok := eq.hessian.cholesky(0)
	if !ok {
		return math.Inf(1)
	}
	l.forward(eq.gradient)
	sum := 0.0
	for _, v := range eq.gradient {
		sum += v * v
	}
	return sum
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
