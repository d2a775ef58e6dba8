package testscene

import (
	"math"
	"runtime"
	"sync"

	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// Photograph renders the scene. The same scene gives the same bytes.
//
// Each pixel is the light on its own square: exact where one straight border
// passes through it, 64 samples where more do (corners, the marks of the cards).
func (s Scene) Photograph() (photo.Photo, Truth) {
	view := newProjection(s.Camera)
	r := &renderer{scene: &s, view: view, coats: s.coats(), raw: newRawPicture(s.Camera.Width, s.Camera.Height)}
	r.run()
	return s.develop(r.raw), s.truthOf(view)
}

// rawPicture is linear light, and colour at half the size.
type rawPicture struct {
	width, height int
	light         []float32
	cw, ch        int
	cb, cr        []float32
}

func newRawPicture(w, h int) *rawPicture {
	cw, ch := (w+1)/2, (h+1)/2
	return &rawPicture{w, h, make([]float32, w*h), cw, ch, make([]float32, cw*ch), make([]float32, cw*ch)}
}

type renderer struct {
	scene *Scene
	view  projection
	coats []coat
	raw   *rawPicture
}

// The picture is drawn in squares of tilePx, even so that a colour sample never
// belongs to two.
const tilePx = 16

func (r *renderer) run() {
	rows := (r.raw.height + tilePx - 1) / tilePx
	next := make(chan int, rows)
	for i := range rows {
		next <- i
	}
	close(next)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Add(1)
		go func() {
			defer wait.Done()
			brush := &brush{renderer: r}
			for row := range next {
				for x := 0; x < r.raw.width; x += tilePx {
					brush.tile(x, row*tilePx)
				}
			}
		}()
	}
	wait.Wait()
}

// brush draws squares of the picture; each worker has its own.
type brush struct {
	*renderer
	active []*coat
	base   footprint // of a pixel on the bench, in this square
}

func (b *brush) tile(x0, y0 int) {
	x1, y1 := min(x0+tilePx, b.raw.width), min(y0+tilePx, b.raw.height)
	if !b.prepare(x0, y0, x1, y1) {
		return // sky: stays dark
	}
	step := 1 / b.view.cam.F
	for y := y0; y < y1; y++ {
		tx, ty := (float64(x0)+0.5-b.view.cx)*step, (float64(y)+0.5-b.view.cy)*step
		nx, ny := b.view.undistortFrom(tx, ty, tx, ty, 8)
		dx, dy := step, 0.0
		for x := x0; x < x1; x++ {
			b.pixel(x, y, nx, ny)
			// The next direction lies a step like the last one away, up to the lens's
			// curvature; one step of Newton's method squares that error away.
			tx += step
			mx, my := b.view.undistortFrom(nx+dx, ny+dy, tx, ty, 1)
			dx, dy, nx, ny = mx-nx, my-ny, mx, my
		}
	}
}

func (b *brush) pixel(x, y int, nx, ny float64) {
	p, ok := b.view.benchFromNormal(nx, ny)
	if !ok {
		return
	}
	c, unsure := b.composite(p, b.base)
	if unsure {
		c = b.sampled(p)
	}
	shade := b.scene.shade(p)
	raw := b.raw
	raw.light[y*raw.width+x] = float32(c.tone * shade)
	i := y/2*raw.cw + x/2
	weight := 0.25
	if x|1 == raw.width {
		weight *= 2
	}
	if y|1 == raw.height {
		weight *= 2
	}
	raw.cb[i] += float32(weight * c.cb * shade)
	raw.cr[i] += float32(weight * c.cr * shade)
}

// prepare works out the square's footprint and which coats it may see.
func (b *brush) prepare(x0, y0, x1, y1 int) bool {
	box := plane.EmptyRect()
	for _, c := range [][2]int{{x0, y0}, {x1, y0}, {x0, y1}, {x1, y1}} {
		p, ok := b.view.benchFromPhoto(photo.Point{X: float64(c[0]), Y: float64(c[1])})
		if !ok {
			return false
		}
		box = box.Include(p)
	}
	mx, my := float64(x0+x1)/2, float64(y0+y1)/2
	at := func(dx, dy float64) plane.Point {
		p, _ := b.view.benchFromPhoto(photo.Point{X: mx + dx, Y: my + dy})
		return p
	}
	b.base = newFootprint(at(0.5, 0).Sub(at(-0.5, 0)), at(0, 0.5).Sub(at(0, -0.5)))
	// Between its corners a square's sides bulge by far less than a pixel.
	box = box.Grow(2 * b.base.reach)
	b.active = b.active[:0]
	b.active = append(b.active, &b.coats[0])
	for i := 1; i < len(b.coats); i++ {
		b.consider(&b.coats[i], box)
	}
	return true
}

func (b *brush) consider(c *coat, box plane.Rect) {
	if c.lift != 0 {
		box = plane.Rect{Min: b.view.lifted(box.Min, c.lift), Max: b.view.lifted(box.Max, c.lift)}
	}
	if !c.area.touches(box) {
		return
	}
	full, ok := c.area.(interface{ covers(plane.Rect) bool })
	if ok && c.opacity == 1 && c.clip == nil && full.covers(box) {
		b.active = b.active[:0]
	}
	b.active = append(b.active, c)
}

// composite lays the active coats over each other at the footprint about p. The
// result is exact while at most one border shows; otherwise it is unsure.
func (b *brush) composite(p plane.Point, f footprint) (colour, bool) {
	var c colour
	borders := 0
	for _, k := range b.active {
		q, g := p, f
		if k.lift != 0 {
			q, g = b.view.lifted(p, k.lift), f.scaled(1-k.lift/b.view.at.z)
		}
		share, unsure, partial := k.share(q, g)
		if unsure {
			return c, true
		}
		if share == 0 {
			continue
		}
		if share == 1 && k.opacity == 1 {
			c, borders = k.colourAt(q), 0
			continue
		}
		if partial {
			borders++
		}
		c = c.mix(k.colourAt(q), share*k.opacity)
	}
	return c, borders > 1
}

func (f footprint) scaled(s float64) footprint {
	return footprint{f.across.Scale(s), f.down.Scale(s), f.reach * s}
}

// share returns how much of the footprint the coat covers; partial tells that a
// border of it shows.
func (k *coat) share(q plane.Point, f footprint) (share float64, unsure, partial bool) {
	if k.area == nil {
		return 1, false, false
	}
	share, unsure = k.area.cover(q, f)
	if k.clip == nil || share == 0 && !unsure {
		return share, unsure, share > 0 && share < 1
	}
	clip, unsureClip := k.clip.cover(q, f)
	if clip == 0 && !unsureClip {
		return 0, false, false
	}
	both := share > 0 && share < 1 && clip > 0 && clip < 1
	share *= clip
	return share, unsure || unsureClip || both, share > 0 && share < 1
}

// samples is how many points a pixel with several borders is sampled at: those of
// a lattice whose projections on both axes are evenly spaced, placed so that the
// set is its own mirror image through the pixel's middle.
const (
	samples     = 64
	latticeStep = 27
)

// sampled returns the mean over points ((i+½)/64, frac((27 i + 13½)/64)): i and
// 63-i lie opposite each other, because 27·63 + 27 = 27·64.
func (b *brush) sampled(p plane.Point) colour {
	var sum colour
	for i := range samples {
		u := (float64(i)+0.5)/samples - 0.5
		v := float64((2*latticeStep*i+latticeStep)%(2*samples))/(2*samples) - 0.5
		q := p.Add(b.base.across.Scale(u)).Add(b.base.down.Scale(v))
		c, _ := b.composite(q, footprint{})
		sum.tone += c.tone
		sum.cb += c.cb
		sum.cr += c.cr
	}
	return colour{sum.tone / samples, sum.cb / samples, sum.cr / samples}
}

// covers reports whether r lies wholly inside the rectangle.
func (r *rectArea) covers(b plane.Rect) bool {
	for _, c := range []plane.Point{b.Min, b.Max, {X: b.Min.X, Y: b.Max.Y}, {X: b.Max.X, Y: b.Min.Y}} {
		q := r.fromPlane.Apply(c)
		if math.Abs(q.X) >= r.halfW || math.Abs(q.Y) >= r.halfH {
			return false
		}
	}
	return true
}
