package measure

import (
	"math"

	"fairedge/internal/camera"
	"fairedge/internal/plane"
)

// The unknowns stand in one row, block by block:
//
//	camera     camera.ParamCount: lens, turn, shift
//	prints     2 each: common scale - 1, anisotropy (across/along - 1)
//	poses      3 each target: turn, shift x, shift y, gauge from target
//	heights    6 each target: lift, two tilts, three bends
//	warp       2 * warpTerms
const (
	printParams  = 2
	poseParams   = 3
	heightParams = 6
	warpParams   = 2 * warpTerms
)

type layout struct{ prints, targets int }

func (l layout) print(i int) int  { return camera.ParamCount + printParams*i }
func (l layout) pose(i int) int   { return l.print(l.prints) + poseParams*i }
func (l layout) height(i int) int { return l.pose(l.targets) + heightParams*i }
func (l layout) warp() int        { return l.height(l.targets) }
func (l layout) count() int       { return l.warp() + warpParams }

// state is one value of all unknowns. The camera's rotation stands beside the row,
// whose three turn entries are always zero: a step turns the rotation itself.
type state struct {
	row []float64
	r   camera.Mat3
}

func (s state) camera() camera.Camera {
	p := s.row
	var lens camera.Lens
	lens.F = math.Exp(p[camera.ParamLogF])
	lens.Centre.X, lens.Centre.Y = p[camera.ParamCx], p[camera.ParamCy]
	lens.K1, lens.K2 = p[camera.ParamK1], p[camera.ParamK2]
	lens.P1, lens.P2 = p[camera.ParamP1], p[camera.ParamP2]
	shift := camera.Vec3(p[camera.ParamShift : camera.ParamShift+3])
	return camera.Camera{Lens: lens, CameraFromBench: camera.Pose{R: s.r, T: shift}}
}

func (s state) clone() state { return state{append([]float64(nil), s.row...), s.r} }

// setPose writes the camera's pose into the state.
func (s *state) setPose(p camera.Pose) {
	s.r = p.R
	copy(s.row[camera.ParamShift:camera.ParamShift+3], p.T[:])
}

// stepped returns the state moved by delta, exactly so to first order.
//
// Seen from straight above, a longer lens farther away makes nearly the same picture:
// f/Z, k1/f² and k2/f⁴ stay while f moves, and the cost has a long curved valley in
// which straight steps must be tiny. So a step in ln f by d carries the distance and
// the distortion along the valley: Z becomes Z exp(d) + (δZ - Z d), with the same
// derivative at nought as Z + δZ.
func (s state) stepped(delta []float64) state {
	next := s.clone()
	for i, d := range delta {
		next.row[i] += d
	}
	d := delta[camera.ParamLogF]
	for _, carried := range [...]struct {
		place int
		power float64
	}{{camera.ParamShift + 2, 1}, {camera.ParamK1, 2}, {camera.ParamK2, 4}} {
		bend := math.Expm1(carried.power*d) - carried.power*d
		next.row[carried.place] += s.row[carried.place] * bend
	}
	turn := camera.Vec3(next.row[camera.ParamTurn : camera.ParamTurn+3])
	next.r = camera.RotationFromVector(turn).Times(s.r).Orthonormalised()
	clear(next.row[camera.ParamTurn : camera.ParamTurn+3])
	return next
}

// gaugeFromTarget returns the in-plane pose of target i.
func (s state) gaugeFromTarget(l layout, i int) plane.Rigid {
	p := s.row[l.pose(i):]
	return plane.RigidFromAngle(p[0], plane.Vec{X: p[1], Y: p[2]})
}

// model is everything the fit compares a state with.
type model struct {
	layout
	targets                 []Target
	photoWidth, photoHeight int
	mean, sd                []float64 // of every unknown; sd 0 = fixed, +Inf = free
	sigma                   [][]float64
	used                    [][]bool // false = set aside as a blunder
	warpAt                  [][][warpTerms]float64
	huber                   float64 // residuals beyond so many sigmas count linearly
	placement               float64 // of printed marks, mm
}

// heightBasis returns the six height functions at a place of the target's field:
// u and v run from -1 to 1 over it. The mean of each square over the field is
// taken off the bends, so that the lift is the mean height.
func heightBasis(t *Target, p plane.Point) [heightParams]float64 {
	u, v := (p.X-t.Centre.X)/t.Half.X, (p.Y-t.Centre.Y)/t.Half.Y
	return [heightParams]float64{1, u, v, u*u - 1.0/3, u * v, v*v - 1.0/3}
}

// placed is a target in one state, worked out once for all its marks.
type placed struct {
	target          *Target
	turn            plane.Rigid
	shift           plane.Vec
	across, along   float64 // true over nominal length
	height          []float64
	print, pose, up int // places of its unknowns
}

func (m *model) place(s state, ti int) placed {
	t := &m.targets[ti]
	p := placed{target: t, print: m.print(t.Print), pose: m.pose(ti), up: m.height(ti)}
	print, pose := s.row[p.print:], s.row[p.pose:]
	p.turn = plane.RigidFromAngle(pose[0], plane.Vec{})
	p.shift = plane.Vec{X: pose[1], Y: pose[2]}
	p.across, p.along = 1+print[0]+print[1]/2, 1+print[0]-print[1]/2
	p.height = s.row[p.up : p.up+heightParams]
	return p
}

// turned returns a drawn place stretched as printed and turned as it lies.
func (p *placed) turned(drawn plane.Point) plane.Vec {
	return p.turn.ApplyVec(plane.Vec{X: drawn.X * p.across, Y: drawn.Y * p.along})
}

// onBench returns where a drawn mark lies in the gauge frame, z up from the cards'
// plane.
func (p *placed) onBench(drawn plane.Point) camera.Vec3 {
	at, z := p.turned(drawn).Add(p.shift), 0.0
	for k, b := range heightBasis(p.target, drawn) {
		z += p.height[k] * b
	}
	return camera.Vec3{at.X, at.Y, z}
}

// residual returns projected less seen of mark mi, px, in a state whose camera and
// target are worked out, or false when the mark falls behind the camera.
func (m *model) residual(s state, cam *camera.Camera, p *placed, ti, mi int) (u, v float64, ok bool) {
	mark := &p.target.Marks[mi]
	at, ok := cam.PhotoFromBench(p.onBench(mark.Drawn))
	u, v = m.warped(s, ti, mi, at.X-mark.Seen.X, at.Y-mark.Seen.Y)
	return u, v, ok
}

// warped adds the lens's warp at mark mi to a residual.
func (m *model) warped(s state, ti, mi int, u, v float64) (float64, float64) {
	if m.sd[m.warp()] == 0 {
		return u, v
	}
	cu := s.row[m.warp() : m.warp()+warpTerms]
	cv := s.row[m.warp()+warpTerms : m.warp()+warpParams]
	for k, b := range m.warpAt[ti][mi] {
		u += cu[k] * b
		v += cv[k] * b
	}
	return u, v
}

// linearised is residual with its derivatives: rows holds those by the unknowns of
// camera, print, pose and heights, in the order of block.
func (m *model) linearised(s state, cam *camera.Camera, p *placed, ti, mi int, rows *[2][blockParams]float64) (u, v float64, ok bool) {
	mark := &p.target.Marks[mi]
	at, jac, ok := cam.Project(p.onBench(mark.Drawn))
	if !ok {
		return 0, 0, false
	}
	u, v = m.warped(s, ti, mi, at.X-mark.Seen.X, at.Y-mark.Seen.Y)
	byScale := p.turn.ApplyVec(plane.Vec{X: mark.Drawn.X, Y: mark.Drawn.Y})
	byAnisotropy := p.turn.ApplyVec(plane.Vec{X: mark.Drawn.X / 2, Y: -mark.Drawn.Y / 2})
	byTurn := p.turned(mark.Drawn).TurnLeft()
	basis := heightBasis(p.target, mark.Drawn)
	for row := range 2 {
		r, d := &rows[row], jac.ByBench[row]
		copy(r[:], jac.ByCamera[row][:])
		k := camera.ParamCount
		r[k] = d[0]*byScale.X + d[1]*byScale.Y
		r[k+1] = d[0]*byAnisotropy.X + d[1]*byAnisotropy.Y
		r[k+2] = d[0]*byTurn.X + d[1]*byTurn.Y
		r[k+3], r[k+4] = d[0], d[1]
		for h, b := range basis {
			r[k+5+h] = d[2] * b
		}
	}
	return u, v, true
}

// blockParams is how many unknowns one target depends on, but for the warp.
const blockParams = camera.ParamCount + printParams + poseParams + heightParams

// block returns the places of those unknowns among all.
func (p *placed) block() (places [blockParams]int) {
	k := 0
	run := func(first, n int) {
		for i := range n {
			places[k] = first + i
			k++
		}
	}
	run(0, camera.ParamCount)
	run(p.print, printParams)
	run(p.pose, poseParams)
	run(p.up, heightParams)
	return places
}
