package nest

import "math"

// fieldBuilder fills the grid of a field by halving: a quarter of the grid keeps of
// its parent's lists what can still matter in it, so that the lists shrink quickly
// and whole quarters far inside or outside end at once.
type fieldBuilder struct {
	*field
	all  []sum
	band float64
}

// block is a part of the grid: cells [x0, x1) × [y0, y1).
type block struct{ x0, y0, x1, y1 int }

func (b *fieldBuilder) start(cells int) {
	near := make([]int32, len(b.border))
	for i := range near {
		near[i] = int32(i)
	}
	cut := make([]int32, len(b.all))
	for i := range cut {
		cut[i] = int32(i)
	}
	b.fill(block{0, 0, b.nx, b.ny}, near, cut, false)
}

// middle returns the centre of the block and half its diagonal, in nm.
func (b *fieldBuilder) middle(k block) (vec, vec) {
	half := vec{float64(k.x1-k.x0) / (2 * b.invX), float64(k.y1-k.y0) / (2 * b.invY)}
	corner := vec{float64(k.x0) / b.invX, float64(k.y0) / b.invY}
	return b.min.add(corner).add(half), half
}

// fill decides the block, or its quarters. near holds the pieces of border, cut the
// sums that may pass through it; wholly says that it is known to be inside.
func (b *fieldBuilder) fill(k block, near, cut []int32, wholly bool) {
	centre, half := b.middle(k)
	reach := half.length() * (1 + 1e-9)
	near, least := b.nearest(near, centre, reach)
	if !wholly {
		cut, wholly = b.passing(cut, centre, half)
	}
	kind := mixed
	switch {
	case wholly:
		kind = inside
	case len(cut) == 0 && least-reach > b.band:
		b.paint(k, cell{kind: far})
		return
	case len(cut) == 0:
		kind = out
	}
	single := k.x1-k.x0 == 1 && k.y1-k.y0 == 1
	if single || (kind != mixed && len(near) <= 1 && (kind == inside || least+reach <= b.band)) {
		b.paint(k, b.cellOf(kind, near, cut, centre, half))
		return
	}
	xm, ym := (k.x0+k.x1+1)/2, (k.y0+k.y1+1)/2
	for _, q := range []block{{k.x0, k.y0, xm, ym}, {xm, k.y0, k.x1, ym}, {k.x0, ym, xm, k.y1}, {xm, ym, k.x1, k.y1}} {
		if q.x0 < q.x1 && q.y0 < q.y1 {
			b.fill(q, near, cut, wholly)
		}
	}
}

func (b *fieldBuilder) paint(k block, c cell) {
	for y := k.y0; y < k.y1; y++ {
		for x := k.x0; x < k.x1; x++ {
			b.cells[y*b.nx+x] = c
		}
	}
}

// nearest keeps the pieces that can be nearest to a point within reach of the
// centre: a point p has d(p) ≥ d(centre) - reach for every piece and
// d(p) ≤ least + reach for the best.
func (b *fieldBuilder) nearest(near []int32, centre vec, reach float64) ([]int32, float64) {
	least := math.Inf(1)
	distances := make([]float64, len(near))
	for i, s := range near {
		distances[i] = b.border[s].distance(centre)
		least = math.Min(least, distances[i])
	}
	kept := make([]int32, 0, len(near))
	for i, s := range near {
		if distances[i] <= least+2*reach {
			kept = append(kept, s)
		}
	}
	return kept, least
}

// passing keeps the sums that meet the block; wholly is true when one covers it.
func (b *fieldBuilder) passing(cut []int32, centre, half vec) (kept []int32, wholly bool) {
	kept = make([]int32, 0, len(cut))
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

// cellOf stores the lists of a cell. Pieces beyond maxNear are dropped from the
// furthest on: the depth is then an upper bound, the sign stays exact.
func (b *fieldBuilder) cellOf(kind cellKind, near, cut []int32, centre, half vec) cell {
	c := cell{kind: kind, segment: int32(len(b.segments)), n: uint8(min(len(near), maxNear))}
	for _, s := range near[:c.n] {
		b.segments = append(b.segments, b.border[s])
	}
	if kind != mixed {
		return c
	}
	c.sums, c.sides = int32(len(b.sums)), int32(len(b.sides))
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
	return c
}

// safe moves a slanted side out by slantNM, so that rounding errs towards overlap.
func (h halfPlane) safe() halfPlane {
	if h.nx != 0 && h.ny != 0 {
		h.c -= slantNM
	}
	return h
}

// distance returns the distance of q to the piece of border, in nm.
func (s *segment) distance(q vec) float64 {
	d := q.sub(s.a)
	t := d.dot(s.u)
	switch {
	case t <= 0:
		return d.length()
	case t >= s.l:
		return q.sub(s.end()).length()
	}
	return math.Abs(d.cross(s.u))
}
