package nest

import "math"

// fieldBuilder fills the grids of a field by quartering: a quarter keeps of its
// parent's lists what can still matter in it, so that the lists shrink quickly and
// whole quarters far inside or outside end at once.
type fieldBuilder struct {
	*field
	all  []sum
	band float64
}

// newField returns the field of the outlines A and B given by their convex parts.
// band (nm) is how far outside the distance to contact is still told; cells is the
// wished number of cells along the longer side: more are more exact inside, fewer
// stay in the processor's cache.
func newField(a, b []ring, buffer, band float64, cells int) *field {
	var sums []sum
	for _, p := range a {
		for _, q := range b {
			sums = append(sums, newSum(convexSum(p, q)))
		}
	}
	f := &field{border: border(sums), buffer: buffer}
	builder := fieldBuilder{field: f, all: sums, band: math.Max(buffer, band)}
	builder.lieOver()
	near, cut := numbered(len(f.border)), numbered(len(sums))
	f.nx, f.ny = gridOver(f.max.sub(f.min), cells)
	size := f.max.sub(f.min)
	f.invX, f.invY = float64(f.nx)/size.x, float64(f.ny)/size.y
	f.kinds = make([]uint16, f.nx*f.ny)
	f.corners = make([]float32, (f.nx+1)*(f.ny+1))
	builder.fill(block{0, 0, f.nx, f.ny}, near, cut, false)
	g := &f.near
	g.nx, g.ny = gridOver(size, nearCells)
	g.invX, g.invY = float64(g.nx)/size.x, float64(g.ny)/size.y
	g.cells = make([]list, g.nx*g.ny)
	builder.fillNear(block{0, 0, g.nx, g.ny}, near)
	return f
}

// nearCells is the size of the coarse grid of nearest pieces, along the longer side.
const nearCells = 16

func numbered(n int) []uint16 {
	out := make([]uint16, n)
	for i := range out {
		out[i] = uint16(i)
	}
	return out
}

// lieOver sets the box.
func (b *fieldBuilder) lieOver() {
	lo, hi := vec{math.Inf(1), math.Inf(1)}, vec{math.Inf(-1), math.Inf(-1)}
	for i := range b.all {
		s := &b.all[i].box
		lo = vec{min(lo.x, s.min.x), min(lo.y, s.min.y)}
		hi = vec{max(hi.x, s.max.x), max(hi.y, s.max.y)}
	}
	b.min, b.max = lo.sub(vec{b.band, b.band}), hi.add(vec{b.band, b.band})
}

// gridOver returns numbers of cells for a box, nearly square ones.
func gridOver(size vec, cells int) (nx, ny int) {
	longest := math.Max(size.x, size.y)
	return max(4, int(math.Ceil(float64(cells)*size.x/longest))), max(4, int(math.Ceil(float64(cells)*size.y/longest)))
}

// block is a part of a grid: cells [x0, x1) × [y0, y1).
type block struct{ x0, y0, x1, y1 int }

func (k block) single() bool { return k.x1-k.x0 == 1 && k.y1-k.y0 == 1 }

// quarters calls f for the parts of the block.
func (k block) quarters(f func(block)) {
	xm, ym := (k.x0+k.x1+1)/2, (k.y0+k.y1+1)/2
	for _, q := range [4]block{{k.x0, k.y0, xm, ym}, {xm, k.y0, k.x1, ym}, {k.x0, ym, xm, k.y1}, {xm, ym, k.x1, k.y1}} {
		if q.x0 < q.x1 && q.y0 < q.y1 {
			f(q)
		}
	}
}

// middle returns the centre of the block and half its size, in nm.
func (b *fieldBuilder) middle(k block, invX, invY float64) (centre, half vec) {
	half = vec{float64(k.x1-k.x0) / (2 * invX), float64(k.y1-k.y0) / (2 * invY)}
	corner := vec{float64(k.x0) / invX, float64(k.y0) / invY}
	return b.min.add(corner).add(half), half
}

// fill decides the block, or its quarters. near holds the pieces of border that can
// be nearest in it, cut the sums that may pass through it; wholly says that it is
// known to be inside.
func (b *fieldBuilder) fill(k block, near, cut []uint16, wholly bool) {
	centre, half := b.middle(k, b.invX, b.invY)
	reach := half.length() * (1 + 1e-9)
	near, least := b.nearest(near, centre, reach)
	if !wholly {
		cut, wholly = b.passing(cut, centre, half)
	}
	outside := !wholly && len(cut) == 0
	kind := firstExact
	switch {
	case wholly:
		kind = inside
	case outside && least-reach > b.buffer:
		b.paint(k, free)
		return
	case outside && least+reach < b.buffer-1:
		kind = tooClose
	}
	switch {
	case kind != firstExact && (k.single() || len(near) <= 3):
		b.paint(k, kind)
		b.measureCorners(k, near, kind)
	case k.single():
		b.paint(k, firstExact+uint16(len(b.exact)))
		b.addExact(near, cut, centre, half)
	default:
		k.quarters(func(q block) { b.fill(q, near, cut, wholly) })
	}
}

func (b *fieldBuilder) paint(k block, kind uint16) {
	for y := k.y0; y < k.y1; y++ {
		for x := k.x0; x < k.x1; x++ {
			b.kinds[y*b.nx+x] = kind
		}
	}
}

// measureCorners fills in the depths at the corners of the block's cells.
func (b *fieldBuilder) measureCorners(k block, near []uint16, kind uint16) {
	for y := k.y0; y <= k.y1; y++ {
		for x := k.x0; x <= k.x1; x++ {
			q := b.min.add(vec{float64(x) / b.invX, float64(y) / b.invY})
			least := math.Inf(1)
			for _, s := range near {
				least = math.Min(least, b.border[s].distanceSq(q))
			}
			depth := b.buffer + math.Sqrt(least)
			if kind == tooClose {
				depth = b.buffer - math.Sqrt(least)
			}
			b.corners[y*(b.nx+1)+x] = float32(math.Max(depth, leastDepth))
		}
	}
}

// nearest keeps the pieces that can be nearest to a point within reach of the
// centre: a point p has d(p) ≥ d(centre) - reach for every piece and
// d(p) ≤ least + reach for the best.
func (b *fieldBuilder) nearest(near []uint16, centre vec, reach float64) ([]uint16, float64) {
	least := math.Inf(1)
	distances := make([]float64, len(near))
	for i, s := range near {
		distances[i] = math.Sqrt(b.border[s].distanceSq(centre))
		least = math.Min(least, distances[i])
	}
	kept := make([]uint16, 0, len(near))
	for i, s := range near {
		if distances[i] <= least+2*reach {
			kept = append(kept, s)
		}
	}
	return kept, least
}

// passing keeps the sums that meet the block; wholly is true when one covers it.
func (b *fieldBuilder) passing(cut []uint16, centre, half vec) (kept []uint16, wholly bool) {
	kept = make([]uint16, 0, len(cut))
	for _, s := range cut {
		least := math.Inf(1) // least height of a corner over any side
		meets := true
		for _, h := range b.all[s].sides {
			spread := math.Abs(h.nx)*half.x + math.Abs(h.ny)*half.y
			at := h.height(centre)
			if at+spread < -1 {
				meets = false
				break
			}
			least = math.Min(least, at-spread)
		}
		if meets && least > 1 {
			return nil, true
		}
		if meets {
			kept = append(kept, s)
		}
	}
	return kept, false
}

// addExact stores the lists of an exact cell.
func (b *fieldBuilder) addExact(near, cut []uint16, centre, half vec) {
	c := exactCell{near: b.addList(near), sums: int32(len(b.sums)), sides: int32(len(b.sides))}
	for _, s := range cut {
		n := int32(0)
		for _, h := range b.all[s].sides {
			if h.height(centre)-math.Abs(h.nx)*half.x-math.Abs(h.ny)*half.y > 1 {
				continue // holds in the whole cell
			}
			b.sides = append(b.sides, h.safe())
			n++
		}
		b.sums = append(b.sums, n)
	}
	b.sums = append(b.sums, 0)
	b.exact = append(b.exact, c)
}

func (b *fieldBuilder) addList(near []uint16) list {
	l := list{int32(len(b.lists)), int32(len(near))}
	b.lists = append(b.lists, near...)
	return l
}

// safe moves a slanted side out by slantNM, so that rounding errs towards overlap.
func (h halfPlane) safe() halfPlane {
	if h.nx != 0 && h.ny != 0 {
		h.c -= slantNM
	}
	return h
}

// fillNear fills the coarse grid of nearest pieces.
func (b *fieldBuilder) fillNear(k block, near []uint16) {
	centre, half := b.middle(k, b.near.invX, b.near.invY)
	near, least := b.nearest(near, centre, half.length()*(1+1e-9))
	if !k.single() {
		k.quarters(func(q block) { b.fillNear(q, near) })
		return
	}
	if b.isFarOut(centre, half, least) {
		return
	}
	b.near.cells[k.y0*b.near.nx+k.x0] = b.addList(near)
}

// isFarOut reports whether the cell is outside and beyond the band.
func (b *fieldBuilder) isFarOut(centre, half vec, least float64) bool {
	if least-half.length() <= b.band {
		return false
	}
	for i := range b.all {
		within := true
		for _, h := range b.all[i].sides {
			within = within && h.height(centre) > 0
		}
		if within {
			return false
		}
	}
	return true
}
