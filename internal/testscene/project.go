package testscene

import (
	"math"

	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

type vec3 struct{ x, y, z float64 }

// projection is Camera made ready: where it stands and which way its axes point.
type projection struct {
	cam              Camera
	cx, cy           float64
	at               vec3 // the lens, bench frame
	right, down, out vec3 // the camera's x, y, z axes in the bench frame
	// bench point = (h · (nx, ny, 1)) / w for the direction n; see benchFromNormal.
	h [9]float64
}

// newProjection stands the camera at LookAt + D (sin tilt · side + cos tilt · up).
// With azimuth 0 the person stands at -y, and up in the photo is +y.
func newProjection(c Camera) projection {
	st, ct := math.Sincos(c.TiltDeg * math.Pi / 180)
	sa, ca := math.Sincos(c.AzimuthDeg * math.Pi / 180)
	sr, cr := math.Sincos(c.RollDeg * math.Pi / 180)
	away := vec3{st * sa, -st * ca, ct} // from LookAt to the lens
	right := vec3{ca, sa, 0}
	out := vec3{-away.x, -away.y, -away.z}
	down := cross(out, right)
	p := projection{
		cam: c,
		cx:  float64(c.Width)/2 + c.CxOffset,
		cy:  float64(c.Height)/2 + c.CyOffset,
		at:  vec3{c.LookAt.X + c.DistanceMM*away.x, c.LookAt.Y + c.DistanceMM*away.y, c.DistanceMM * away.z},
		out: out,
	}
	// A phone turned clockwise has its own x axis turned from right towards down.
	p.right = vec3{cr*right.x + sr*down.x, cr*right.y + sr*down.y, cr*right.z + sr*down.z}
	p.down = cross(out, p.right)
	p.h = p.homography()
	return p
}

func cross(a, b vec3) vec3 {
	return vec3{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x}
}

// homography solves at + s (nx right + ny down + out) for z = 0:
// s = -at.z / dz, so (X, Y) = (at.x dz - at.z dx, at.y dz - at.z dy) / dz.
func (p *projection) homography() [9]float64 {
	r, d, o, c := p.right, p.down, p.out, p.at
	return [9]float64{
		c.x*r.z - c.z*r.x, c.x*d.z - c.z*d.x, c.x*o.z - c.z*o.x,
		c.y*r.z - c.z*r.y, c.y*d.z - c.z*d.y, c.y*o.z - c.z*o.y,
		r.z, d.z, o.z,
	}
}

// benchFromNormal returns where the direction n meets the bench, and false when
// it looks at or above the horizon.
func (p *projection) benchFromNormal(nx, ny float64) (plane.Point, bool) {
	w := p.h[6]*nx + p.h[7]*ny + p.h[8]
	if !(w < -1e-9) {
		return plane.Point{X: math.NaN(), Y: math.NaN()}, false
	}
	return plane.Point{
		X: (p.h[0]*nx + p.h[1]*ny + p.h[2]) / w,
		Y: (p.h[3]*nx + p.h[4]*ny + p.h[5]) / w,
	}, true
}

// photoFromBench projects a point z mm above the bench.
func (p *projection) photoFromBench(q plane.Point, z float64) photo.Point {
	v := vec3{q.X - p.at.x, q.Y - p.at.y, z - p.at.z}
	depth := v.x*p.out.x + v.y*p.out.y + v.z*p.out.z
	if !(depth > 0) {
		return photo.Point{X: math.NaN(), Y: math.NaN()}
	}
	x := (v.x*p.right.x + v.y*p.right.y + v.z*p.right.z) / depth
	y := (v.x*p.down.x + v.y*p.down.y + v.z*p.down.z) / depth
	dx, dy := p.distort(x, y)
	return photo.Point{X: p.cam.F*dx + p.cx, Y: p.cam.F*dy + p.cy}
}

func (p *projection) distort(x, y float64) (float64, float64) {
	c := &p.cam
	rr := x*x + y*y
	radial := 1 + rr*(c.K1+rr*c.K2)
	return x*radial + 2*c.P1*x*y + c.P2*(rr+2*x*x), y*radial + c.P1*(rr+2*y*y) + 2*c.P2*x*y
}

// undistortFrom takes Newton steps from (x, y) towards the direction that the
// lens bends to (tx, ty).
func (p *projection) undistortFrom(x, y, tx, ty float64, steps int) (float64, float64) {
	c := &p.cam
	for range steps {
		rr := x*x + y*y
		radial := 1 + rr*(c.K1+rr*c.K2)
		slope := 2*c.K1 + 4*rr*c.K2
		ex := x*radial + 2*c.P1*x*y + c.P2*(rr+2*x*x) - tx
		ey := y*radial + c.P1*(rr+2*y*y) + 2*c.P2*x*y - ty
		a := radial + slope*x*x + 2*c.P1*y + 6*c.P2*x
		b := slope*x*y + 2*c.P1*x + 2*c.P2*y
		d := radial + slope*y*y + 6*c.P1*y + 2*c.P2*x
		inv := 1 / (a*d - b*b)
		x -= (d*ex - b*ey) * inv
		y -= (a*ey - b*ex) * inv
	}
	return x, y
}

// benchFromPhoto is the inverse of photoFromBench at z = 0.
func (p *projection) benchFromPhoto(q photo.Point) (plane.Point, bool) {
	tx, ty := (q.X-p.cx)/p.cam.F, (q.Y-p.cy)/p.cam.F
	return p.benchFromNormal(p.undistortFrom(tx, ty, tx, ty, 12))
}

// lifted returns where the ray that meets the bench at q passes the height z.
func (p *projection) lifted(q plane.Point, z float64) plane.Point {
	s := z / p.at.z
	return plane.Point{X: q.X + s*(p.at.x-q.X), Y: q.Y + s*(p.at.y-q.Y)}
}
