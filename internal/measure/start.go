package measure

import (
	"math"

	"fairedge/internal/camera"
	"fairedge/internal/plane"
)

// poseFromHomography returns the camera's pose over a plane from the homography
// that carries the plane's points to directions: H ~ [r1 r2 T]. Of the two signs
// of H the one with the visible point in front of the camera counts. It reports
// false when the plane is then seen from below, which means that the marks are mirrored.
//
// This is the one place where y turns over. The plane's y runs up and the camera's
// y down, so r2 comes out pointing against the camera's y, and r3 = r1 × r2 (up
// from the bench) against its z: about half a turn about x, a proper rotation.
func poseFromHomography(h camera.Mat3, visible plane.Point) (camera.Pose, bool) {
	size := math.Sqrt(h.Column(0).Length() * h.Column(1).Length())
	if h[2].Dot(homogeneous(visible)) < 0 {
		size = -size
	}
	for i := range h {
		h[i] = h[i].Scale(1 / size)
	}
	pose := camera.Pose{R: h.Orthonormalised(), T: h.Column(2)}
	return pose, pose.Position()[2] > 0
}

// otherPose returns the second pose that explains a small or distant plane about
// as well: its normal mirrored in the line of sight to the point about (bench
// frame), which keeps its place (Schweighofer and Pinz, "Robust pose estimation
// from a planar target", IEEE PAMI 28(12), 2006).
func otherPose(p camera.Pose, about camera.Vec3) camera.Pose {
	at := p.Apply(about)
	sight := at.Scale(1 / at.Length())
	normal := p.R.Column(2)
	mirrored := sight.Scale(2 * normal.Dot(sight)).Sub(normal)
	axis := normal.Cross(mirrored)
	sin, cos := axis.Length(), normal.Dot(mirrored)
	if sin < 1e-12 {
		return p
	}
	r := camera.RotationFromVector(axis.Scale(math.Atan2(sin, cos) / sin)).Times(p.R)
	return camera.Pose{R: r, T: at.Sub(r.Apply(about))}
}

// benchFromNormal returns where the direction n meets the plane z = height of the
// bench, and false where it misses (at or above the horizon).
func benchFromNormal(p camera.Pose, n camera.Normal, height float64) (plane.Point, bool) {
	eye := p.Position()
	dir := p.R.Transposed().Apply(camera.Vec3{n.X, n.Y, 1})
	t := (height - eye[2]) / dir[2]
	return plane.Point{X: eye[0] + t*dir[0], Y: eye[1] + t*dir[1]}, t > 0 && !math.IsInf(t, 0)
}

// starts returns states to begin from: both poses of the gauge card for every lens
// worth trying, the other cards laid where the marks' rays meet the bench. It
// reports false when there is none.
func (m *model) starts(gauge int) ([]state, bool) {
	var all []state
	lenses := m.startLenses()
	if _, ok := m.gaugePose(lenses[0], gauge); !ok { // marks in line, which a barrel would hide
		return nil, false
	}
	for _, s := range lenses {
		pose, ok := m.gaugePose(s, gauge)
		if !ok {
			continue
		}
		middle := camera.Vec3{m.targets[gauge].Centre.X, m.targets[gauge].Centre.Y, 0}
		for _, p := range []camera.Pose{pose, otherPose(pose, middle)} {
			next := s.clone()
			next.setPose(p)
			if m.layTargets(next, gauge) {
				all = append(all, next)
			}
		}
	}
	return all, len(all) > 0
}

// startLenses returns the prior's most probable lens, and where the prior is wide
// shorter and longer ones, and a barrel: a card in the corner of a barrel's picture
// looks tilted so much that the iteration may not find back.
func (m *model) startLenses() []state {
	shares, barrels := []float64{0}, []float64{0}
	if sd := m.sd[camera.ParamLogF]; sd > 0.1 {
		shares = []float64{0, -1.2 * sd, 1.2 * sd}
	}
	if sd := m.sd[camera.ParamK1]; sd > 0.1 {
		barrels = []float64{0, -0.8 * sd}
	}
	var all []state
	for _, share := range shares {
		for _, barrel := range barrels {
			s := state{row: append([]float64(nil), m.mean...), r: camera.IdentityMat3()}
			s.row[camera.ParamLogF] += share
			s.row[camera.ParamK1] += barrel
			all = append(all, s)
		}
	}
	return all
}

func (m *model) gaugePose(s state, gauge int) (camera.Pose, bool) {
	lens := s.camera().Lens
	t, lay := m.targets[gauge], m.place(s, gauge)
	var source []plane.Point
	var target []camera.Normal
	for _, mark := range t.Marks {
		n, ok := lens.NormalFromPhoto(mark.Seen)
		if !ok {
			continue
		}
		place := lay.onBench(mark.Drawn)
		source = append(source, plane.Point{X: place[0], Y: place[1]})
		target = append(target, n)
	}
	h, ok := homographyFromPoints(source, target)
	if !ok {
		return camera.Pose{}, false
	}
	return poseFromHomography(h, t.Centre)
}

// layTargets sets every other target's in-plane pose from where its marks' rays
// meet the bench, and reports false when they do not.
func (m *model) layTargets(s state, gauge int) bool {
	cam := s.camera()
	for ti, t := range m.targets {
		if ti == gauge {
			continue
		}
		before := m.place(state{m.mean, s.r}, ti)
		var source, target []plane.Point
		for _, mark := range t.Marks {
			n, ok := cam.Lens.NormalFromPhoto(mark.Seen)
			at, hit := benchFromNormal(cam.CameraFromBench, n, 0)
			if !ok || !hit {
				continue
			}
			place := before.onBench(mark.Drawn)
			source = append(source, plane.Point{X: place[0], Y: place[1]})
			target = append(target, at)
		}
		if len(source) < 2 {
			return false
		}
		lay := plane.BestRigid(source, target)
		p := s.row[m.pose(ti):]
		p[0], p[1], p[2] = lay.Angle(), lay.Shift.X, lay.Shift.Y
	}
	return true
}
