package detect

import (
	"math"

	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// prober reads brightness along straight lines of the photo, in linear light:
// half-way between two surfaces is only where the edge is when grey counts light
// (the tone curve of a JPEG favours the bright side by about 0.3 px).
type prober struct {
	p     *photo.Photo
	bench Bench
	light [256]float32
	buf   []float64
}

// newProber tabulates light from grey: the sRGB curve (IEC 61966-2-1), scaled so
// that white is 255.
func newProber(p *photo.Photo, bench Bench) *prober {
	r := &prober{p: p, bench: bench}
	for i := range r.light {
		v := float64(i) / 255
		if v <= 0.04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		r.light[i] = float32(255 * v)
	}
	return r
}

// clone returns a prober that can work beside r.
func (r *prober) clone() *prober {
	own := *r
	own.buf = nil
	return &own
}

// probe is a straight line of the photo across the edge: the place t millimetres
// outward of the course is origin + t·across.
type probe struct {
	origin      photo.Point
	acX, acY    float64 // photo pixels per millimetre outward
	alX, alY    float64 // photo pixels per millimetre along
	pxPerMM     float64
	start, step float64 // of the profile, mm
	light       []float64
}

// at returns the photo point t millimetres outward.
func (q probe) at(t float64) photo.Point {
	return photo.Point{X: q.origin.X + t*q.acX, Y: q.origin.Y + t*q.acY}
}

func (q probe) t(k int) float64 { return q.start + float64(k)*q.step }

// probeSpread is how far to either side, along the edge, profiles are averaged,
// in mm: samples are 0.8 mm apart, so nothing is read twice. Over it a bend of
// radius 10 mm moves the mean by 0.003 mm. probeRows bounds the rows read for the
// last fit; where only the course is wanted, roughRows do.
const (
	probeSpread = 0.4
	probeRows   = 5
	roughRows   = 3
)

// across sets up the probe through a point of the bench. Over the few
// millimetres of a profile the map is taken as straight; results are points on
// that very line of the photo, so nothing is lost.
func (r *prober) across(p plane.Point, outward plane.Vec) (probe, bool) {
	a := r.bench.PhotoFromPlane(p.Add(outward.Scale(-1)))
	b := r.bench.PhotoFromPlane(p.Add(outward))
	o := r.bench.PhotoFromPlane(p)
	l := r.bench.PhotoFromPlane(p.Add(outward.TurnLeft()))
	q := probe{origin: o, acX: (b.X - a.X) / 2, acY: (b.Y - a.Y) / 2, alX: l.X - o.X, alY: l.Y - o.Y}
	q.pxPerMM = math.Hypot(q.acX, q.acY)
	return q, q.pxPerMM > 0 && !math.IsInf(q.pxPerMM, 0) && !math.IsNaN(q.pxPerMM+q.origin.X)
}

// read fills in the profile from -reach to +reach millimetres in steps of half a
// pixel, averaged over rows (at most) along the edge. It reports false when part
// of it lies outside the photo.
func (r *prober) read(q *probe, reach float64, rows int) bool {
	q.step = 0.5 / q.pxPerMM
	half := int(reach/q.step) + 1
	q.start = -float64(half) * q.step
	n := 2*half + 1
	if n > 400 {
		return false
	}
	if cap(r.buf) < n {
		r.buf = make([]float64, 2*n)
	}
	q.light = r.buf[:n]
	end := q.start + float64(n-1)*q.step
	for _, t := range [2]float64{q.start, end} {
		for _, side := range [2]float64{-probeSpread, probeSpread} {
			e := q.at(t)
			x, y := e.X+side*q.alX, e.Y+side*q.alY
			if !(x >= 2 && y >= 2 && x <= float64(r.p.Width)-2 && y <= float64(r.p.Height)-2) {
				return false
			}
		}
	}
	clear(q.light)
	rows = int(clamp(2*probeSpread*q.pxPerMM+1, 2, float64(rows)))
	for row := range rows {
		r.addRow(q, probeSpread*(2*float64(row)/float64(rows-1)-1))
	}
	for k := range q.light {
		q.light[k] /= float64(rows)
	}
	return true
}

// addRow adds the light along the line that runs side millimetres along the edge
// from the probe's own, bilinear between pixel centres. It lies in the photo.
func (r *prober) addRow(q *probe, side float64) {
	from := q.at(q.start)
	x, y := from.X+side*q.alX-0.5, from.Y+side*q.alY-0.5
	dx, dy := q.step*q.acX, q.step*q.acY
	pix, w := r.p.Luma, r.p.Width
	for k := range q.light {
		ix, iy := int(x), int(y)
		fx, fy := float32(x-float64(ix)), float32(y-float64(iy))
		at := iy*w + ix
		top, low := pix[at:at+2], pix[at+w:at+w+2]
		a, c := r.light[top[0]], r.light[low[0]]
		above := a + fx*(r.light[top[1]]-a)
		q.light[k] += float64(above + fy*(c+fx*(r.light[low[1]]-c)-above))
		x, y = x+dx, y+dy
	}
}

// reading is what one profile says, in millimetres outward of the course.
type reading struct {
	ok           bool
	inner, outer float64 // the two edges; equal for a single edge
	contrast     float64 // share of the ground's light that the ink takes, or across an edge (signed: inside less outside)
	sigma        float64 // of the middle, mm
	blur         float64 // px
	misfit       float64 // light, of the fit
	probe        probe   // its light is not kept
}

func (r reading) middle() float64 { return (r.inner + r.outer) / 2 }
func (r reading) width() float64  { return r.outer - r.inner }

// roughLine finds the dark stroke nearest the course: the darkest place within
// near, then on each side the half level between it and that side's ground.
func roughLine(q *probe, near, widest float64) reading {
	darkest := -1
	for k := range q.light {
		if t := q.t(k); math.Abs(t) <= near && (darkest < 0 || q.light[k] < q.light[darkest]) {
			darkest = k
		}
	}
	if darkest < 1 || darkest >= len(q.light)-1 {
		return reading{}
	}
	ink := (q.light[darkest-1] + q.light[darkest] + q.light[darkest+1]) / 3
	skip := int(widest / 2 / q.step)
	left := upperMean(q.light[:max(0, darkest-skip)])
	right := upperMean(q.light[min(len(q.light), darkest+skip):])
	r := reading{contrast: darkening(math.Min(left, right), ink)}
	a, okA := halfLevel(q, darkest, -1, (left+ink)/2)
	b, okB := halfLevel(q, darkest, 1, (right+ink)/2)
	r.inner, r.outer = a, b
	r.ok = okA && okB && r.contrast > 0 && b > a
	return r
}

// upperMean returns the mean of the values above their mean: the ground's level
// where other strokes may lie on it.
func upperMean(v []float64) float64 {
	mean := 0.0
	for _, x := range v {
		mean += x
	}
	mean /= math.Max(1, float64(len(v)))
	sum, n := 0.0, 0.0
	for _, x := range v {
		if x >= mean {
			sum += x
			n++
		}
	}
	return sum / math.Max(1, n)
}

// halfLevel walks from index k in steps of dir to where the light passes level.
func halfLevel(q *probe, k, dir int, level float64) (float64, bool) {
	for k+dir >= 0 && k+dir < len(q.light) {
		a, b := q.light[k], q.light[k+dir]
		if b >= level && a < level {
			return q.t(k) + float64(dir)*q.step*(level-a)/(b-a), true
		}
		k += dir
	}
	return 0, false
}

// roughEdge finds the steepest step within near of the course whose sign is that
// of wanted (inside less outside; 0 takes either).
func roughEdge(q *probe, near, wanted float64) reading {
	lag := max(2, int(1.5*q.pxPerMM*0.4))
	best, bestK := 0.0, -1
	for k := lag; k < len(q.light)-lag; k++ {
		t := q.t(k)
		if math.Abs(t) > near {
			continue
		}
		d := q.light[k-lag] - q.light[k+lag]
		s := math.Abs(d)
		if wanted != 0 && d*wanted < 0 {
			continue
		}
		s *= 1 - 0.3*math.Abs(t)/near
		if s > best {
			best, bestK = s, k
		}
	}
	if bestK < 0 {
		return reading{}
	}
	t := q.t(bestK)
	return reading{ok: true, inner: t, outer: t, contrast: signedDarkening(q.light[bestK-lag], q.light[bestK+lag])}
}

// darkening returns the share of the light that is missing: unlike a difference
// it is the same in a shadow.
func darkening(light, dark float64) float64 { return (light - dark) / math.Max(light, 1) }

func signedDarkening(inside, outside float64) float64 {
	return (inside - outside) / math.Max(math.Max(inside, outside), 1)
}
