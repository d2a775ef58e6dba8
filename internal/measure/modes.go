package measure

import (
	"math"

	"fairedge/internal/camera"
	"fairedge/internal/plane"
	"fairedge/internal/uncertainty"
)

// fitModes is the fit's error at the outline. Only the camera and the warp move an
// outline point that is fixed in the photo; what the cards do to it they do through
// the covariance.
type fitModes struct {
	bySource [sourceCount][]float64 // variance of every functional
	factor   [][]float64            // [mode][functional]: independent unit errors whose sum is all of it
}

// sensitivity is how one outline point moves on the bench, gauge frame, while its
// place in the photo stays: by the camera's unknowns, by a shift of the picture,
// and by the height of its plane.
//
// seen = π(θ, X) holds still, so with B = ∂π/∂X and A = ∂π/∂θ: dX = -B⁻¹ A dθ.
type sensitivity struct {
	byCamera [camera.ParamCount]plane.Vec
	byPhoto  [2]plane.Vec // by a displacement of 1 px along u, along v
	byHeight plane.Vec
	warp     [warpTerms]float64 // the warp's cosines there
}

func (c *Calibration) sensitivityAt(p plane.Point) sensitivity {
	g := c.gaugeFromPlane.Apply(p)
	cam := c.posterior.state.camera()
	seen, jac, _ := cam.Project(camera.Vec3{g.X, g.Y, c.templateHeight})
	b, _ := camera.Mat2{{jac.ByBench[0][0], jac.ByBench[0][1]}, {jac.ByBench[1][0], jac.ByBench[1][1]}}.Inverse()
	toPlane := c.gaugeFromPlane.Inverse()
	pull := func(u, v float64) plane.Vec {
		return toPlane.ApplyVec(plane.Vec{X: b[0][0]*u + b[0][1]*v, Y: b[1][0]*u + b[1][1]*v})
	}
	var s sensitivity
	for k := range s.byCamera {
		s.byCamera[k] = pull(-jac.ByCamera[0][k], -jac.ByCamera[1][k])
	}
	s.byPhoto = [2]plane.Vec{pull(1, 0), pull(0, 1)}
	s.byHeight = pull(-jac.ByBench[0][2], -jac.ByBench[1][2])
	s.warp = warpBasis(seen, c.width, c.height)
	return s
}

func (c *Calibration) sensitivities(o Outline) []sensitivity {
	all := make([]sensitivity, len(o.Points))
	for i, p := range o.Points {
		all[i] = c.sensitivityAt(p)
	}
	return all
}

// fields returns the outline's displacement by each moving unknown that moves it,
// with the unknowns' places in the reduced system.
func (c *Calibration) fields(sens []sensitivity) (fields [][]plane.Vec, places []int) {
	post := c.posterior
	n := len(sens)
	field := make([][]plane.Vec, post.covariance.n)
	add := func(unknown, point int, d plane.Vec) {
		k := post.active[unknown]
		if k < 0 {
			return
		}
		if field[k] == nil {
			field[k] = make([]plane.Vec, n)
			places = append(places, k)
		}
		field[k][point] = d
	}
	for i, s := range sens {
		for k, d := range s.byCamera {
			add(k, i, d)
		}
		for k, w := range s.warp {
			add(post.layout.warp()+k, i, s.byPhoto[0].Scale(-w))
			add(post.layout.warp()+warpTerms+k, i, s.byPhoto[1].Scale(-w))
		}
	}
	for _, k := range places {
		fields = append(fields, field[k])
	}
	return fields, places
}

func (c *Calibration) fitModes(sens []sensitivity, f functionals) fitModes {
	fields, places := c.fields(sens)
	count := len(sens) + sizeCount
	gradients := make([][]float64, len(fields)) // [unknown][functional]
	for k, field := range fields {
		gradients[k] = f.of(field)
	}
	var modes fitModes
	for s := range modes.bySource {
		modes.bySource[s] = make([]float64, count)
	}
	n := c.posterior.covariance.n
	z := make([]float64, n)
	for j := range count {
		for i := range z {
			z[i] = 0
			for k, place := range places {
				z[i] += c.posterior.covariance.a[i*n+place] * gradients[k][j]
			}
		}
		for s, v := range c.posterior.split(z) {
			modes.bySource[s][j] = v
		}
	}
	modes.factor = c.posterior.factor(gradients, places)
	return modes
}

// split returns the variance of a functional by source, from z = C y.
func (p *posterior) split(z []float64) (bySource [sourceCount]float64) {
	bySource[fromMarks] = uncertainty.Covariance(z, z, p.marks.a)
	for i, zi := range z {
		bySource[p.group[i]] += p.precision[i] * zi * zi
	}
	return bySource
}

// factor returns modes: with L Lᵀ the covariance of the unknowns at places, the
// functionals' error is Σ gradient[k] (L e)_k for independent unit errors e.
func (p *posterior) factor(gradients [][]float64, places []int) [][]float64 {
	sub := newSymmetric(len(places))
	for i, pi := range places {
		for j, pj := range places {
			sub.a[i*sub.n+j] = p.covariance.at(pi, pj)
		}
	}
	l, ok := sub.cholesky(1e-12)
	if !ok {
		return nil
	}
	return combine(gradients, l)
}

// combine returns mode m = Σ_k L[k][m] gradients[k].
func combine(gradients [][]float64, l symmetric) [][]float64 {
	modes := make([][]float64, l.n)
	for m := range modes {
		modes[m] = make([]float64, len(gradients[0]))
		for k := m; k < l.n; k++ {
			scale := l.a[k*l.n+m]
			for j, g := range gradients[k] {
				modes[m][j] += scale * g
			}
		}
	}
	return modes
}

// The errors beyond the fit, each smooth along the outline.
const (
	benchHeight = iota
	benchBuckle
	benchWarp
	benchTape
	benchGroups
)

// benchModes are independent unit errors: [group][mode][functional].
type benchModes [benchGroups][][]float64

func (b benchModes) ofGroup(group, functional int) float64 {
	sum := 0.0
	for _, mode := range b[group] {
		sum += mode[functional] * mode[functional]
	}
	return sum
}

func (b benchModes) variance(functional int) float64 {
	sum := 0.0
	for group := range b {
		sum += b.ofGroup(group, functional)
	}
	return sum
}

// benchModes builds them. Height moves the whole outline away from the foot of the
// camera; buckle does it locally, as waves around the outline of equal variance.
func (c *Calibration) benchModes(o Outline, sens []sensitivity, f functionals, params BudgetParams) (b benchModes) {
	shares := o.shares()
	lift := func(size float64, wave func(share float64) float64) []float64 {
		field := make([]plane.Vec, len(sens))
		for i, s := range sens {
			field[i] = s.byHeight.Scale(size * wave(shares[i]))
		}
		return f.of(field)
	}
	if height := c.heightSigma(); height > 0 {
		b[benchHeight] = append(b[benchHeight], lift(height, func(float64) float64 { return 1 }))
	}
	if c.Priors.TemplateBuckle > 0 {
		size := c.Priors.TemplateBuckle / math.Sqrt(float64(params.BuckleWaves))
		for k := 1; k <= params.BuckleWaves; k++ {
			turn := 2 * math.Pi * float64(k)
			b[benchBuckle] = append(b[benchBuckle],
				lift(size, func(s float64) float64 { return math.Cos(turn * s) }),
				lift(size, func(s float64) float64 { return math.Sin(turn * s) }))
		}
	}
	b[benchWarp] = c.unappliedWarp(sens, f)
	return b
}

// shares returns how far along the outline each point lies, from 0 towards 1.
func (o Outline) shares() []float64 {
	perimeter, _ := measures(o)
	shares, along := make([]float64, len(o.Points)), 0.0
	for i, p := range o.Points {
		if i > 0 {
			along += p.DistanceTo(o.Points[i-1])
		}
		shares[i] = along / perimeter
	}
	return shares
}

// unappliedWarp is the part of the lens's warp that the fit knows but the map from
// photo to plane does not undo. Given the marks the warp is the fitted one, known
// to its posterior covariance C_w, which fitModes carries; over all photos the
// fitted one varies with the prior's covariance less C_w.
func (c *Calibration) unappliedWarp(sens []sensitivity, f functionals) [][]float64 {
	post := c.posterior
	first := post.layout.warp()
	if post.active[first] < 0 {
		return nil
	}
	sd := warpCoefficientSD(c.Priors.Warp)
	rest := newSymmetric(warpParams)
	gradients := make([][]float64, warpParams)
	for i := range warpParams {
		for j := range warpParams {
			rest.a[i*warpParams+j] = -post.covariance.at(post.active[first+i], post.active[first+j])
		}
		rest.a[i*warpParams+i] += sd * sd * (1 + 1e-6)
		field := make([]plane.Vec, len(sens))
		for k, s := range sens {
			field[k] = s.byPhoto[i/warpTerms].Scale(s.warp[i%warpTerms])
		}
		gradients[i] = f.of(field)
	}
	l, ok := rest.cholesky(1e-9)
	if !ok {
		return nil
	}
	return combine(gradients, l)
}

// inkVariances are the errors that each point has for itself: from seeing it, and
// from the line's roughness.
func (c *Calibration) inkVariances(o Outline, f functionals) [2][]float64 {
	seen, rough := make([]float64, len(o.Points)), make([]float64, len(o.Points))
	for i := range o.Points {
		if o.Sigma != nil {
			seen[i] = o.Sigma[i] * o.Sigma[i]
		}
		rough[i] = c.Priors.Line * c.Priors.Line
	}
	return [2][]float64{f.ofNoise(seen), f.ofNoise(rough)}
}
