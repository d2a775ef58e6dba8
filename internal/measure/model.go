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

// stepped returns the state moved by delta.
func (s state) stepped(delta []float64) state {
	next := s.clone()
	for i, d := range delta {
		next.row[i] += d
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

// markOnBench returns where a drawn mark lies in the gauge frame, z up from the
// cards' plane, and with jac its derivatives by the target's unknowns.
func (m *model) markOnBench(s state, ti int, drawn plane.Point, jac *benchJacobian) camera.Vec3 {
	t := &m.targets[ti]
	print := s.row[m.print(t.Print):]
	pose := s.row[m.pose(ti):]
	height := s.row[m.height(ti):]
	turn := plane.RigidFromAngle(pose[0], plane.Vec{})
	stretched := plane.Vec{
		X: drawn.X * (1 + print[0] + print[1]/2),
		Y: drawn.Y * (1 + print[0] - print[1]/2),
	}
	at := turn.ApplyVec(stretched)
	basis := heightBasis(t, drawn)
	z := 0.0
	for k, b := range basis {
		z += height[k] * b
	}
	if jac != nil {
		jac.byScale = turn.ApplyVec(plane.Vec{X: drawn.X, Y: drawn.Y})
		jac.byAnisotropy = turn.ApplyVec(plane.Vec{X: drawn.X / 2, Y: -drawn.Y / 2})
		jac.byTurn = at.TurnLeft()
		jac.byHeight = basis
	}
	return camera.Vec3{at.X + pose[1], at.Y + pose[2], z}
}

// benchJacobian is the derivative of a mark's place in the gauge frame: in the
// plane by the print and the turn, along z by the heights. By the shift it is 1.
type benchJacobian struct {
	byScale, byAnisotropy, byTurn plane.Vec
	byHeight                      [heightParams]float64
}

// project returns a mark's residual (projected less seen, px) in a state, and
// fills row u and row v of its sparse Jacobian when rows is given.
func (m *model) project(s state, cam *camera.Camera, ti, mi int, rows *sparseRows) (u, v float64, ok bool) {
	mark := &m.targets[ti].Marks[mi]
	var bench benchJacobian
	place := m.markOnBench(s, ti, mark.Drawn, &bench)
	var jac camera.Jacobian
	var seen = mark.Seen
	p := seen
	if rows == nil {
		p, ok = cam.PhotoFromBench(place)
	} else {
		p, jac, ok = cam.Project(place)
	}
	if !ok {
		return 0, 0, false
	}
	warp := &m.warpAt[ti][mi]
	cu := s.row[m.warp() : m.warp()+warpTerms]
	cv := s.row[m.warp()+warpTerms : m.warp()+warpParams]
	u, v = p.X-seen.X, p.Y-seen.Y
	for k, b := range warp {
		u += cu[k] * b
		v += cv[k] * b
	}
	if rows != nil {
		m.fillRows(rows, ti, &jac, &bench, warp)
	}
	return u, v, true
}

// sparseRows holds the derivatives of one mark's u and v by the unknowns it
// depends on, in ascending order of the unknowns' places.
type sparseRows struct {
	place  [2][]int
	value  [2][]float64
	active []int // place in the reduced system, or -1 for a fixed unknown
}

func (r *sparseRows) add(row, place int, value float64) {
	if k := r.active[place]; k >= 0 {
		r.place[row] = append(r.place[row], k)
		r.value[row] = append(r.value[row], value)
	}
}

func (m *model) fillRows(rows *sparseRows, ti int, jac *camera.Jacobian, bench *benchJacobian, warp *[warpTerms]float64) {
	for row := range 2 {
		rows.place[row], rows.value[row] = rows.place[row][:0], rows.value[row][:0]
		for k, d := range jac.ByCamera[row] {
			rows.add(row, k, d)
		}
		d := jac.ByBench[row]
		along := func(v plane.Vec) float64 { return d[0]*v.X + d[1]*v.Y }
		print, pose, height := m.print(m.targets[ti].Print), m.pose(ti), m.height(ti)
		rows.add(row, print, along(bench.byScale))
		rows.add(row, print+1, along(bench.byAnisotropy))
		rows.add(row, pose, along(bench.byTurn))
		rows.add(row, pose+1, d[0])
		rows.add(row, pose+2, d[1])
		for k, b := range bench.byHeight {
			rows.add(row, height+k, d[2]*b)
		}
		for k, b := range warp {
			rows.add(row, m.warp()+row*warpTerms+k, b)
		}
	}
}
