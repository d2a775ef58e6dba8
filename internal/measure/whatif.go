package measure

import (
	"math"

	"fairedge/internal/camera"
	"fairedge/internal/plane"
)

// whatIf is a photo that was not taken: the same template, camera and cards with
// something changed. Its marks are seen exactly where its state projects them, so
// that the normal equations there are what the changed photo would tell, whatever
// its noise; covariances need no residuals.
type whatIf struct {
	c      *Calibration // the photo as taken
	o      Outline
	m      *model
	s      state
	priors Priors
	tapes  []Taped
}

// whatIfDraws and whatIfPoints of the outline are enough to compare: all photos that
// are compared have the same draws.
const (
	whatIfDraws  = 400
	whatIfPoints = 60
)

// thinned returns the outline with every so many-th point.
func (o Outline) thinned() Outline {
	step := max(1, (len(o.Points)+whatIfPoints-1)/whatIfPoints)
	thin := Outline{Closed: o.Closed, Across: o.Across}
	for i := 0; i < len(o.Points); i += step {
		thin.Points = append(thin.Points, o.Points[i])
		if o.Sigma != nil {
			thin.Sigma = append(thin.Sigma, o.Sigma[i])
		}
	}
	return thin
}

// whatIf returns the photo as taken, with exact marks.
func (c *Calibration) whatIf(o Outline) whatIf {
	w := whatIf{c: c, o: o, s: c.posterior.state.clone(), priors: c.Priors, tapes: c.tapedSizes()}
	clear(w.s.row[c.posterior.layout.warp():])
	m := *c.model
	m.mean, m.sd = append([]float64(nil), m.mean...), append([]float64(nil), m.sd...)
	m.targets = append([]Target(nil), m.targets...)
	m.sigma = append([][]float64(nil), m.sigma...)
	m.used, m.warpAt = make([][]bool, len(m.targets)), make([][][warpTerms]float64, len(m.targets))
	for ti := range m.targets {
		m.targets[ti].Marks = append([]TargetMark(nil), m.targets[ti].Marks...)
	}
	w.m = &m
	return w
}

// outcome returns how the outline would be known.
func (w whatIf) outcome() (Budget, bool) {
	w.see()
	changed := *w.c
	changed.tapes, changed.Priors, changed.model = nil, w.priors, w.m
	cam := w.s.camera()
	changed.Camera = camera.Camera{Lens: cam.Lens, CameraFromBench: cameraFromPlane(cam.CameraFromBench, w.c.gaugeFromPlane)}
	var ok bool
	if changed.posterior, ok = newPosterior(w.m, w.s); !ok || !changed.setHomography() {
		return Budget{}, false
	}
	o := w.outline(&changed)
	if len(w.tapes) > 0 {
		moved, err := changed.WithTaped(o, w.tapes)
		if err != nil {
			return Budget{}, false
		}
		changed = *moved
	}
	params := DefaultBudgetParams()
	params.Draws, params.MaxDrawnPoints = whatIfDraws, whatIfPoints
	b, err := changed.budget(o, params)
	return b, err == nil
}

// see puts every mark where the state projects it.
func (w whatIf) see() {
	cam := w.s.camera()
	for ti := range w.m.targets {
		place, marks := w.m.place(w.s, ti), w.m.targets[ti].Marks
		w.m.used[ti] = make([]bool, len(marks))
		w.m.warpAt[ti] = make([][warpTerms]float64, len(marks))
		for mi := range marks {
			at, ok := cam.PhotoFromBench(place.onBench(marks[mi].Drawn))
			marks[mi].Seen, w.m.used[ti][mi] = at, ok
			w.m.warpAt[ti][mi] = warpBasis(at, w.m.photoWidth, w.m.photoHeight)
		}
	}
}

// outline returns the outline with each point's own uncertainty in proportion to the
// length that a pixel covers.
func (w whatIf) outline(changed *Calibration) Outline {
	o := w.o
	if o.Sigma == nil {
		return o
	}
	middle := plane.RectFromPoints(o.Points...).Centre()
	coarser := changed.MillimetresPerPixel(middle) / w.c.MillimetresPerPixel(middle)
	o.Sigma = append([]float64(nil), o.Sigma...)
	for i := range o.Sigma {
		o.Sigma[i] *= coarser
	}
	return o
}

// middle returns the middle of all that must be in the picture, on the cards' plane
// in the gauge frame.
func (w whatIf) middle() camera.Vec3 {
	box := plane.EmptyRect()
	for _, p := range w.content() {
		box = box.Include(plane.Point{X: p[0], Y: p[1]})
	}
	m := box.Centre()
	return camera.Vec3{m.X, m.Y, 0}
}

// content returns what must be in the picture: outline and marks, gauge frame.
func (w whatIf) content() (all []camera.Vec3) {
	for _, p := range w.o.Points {
		g := w.c.gaugeFromPlane.Apply(p)
		all = append(all, camera.Vec3{g.X, g.Y, w.c.templateHeight})
	}
	for ti := range w.m.targets {
		place := w.m.place(w.s, ti)
		for _, mark := range w.m.targets[ti].Marks {
			all = append(all, place.onBench(mark.Drawn))
		}
	}
	return all
}

// fill returns how far the content reaches from the picture's middle, as a share of
// the half of the side that it reaches first; more than 1 is outside.
func (w whatIf) fill() float64 {
	cam := w.s.camera()
	halfX, halfY := float64(w.m.photoWidth)/2, float64(w.m.photoHeight)/2
	fill := 0.0
	for _, x := range w.content() {
		p, ok := cam.PhotoFromBench(x)
		if !ok {
			return math.Inf(1)
		}
		fill = math.Max(fill, math.Max(math.Abs(p.X-halfX)/halfX, math.Abs(p.Y-halfY)/halfY))
	}
	return fill
}

// standBack moves the camera away from the middle of the content and aims at it,
// until the content fills no more than so much; it reports whether it had to.
func (w *whatIf) standBack(most float64) bool {
	if w.fill() <= most {
		return false
	}
	pose := w.s.camera().CameraFromBench
	middle := w.middle()
	near := pose.Apply(middle).Length()
	for k := 1.0; k <= 3; k *= 1.04 {
		// The middle of the content comes to lie on the lens's axis.
		w.s.setPose(camera.Pose{R: pose.R, T: camera.Vec3{0, 0, k * near}.Sub(pose.R.Apply(middle))})
		if w.fill() <= most {
			break
		}
	}
	return true
}

// level turns the camera to look straight down on the middle of the content, from
// as far away.
func (w *whatIf) level() {
	pose := w.s.camera().CameraFromBench
	middle := w.middle()
	plumb := pose.R.Column(2) // the bench's upward normal as the camera sees it
	straight := camera.Vec3{0, 0, -1}
	axis := plumb.Cross(straight)
	sine := axis.Length()
	if sine < 1e-9 {
		return
	}
	turn := camera.RotationFromVector(axis.Scale(math.Atan2(sine, plumb.Dot(straight)) / sine))
	r := turn.Times(pose.R)
	w.s.setPose(camera.Pose{R: r, T: camera.Vec3{0, 0, pose.Apply(middle).Length()}.Sub(r.Apply(middle))})
}

// addCard adds a copy of target ti with its middle at p of the plane frame: a card
// of the same print, lying as flat.
func (w *whatIf) addCard(ti int, p plane.Point) {
	old, oldMean, oldSD, oldState := w.m.layout, w.m.mean, w.m.sd, w.s
	w.m.layout.targets++
	added := old.targets
	t := w.m.targets[ti]
	t.Marks = append([]TargetMark(nil), t.Marks...)
	w.m.targets = append(w.m.targets, t)
	w.m.sigma = append(w.m.sigma, append([]float64(nil), w.m.sigma[ti]...))
	w.m.used, w.m.warpAt = append(w.m.used, nil), append(w.m.warpAt, nil)
	spread := func(from []float64) []float64 {
		to := make([]float64, w.m.count())
		copy(to, from[:old.pose(old.targets)])
		copy(to[w.m.height(0):], from[old.height(0):old.warp()])
		copy(to[w.m.height(added):w.m.warp()], from[old.height(ti):old.height(ti)+heightParams])
		copy(to[w.m.warp():], from[old.warp():])
		return to
	}
	w.m.mean, w.m.sd = spread(oldMean), spread(oldSD)
	w.s = state{spread(oldState.row), oldState.r}
	at := w.c.gaugeFromPlane.Apply(p)
	pose := w.s.row[w.m.pose(added):]
	pose[0] = w.s.row[w.m.pose(ti)]
	place := w.m.place(w.s, added)
	pose[1], pose[2] = 0, 0
	off := place.turned(t.Centre)
	pose[1], pose[2] = at.X-off.X, at.Y-off.Y
	for k := range poseParams {
		w.m.sd[w.m.pose(added)+k] = math.Inf(1)
	}
}
