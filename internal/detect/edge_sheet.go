package detect

import (
	"encoding/binary"
	"math"
	"sort"
)

// coarse is the bench view in blocks of chromaStep pixels: what surfaces are
// told apart by. Strokes are already filled in (it is made from the ground), so
// a sheet with a line on it is one surface.
type coarse struct {
	w, h         int
	grey, cb, cr []int
	known        []bool // seen and not on a card
	card         []bool
	// difference from the block to the right and the one below, in twelfths of the
	// step at which the two are alike
	right, below []int32
}

func (v *inkView) coarse() *coarse {
	c := &coarse{w: v.cw, h: v.ch}
	n := c.w * c.h
	c.grey, c.cb, c.cr = make([]int, n), make([]int, n), make([]int, n)
	c.known, c.card = make([]bool, n), make([]bool, n)
	spreadRows(c.h, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			for x := range c.w {
				v.block(c, x, y)
			}
		}
	})
	c.right, c.below = make([]int32, n), make([]int32, n)
	spreadRows(c.h-1, func(lo, hi int) {
		for k := lo * c.w; k < hi*c.w; k++ {
			c.right[k], c.below[k] = c.difference(k, k+1), c.difference(k, k+c.w)
		}
	})
	return c
}

// block averages one block of the view, in quarters of a grey level so that
// small steps are not lost to rounding.
func (v *inkView) block(c *coarse, x, y int) {
	o := y*c.w + x
	c.known[o] = true
	sum, n := 0, 0
	for r := y * chromaStep; r < min(v.h, (y+1)*chromaStep); r++ {
		for q := x * chromaStep; q < min(v.w, (x+1)*chromaStep); q++ {
			k := r*v.w + q
			if !v.seen[k] || v.onCard[k] {
				c.known[o] = false
				c.card[o] = c.card[o] || v.onCard[k]
			}
			sum += int(v.ground[k])
			n++
		}
	}
	c.grey[o] = 4 * sum / n
	c.cb[o], c.cr[o] = 4*int(v.cb[o]), 4*int(v.cr[o])
}

// difference returns by how much two blocks differ: they are alike within a step
// of a twelfth of it. Grey may differ by the step, colour by three quarters of it.
func (c *coarse) difference(a, b int) int32 {
	grey, cb, cr := abs(c.grey[a]-c.grey[b]), abs(c.cb[a]-c.cb[b]), abs(c.cr[a]-c.cr[b])
	return int32(max(3*grey, 4*cb, 4*cr))
}

// smooth reports whether a block is like all four of its neighbours: it does not
// touch a border, and a surface of such blocks cannot leak through a place where
// the border is faint for a few millimetres.
func (c *coarse) smooth(k int, limit int32) bool {
	return c.right[k-1] <= limit && c.right[k] <= limit && c.below[k-c.w] <= limit && c.below[k] <= limit
}

// surfaces joins neighbouring blocks that are alike within step, so that slow
// shading does not part a surface; cautious takes only blocks away from borders.
// The result's labels are numbered in raster order.
func (c *coarse) surfaces(step float64, cautious bool) *regions {
	r := &regions{w: c.w, h: c.h, label: make([]int32, c.w*c.h)}
	parent := []int32{0}
	limit := int32(12 * step)
	seen := make([]bool, c.w*c.h)
	for y := 1; y < c.h-1; y++ {
		for x := 1; x < c.w-1; x++ {
			k := y*c.w + x
			seen[k] = c.known[k] || c.card[k]
			if !c.known[k] || (cautious && !c.smooth(k, limit)) {
				continue
			}
			left := r.label[k-1] != 0 && c.right[k-1] <= limit
			up := r.label[k-c.w] != 0 && c.below[k-c.w] <= limit
			switch {
			case left && up:
				r.label[k] = unite(parent, r.label[k-1], r.label[k-c.w])
			case left:
				r.label[k] = r.label[k-1]
			case up:
				r.label[k] = r.label[k-c.w]
			default:
				parent = append(parent, int32(len(parent)))
				r.label[k] = int32(len(parent) - 1)
			}
		}
	}
	r.renumber(parent, seen)
	return r
}

// sheet is a surface with everything that lies on it.
type sheet struct {
	mask     *grid // blocks, holes filled
	course   chain // its border, counter-clockwise
	outer    []int // blocks just outside, in the order of course
	area     float64
	own      float64 // share of the filled area that is the surface itself
	open     bool    // leaves what the photo shows
	contrast float64 // grey levels across its border, exceeded over four fifths of it
}

// sheets returns the large surfaces of the bench, most distinct first.
func (v *inkView) sheets(c *coarse, params EdgeParams) []sheet {
	var all []sheet
	cell := chromaStep * v.scale
	least := params.MinArea / (cell * cell)
	tries := make([][]sheet, 2*len(params.SheetSteps)) // each step boldly and cautiously
	spreadRows(len(tries), func(lo, hi int) {
		var queue []int32
		for i := lo; i < hi; i++ {
			r := c.surfaces(params.SheetSteps[i/2], i%2 == 1)
			for l := 1; l < len(r.area); l++ {
				if float64(r.area[l]) < least/2 {
					continue
				}
				if s := v.sheet(c, r, int32(l), &queue); s.area >= params.MinArea {
					tries[i] = append(tries[i], s)
				}
			}
		}
	})
	for _, found := range tries {
		all = append(all, found...)
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].rank() > all[j].rank() })
	return all
}

func (s sheet) rank() float64 { return s.contrast * s.own * s.own }

// sheet turns region l into a sheet; queue is memory to use again.
func (v *inkView) sheet(c *coarse, r *regions, l int32, queue *[]int32) sheet {
	mask := r.filled(l, queue)
	mask.closeNotches(2, r.box[l])
	first := mask.first(r.box[l])
	way := r.border(first, func(k int) bool { return mask.pix[k] != 0 })
	cell := chromaStep * v.scale
	s := sheet{area: way.area * cell * cell, open: r.open[l], mask: mask}
	n := len(way.outside)
	for i := range way.outside {
		k := way.outside[n-1-i]
		s.outer = append(s.outer, k)
		s.course = append(s.course, v.pointOf((float64(k%c.w)+0.5)*chromaStep, (float64(k/c.w)+0.5)*chromaStep))
	}
	own, whole := 0, 0
	for y := r.box[l].y0; y <= r.box[l].y1; y++ {
		for k := y*c.w + r.box[l].x0; k <= y*c.w+r.box[l].x1; k++ {
			if mask.pix[k] != 0 && !c.card[k] {
				whole++
				if r.label[k] == l {
					own++
				}
			}
		}
	}
	s.own = float64(own) / math.Max(1, float64(whole))
	s.contrast = v.borderStep(s.course, 5)
	return s
}

// filled returns region l with its holes: everything that cannot be reached from
// beyond its box without crossing it. It must not touch the view's border.
// memory is a queue of pixels to use again.
func (r *regions) filled(l int32, memory *[]int32) *grid {
	g, box := newGrid(r.w, r.h), r.box[l]
	queue := (*memory)[:0]
	for y := box.y0; y <= box.y1; y++ {
		for k := y*r.w + box.x0; k <= y*r.w+box.x1; k++ {
			g.pix[k] = 1
		}
		queue = append(queue, int32(y*r.w+box.x0), int32(y*r.w+box.x1))
	}
	for x := box.x0; x <= box.x1; x++ {
		queue = append(queue, int32(box.y0*r.w+x), int32(box.y1*r.w+x))
	}
	w := int32(r.w)
	for len(queue) > 0 {
		k := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		if g.pix[k] == 0 || r.label[k] == l {
			continue
		}
		g.pix[k] = 0
		for _, q := range [4]int32{k - 1, k + 1, k - w, k + w} {
			if g.pix[q] != 0 {
				queue = append(queue, q)
			}
		}
	}
	*memory = queue
	return g
}

// first returns the first yes in the box in raster order, or the box's corner.
func (g *grid) first(box pixelBox) int {
	for y := box.y0; y <= box.y1; y++ {
		for k := y*g.w + box.x0; k <= y*g.w+box.x1; k++ {
			if g.pix[k] != 0 {
				return k
			}
		}
	}
	return box.y0*g.w + box.x0
}

// closeNotches fills what is narrower than 2n+1 pixels, such as a tick that runs
// in from the border: n steps of growing, then of shrinking, by squares. What is
// yes lies in the box.
func (g *grid) closeNotches(n int, box pixelBox) {
	box = pixelBox{max(0, box.x0-n), max(0, box.y0-n), min(g.w-1, box.x1+n), min(g.h-1, box.y1+n)}
	for range n {
		g.grow(1, box)
	}
	for range n {
		g.grow(0, box)
	}
	g.clearBorder()
}

// grow gives the value (0 or 1) to every pixel of the box, off the view's border,
// that has it among its neighbours.
func (g *grid) grow(value uint8, box pixelBox) {
	x0, x1 := max(1, box.x0), min(g.w-2, box.x1)
	y0, y1 := max(1, box.y0), min(g.h-2, box.y1)
	if x1 < x0 || y1 < y0 {
		return
	}
	base := (y0 - 1) * g.w
	across := make([]uint8, (y1-y0+3)*g.w)
	for y := y0 - 1; y <= y1+1; y++ {
		k := y*g.w + x0
		merge(across[k-base:][:x1-x0+1], g.pix[k-1:], g.pix[k:], g.pix[k+1:], value)
	}
	for y := y0; y <= y1; y++ {
		k := y*g.w + x0
		merge(g.pix[k:][:x1-x0+1], across[k-g.w-base:], across[k-base:], across[k+g.w-base:], value)
	}
}

// merge sets each byte (0 or 1) of out to value if one of a, b and c has it there,
// eight at a time.
func merge(out, a, b, c []uint8, value uint8) {
	flip := uint64(0x0101010101010101) * uint64(1-value)
	i := 0
	for ; i+8 <= len(out); i += 8 {
		p, q, r := binary.LittleEndian.Uint64(a[i:]), binary.LittleEndian.Uint64(b[i:]), binary.LittleEndian.Uint64(c[i:])
		binary.LittleEndian.PutUint64(out[i:], ((p^flip)|(q^flip)|(r^flip))^flip)
	}
	for ; i < len(out); i++ {
		f := uint8(flip)
		out[i] = ((a[i] ^ f) | (b[i] ^ f) | (c[i] ^ f)) ^ f
	}
}

// borderStep returns the change of grey and colour across a way that is exceeded
// over four fifths of its length, off millimetres away on either side.
func (v *inkView) borderStep(way chain, off float64) float64 {
	smooth := way.smooth(2)
	var steps []float64
	for i := range smooth {
		normal := smooth.direction(i, 2).TurnRight().Scale(off)
		g1, b1, r1, ok1 := v.surface(smooth[i].Add(normal))
		g2, b2, r2, ok2 := v.surface(smooth[i].Add(normal.Neg()))
		if ok1 && ok2 {
			steps = append(steps, math.Abs(g1-g2)+math.Max(math.Abs(b1-b2), math.Abs(r1-r2)))
		}
	}
	return quantile(steps, 0.2)
}

// cutCandidates turns the distinct surfaces into candidates for a cut template.
func (v *inkView) cutCandidates(sheets []sheet, params EdgeParams) []candidate {
	var found []candidate
	for _, s := range sheets {
		n := len(s.course)
		c := candidate{
			kind: Cut, course: s.course, area: s.area, contrast: s.contrast, seen: 1,
			bridged: make([]bool, n), sheet: make([]bool, n), score: s.rank(),
		}
		switch {
		case s.open:
			c.verdict = "leaves the photo"
		case s.own < 0.6:
			c.verdict = "mostly covered by something else"
		case s.contrast < params.BorderStep:
			c.verdict = "hardly differs from the bench"
		}
		if sameAsOne(found, s) {
			continue
		}
		if c.verdict != "" {
			c.score = 0
		}
		found = append(found, c)
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].score > found[j].score })
	return found
}

// sameAsOne reports whether a surface is a candidate already, found at another
// step: nearly the same area about nearly the same middle.
func sameAsOne(found []candidate, s sheet) bool {
	for _, c := range found {
		if math.Abs(c.area-s.area) < 0.06*s.area && c.course.middle().DistanceTo(s.course.middle()) < 20 {
			return true
		}
	}
	return false
}
