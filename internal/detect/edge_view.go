package detect

import (
	"image"
	"math"
	"runtime"
	"sync"

	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// benchView is the visible bench seen squarely from above, reduced: for finding
// only, never for measuring. Row 0 is the far side (largest y); the centre of
// pixel (c, r) lies at minX + (c+½)·scale, maxY - (r+½)·scale.
type benchView struct {
	w, h       int
	scale      float64 // mm per pixel
	minX, maxY float64
	luma       []uint8
	seen       []bool // inside the photo
	// cw x ch colour differences, one for each block of chromaStep² view pixels
	cw, ch int
	cb, cr []uint8
}

// chromaStep is the side, in view pixels, of the blocks that carry colour and
// into which surfaces are segmented.
const chromaStep = 4

func (v *benchView) pointOf(x, y float64) plane.Point {
	return plane.Point{X: v.minX + x*v.scale, Y: v.maxY - y*v.scale}
}

func (v *benchView) pixelOf(p plane.Point) (x, y float64) {
	return (p.X - v.minX) / v.scale, (v.maxY - p.Y) / v.scale
}

// newBenchView samples the photo over the part of the bench that it shows and
// that lies within params.Reach of the cards.
func newBenchView(p *photo.Photo, bench Bench, cards [][]plane.Point, params EdgeParams) *benchView {
	box := visibleBench(p, bench, cards, params.Reach)
	if box.IsEmpty() || !(box.Width() > 20 && box.Height() > 20) {
		return nil
	}
	scale := math.Max(params.ViewScale, math.Sqrt(box.Width()*box.Height()/float64(params.ViewPixels)))
	v := &benchView{
		w: int(box.Width()/scale) + 1, h: int(box.Height()/scale) + 1,
		scale: scale, minX: box.Min.X, maxY: box.Max.Y,
	}
	v.luma = make([]uint8, v.w*v.h)
	v.seen = make([]bool, v.w*v.h)
	v.cw, v.ch = (v.w+chromaStep-1)/chromaStep, (v.h+chromaStep-1)/chromaStep
	v.cb, v.cr = make([]uint8, v.cw*v.ch), make([]uint8, v.cw*v.ch)
	v.fill(p, bench)
	return v
}

// visibleBench returns the box of the bench that the photo shows, at most reach
// beyond the cards (or beyond the photo's middle when there are none).
func visibleBench(p *photo.Photo, bench Bench, cards [][]plane.Point, reach float64) plane.Rect {
	w, h := float64(p.Width), float64(p.Height)
	middle := bench.PlaneFromPhoto(photo.Point{X: w / 2, Y: h / 2})
	near := plane.EmptyRect()
	for _, corners := range cards {
		near = near.Union(plane.RectFromPoints(corners...))
	}
	if near.IsEmpty() {
		near = plane.RectFromPoints(middle)
	}
	near = near.Grow(reach)
	shown := plane.EmptyRect()
	const n = 24
	for i := 0; i <= n; i++ {
		t := float64(i) / n
		for _, q := range []photo.Point{{X: t * w}, {X: t * w, Y: h}, {Y: t * h}, {X: w, Y: t * h}} {
			if b := bench.PlaneFromPhoto(q); b.IsFinite() {
				shown = shown.Include(b)
			}
		}
	}
	return plane.Rect{
		Min: plane.Point{X: math.Max(shown.Min.X, near.Min.X), Y: math.Max(shown.Min.Y, near.Min.Y)},
		Max: plane.Point{X: math.Min(shown.Max.X, near.Max.X), Y: math.Min(shown.Max.Y, near.Max.Y)},
	}
}

// nodeStep is the spacing in view pixels at which the bench is mapped exactly;
// between, the map is linear. Over 8 mm at 0.5 m the perspective departs from
// linear by under 0.01 mm.
const nodeStep = 16

// fill maps a grid of nodes and samples the half-size picture between them.
func (v *benchView) fill(p *photo.Photo, bench Bench) {
	nw, nh := v.w/nodeStep+2, v.h/nodeStep+2
	nodes := make([]photo.Point, nw*nh)
	spreadRows(nh, func(lo, hi int) {
		for j := lo; j < hi; j++ {
			for i := range nw {
				nodes[j*nw+i] = bench.PhotoFromPlane(v.pointOf(float64(i*nodeStep)+0.5, float64(j*nodeStep)+0.5))
			}
		}
	})
	small := reduce(p, v.reduction(nodes, nw))
	spreadRows(v.h, func(lo, hi int) {
		for r := lo; r < hi; r++ {
			v.fillRow(p, small, nodes, nw, r)
		}
	})
}

// reduction returns by how much the photo is box-averaged before sampling: the
// whole number of photo pixels in a view pixel at the view's middle, at most 4.
func (v *benchView) reduction(nodes []photo.Point, nw int) int {
	k := (v.h/nodeStep/2)*nw + nw/2
	a, b := nodes[k], nodes[k-1]
	n := int(math.Hypot(a.X-b.X, a.Y-b.Y)/nodeStep + 0.35)
	return max(1, min(4, n))
}

// fillRow samples one row of the view.
func (v *benchView) fillRow(p *photo.Photo, small reduced, nodes []photo.Point, nw, r int) {
	j, t := r/nodeStep, float64(r%nodeStep)/nodeStep
	row := func(i int) (x, y float64) {
		a, b := nodes[j*nw+i], nodes[(j+1)*nw+i]
		return a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)
	}
	cw, ch := p.ChromaSize()
	x0, y0 := row(0)
	for i := 0; i*nodeStep < v.w; i++ {
		x1, y1 := row(i + 1)
		dx, dy := (x1-x0)/nodeStep, (y1-y0)/nodeStep
		from := r*v.w + i*nodeStep
		n := min(nodeStep, v.w-i*nodeStep)
		if inPhoto(p, x0, y0) && inPhoto(p, x0+float64(n-1)*dx, y0+float64(n-1)*dy) {
			small.along(v.luma[from:from+n], x0, y0, dx, dy)
			for k := from; k < from+n; k++ {
				v.seen[k] = true
			}
		} else {
			v.fillRim(p, small, from, n, x0, y0, dx, dy)
		}
		for c := i*nodeStep + chromaStep/2; r%chromaStep == chromaStep/2 && c < i*nodeStep+n; c += chromaStep {
			x, y := x0+float64(c-i*nodeStep)*dx, y0+float64(c-i*nodeStep)*dy
			if v.seen[r*v.w+c] {
				q := min(int(y/2), ch-1)*cw + min(int(x/2), cw-1)
				o := (r/chromaStep)*v.cw + c/chromaStep
				v.cb[o], v.cr[o] = p.Cb[q], p.Cr[q]
			}
		}
		x0, y0 = x1, y1
	}
}

// fillRim samples a stretch of a row of which part lies outside the photo.
func (v *benchView) fillRim(p *photo.Photo, small reduced, from, n int, x0, y0, dx, dy float64) {
	for k := range n {
		if x, y := x0+float64(k)*dx, y0+float64(k)*dy; inPhoto(p, x, y) {
			v.seen[from+k] = true
			small.along(v.luma[from+k:from+k+1], x, y, 0, 0)
		}
	}
}

func inPhoto(p *photo.Photo, x, y float64) bool {
	return x >= 0 && y >= 0 && x < float64(p.Width) && y < float64(p.Height)
}

// reduced is the photo's luma averaged over blocks of n x n pixels.
type reduced struct {
	n, w, h int
	pix     []uint8
}

func reduce(p *photo.Photo, n int) reduced {
	if n == 1 {
		return reduced{1, p.Width, p.Height, p.Luma}
	}
	s := reduced{n: n, w: p.Width / n, h: p.Height / n}
	s.pix = make([]uint8, s.w*s.h)
	spreadRows(s.h, func(lo, hi int) {
		sums := make([]uint16, s.w)
		for r := lo; r < hi; r++ {
			clear(sums)
			for k := range n {
				src := p.Luma[(r*n+k)*p.Width:][:s.w*n]
				addBlocks(sums, src, n)
			}
			out := s.pix[r*s.w:][:s.w]
			half, area := uint16(n*n/2), uint16(n*n)
			for i, sum := range sums {
				out[i] = uint8((sum + half) / area)
			}
		}
	})
	return s
}

func addBlocks(sums []uint16, src []uint8, n int) {
	if n == 2 {
		for i := range sums {
			sums[i] += uint16(src[2*i]) + uint16(src[2*i+1])
		}
		return
	}
	for i := range sums {
		var s uint16
		for _, b := range src[i*n:][:n] {
			s += uint16(b)
		}
		sums[i] += s
	}
}

// along samples the reduced picture at equal steps, places being those of the full
// photo: bilinear in 1/256 of a pixel. Steps are counted in 1/65536.
func (s reduced) along(out []uint8, x, y, dx, dy float64) {
	const one = 65536
	inv := one / float64(s.n)
	fx, fy := int(x*inv)-one/2, int(y*inv)-one/2
	sx, sy := int(dx*inv), int(dy*inv)
	right, low := (s.w-1)*one-256, (s.h-1)*one-256
	for i := range out {
		cx, cy := max(0, min(fx, right))>>8, max(0, min(fy, low))>>8
		k := (cy>>8)*s.w + cx>>8
		ax, ay := cx&255, cy&255
		p, q := s.pix[k:k+2], s.pix[k+s.w:k+s.w+2]
		top := int(p[0])*(256-ax) + int(p[1])*ax
		under := int(q[0])*(256-ax) + int(q[1])*ax
		out[i] = uint8((top*(256-ay) + under*ay + 1<<15) >> 16)
		fx, fy = fx+sx, fy+sy
	}
}

func (v *benchView) picture(pix []uint8) *image.Gray {
	return &image.Gray{Pix: pix, Stride: v.w, Rect: image.Rect(0, 0, v.w, v.h)}
}

// spreadRows splits rows 0..n among the processors. The parts do not touch
// each other's rows, so the result does not depend on the split.
func spreadRows(n int, do func(lo, hi int)) {
	parts := min(runtime.GOMAXPROCS(0), 4, n)
	if parts <= 1 {
		do(0, n)
		return
	}
	var wait sync.WaitGroup
	for k := range parts {
		wait.Add(1)
		go func() {
			defer wait.Done()
			do(n*k/parts, n*(k+1)/parts)
		}()
	}
	wait.Wait()
}
