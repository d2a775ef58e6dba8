package measure

import (
	"math"

	"fairedge/internal/camera"
	"fairedge/internal/card"
	"fairedge/internal/detect"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// Calibration is the correspondence of one photo and the plane its template lies
// on, with what is known of its error. Read-only; safe for use by many goroutines.
type Calibration struct {
	// Camera sees the plane frame: CameraFromBench takes (x, y, 0) for a point of the
	// cards' plane.
	Camera camera.Camera
	// Cards are the fitted targets, in the order of Set.Targets; from Calibrate in the
	// order of their IDs.
	Cards    []CardFit
	Evidence Evidence
	Priors   Priors // those that the marks chose

	width, height   int
	templateHeight  float64
	normalFromPlane camera.Mat3 // homography of the template's plane
	planeFromNormal camera.Mat3
	gaugeFromPlane  plane.Rigid
	posterior       posterior
	model           *model // read-only from here on
	tapes           []gain // taped sizes that have moved the map
}

// CardFit is how one card lies and how well its marks fit.
type CardFit struct {
	Name          string
	ID            card.ID     // of a scale card; zero for any other board
	PlaneFromCard plane.Rigid // of true lengths; nominal ones are first stretched by the print
	Scale         float64     // print: true over nominal length, mean of both directions
	Anisotropy    float64     // print: across over along, less 1
	Lift          float64     // fitted mean height over the cards' plane, mm
	Tilt, Bend    float64     // greatest height at its border from slope and from bend, mm
	Marks         []MarkFit   // in the order of the input
}

// MarkFit is how one mark fits.
type MarkFit struct {
	Off   [2]float64 // projected less seen, px: x right, y down
	Sigma float64    // expected per axis, px
	Used  bool       // false: set aside as a blunder
}

var _ detect.Bench = (*Calibration)(nil)

// PlaneFromPhoto returns where pixel p sees the template's plane. Beyond the
// horizon or the rim of the lens model both coordinates are NaN.
func (c *Calibration) PlaneFromPhoto(p photo.Point) plane.Point {
	n, ok := c.Camera.Lens.NormalFromPhoto(p)
	q := c.planeFromNormal.Apply(camera.Vec3{n.X, n.Y, 1})
	// q[2] is 1/depth up to a positive factor: positive in front of the camera.
	if !ok || !(q[2] > 0) {
		return plane.Point{X: math.NaN(), Y: math.NaN()}
	}
	return plane.Point{X: q[0] / q[2], Y: q[1] / q[2]}
}

// PhotoFromPlane returns the pixel that sees p of the template's plane; NaN behind
// the camera.
func (c *Calibration) PhotoFromPlane(p plane.Point) photo.Point {
	q := c.normalFromPlane.Apply(homogeneous(p))
	if !(q[2] > 0) {
		return photo.Point{X: math.NaN(), Y: math.NaN()}
	}
	return c.Camera.Lens.PhotoFromNormal(camera.Normal{X: q[0] / q[2], Y: q[1] / q[2]})
}

// MillimetresPerPixel returns the length on the template's plane that a pixel
// covers at p: the square root of the area it covers.
func (c *Calibration) MillimetresPerPixel(p plane.Point) float64 {
	_, jac, ok := c.Camera.Project(camera.Vec3{p.X, p.Y, c.templateHeight})
	if !ok {
		return math.NaN()
	}
	a, b := jac.ByBench[0], jac.ByBench[1]
	return 1 / math.Sqrt(math.Abs(a[0]*b[1]-a[1]*b[0]))
}

// Tilt returns the angle between the lens's axis and the plumb line, rad.
func (c *Calibration) Tilt() float64 {
	return math.Acos(math.Min(1, math.Abs(c.Camera.CameraFromBench.R.Column(2)[2])))
}

// Distance returns how far the camera stood above the template's plane, mm.
func (c *Calibration) Distance() float64 {
	return c.Camera.CameraFromBench.Position()[2] - c.templateHeight
}

// newCalibration turns the fitted state into the plane frame.
func newCalibration(set Set, m *model, gauge int, fit fitResult, evidence Evidence) (*Calibration, error) {
	cam := fit.state.camera()
	c := &Calibration{
		Evidence: evidence, Priors: set.Candidates[evidence.Candidate],
		width: set.Width, height: set.Height, templateHeight: set.TemplateHeight.Millimetres(), model: m,
	}
	planeFromGauge := planeFromGauge(m, fit.state)
	c.gaugeFromPlane = planeFromGauge.Inverse()
	c.Camera = camera.Camera{Lens: cam.Lens, CameraFromBench: cameraFromPlane(cam.CameraFromBench, c.gaugeFromPlane)}
	if !c.setHomography() {
		return nil, problem.New(problem.PoorFit, "the camera seems to lie in the plane of the template", "take the photo from above")
	}
	c.fillCards(m, fit.state, planeFromGauge)
	var ok bool
	if c.posterior, ok = newPosterior(m, fit.state); !ok {
		return nil, problem.New(problem.PoorFit, "the marks do not determine the camera", "show more of the card, or more cards")
	}
	return c, nil
}

// planeFromGauge chooses the plane frame: origin in the middle of the first
// target, +y along the photo's up at the middle of the marks.
func planeFromGauge(m *model, s state) plane.Rigid {
	cam := s.camera()
	var middle plane.Point
	n := 0.0
	for ti, t := range m.targets {
		lay := m.place(s, ti)
		for _, mark := range t.Marks {
			p := lay.onBench(mark.Drawn)
			middle.X, middle.Y, n = middle.X+p[0], middle.Y+p[1], n+1
		}
	}
	middle = plane.Point{X: middle.X / n, Y: middle.Y / n}
	_, jac, _ := cam.Project(camera.Vec3{middle.X, middle.Y, 0})
	// The bench direction d with J d = (0, -1), the photo's up.
	inv, _ := camera.Mat2{{jac.ByBench[0][0], jac.ByBench[0][1]}, {jac.ByBench[1][0], jac.ByBench[1][1]}}.Inverse()
	up := plane.Vec{X: -inv[0][1], Y: -inv[1][1]}
	turn := plane.RigidFromAngle(math.Pi/2-up.Angle(), plane.Vec{})
	origin := m.place(s, 0)
	first := origin.onBench(m.targets[0].Centre)
	turn.Shift = turn.Apply(plane.Point{X: first[0], Y: first[1]}).Sub(plane.Point{}).Neg()
	return turn
}

// cameraFromPlane moves the bench frame of a pose within its plane.
func cameraFromPlane(cameraFromGauge camera.Pose, gaugeFromPlane plane.Rigid) camera.Pose {
	g := gaugeFromPlane
	turn := camera.Mat3{{g.Cos, -g.Sin, 0}, {g.Sin, g.Cos, 0}, {0, 0, 1}}
	return camera.Pose{
		R: cameraFromGauge.R.Times(turn),
		T: cameraFromGauge.Apply(camera.Vec3{g.Shift.X, g.Shift.Y, 0}),
	}
}

// setHomography prepares the maps between the template's plane and directions:
// n ~ [r1 r2 (r3 h + T)] (x, y, 1).
func (c *Calibration) setHomography() bool {
	pose := c.Camera.CameraFromBench
	lifted := pose.R.Column(2).Scale(c.templateHeight).Add(pose.T)
	c.normalFromPlane = camera.Mat3{pose.R.Column(0), pose.R.Column(1), lifted}.Transposed()
	inv, ok := c.normalFromPlane.Inverse()
	c.planeFromNormal = inv
	return ok && pose.Position()[2] > c.templateHeight
}

func (c *Calibration) fillCards(m *model, s state, planeFromGauge plane.Rigid) {
	cam := s.camera()
	sumSq, n := 0.0, 0
	for ti, t := range m.targets {
		lay := m.place(s, ti)
		print, h := s.row[lay.print:], lay.height
		fit := CardFit{
			Name: t.Name, ID: t.ID, PlaneFromCard: planeFromGauge.After(s.gaugeFromTarget(m.layout, ti)),
			Scale: 1 + print[0], Anisotropy: print[1], Lift: h[0],
			Tilt: math.Abs(h[1]) + math.Abs(h[2]), Bend: math.Max(math.Max(math.Abs(h[3]), math.Abs(h[4])), math.Abs(h[5])),
		}
		for mi, mark := range t.Marks {
			u, v, _ := m.residual(s, &cam, &lay, ti, mi)
			off := math.Hypot(u, v)
			blame := Blame{t.Name, mi, mark.Seen, off}
			fit.Marks = append(fit.Marks, MarkFit{[2]float64{u, v}, m.sigma[ti][mi], m.used[ti][mi]})
			if !m.used[ti][mi] {
				c.Evidence.Blunders = append(c.Evidence.Blunders, blame)
				continue
			}
			sumSq, n = sumSq+off*off, n+1
			if off > c.Evidence.Worst.Off {
				c.Evidence.Worst = blame
			}
		}
		c.Cards = append(c.Cards, fit)
	}
	c.Evidence.Marks = n
	c.Evidence.RMS = math.Sqrt(sumSq / math.Max(1, float64(n)))
}

// judge returns an error when the fit contradicts itself.
func (c *Calibration) judge(params Params) error {
	e := c.Evidence
	total := e.Marks + len(e.Blunders)
	switch {
	case float64(len(e.Blunders)) > params.MaxBlunders*float64(total):
		return problem.Newf(problem.PoorFit, "lay the cards flat and take the photo again",
			"%d of %d card marks do not lie where a flat card would have them", len(e.Blunders), total)
	case e.Noise > params.MaxNoise:
		return problem.Newf(problem.PoorFit, "lay the cards flat, keep them in focus and take the photo again",
			"the card marks miss their places by %.1f pixels, %.0f times more than they should (worst on %s)",
			e.RMS, e.Noise, e.Worst.Target)
	case !e.Converged:
		return problem.Newf(problem.PoorFit, "show more of the cards or take the photo from further away",
			"the fit of the card marks did not settle in %d steps", e.Steps)
	}
	return nil
}
