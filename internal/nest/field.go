package nest

import "math"

// field answers in a few nanoseconds how deep two outlines overlap at a displacement
// q of the second from the first. The depth is the distance of q to the border of
// their no-fit polygon when q is inside (the least motion that parts them) plus the
// buffer wanted between them; outside it is what the distance lacks of the buffer.
// (Behind a hollow corner of the border the buffer may ask for more: with a buffer the
// depth is a lower bound of the least motion. Zero is always exact.)
//
// A grid lies over the no-fit polygon. In most cells all displacements are free, or
// all overlap and the depth is read between the four corners of the cell (close
// enough for a search, and small in memory: the answer is mostly a matter of cache
// misses). The cells where overlap ends keep the pieces of border that can be nearest
// and the sides that decide what is inside: there the answer is exact.
type field struct {
	min, max   vec // beyond this box nothing is near
	invX, invY float64
	nx, ny     int
	kinds      []uint16    // of each cell
	corners    []float32   // depth at the corners of the cells, (nx+1) × (ny+1)
	exact      []exactCell // cells of kind firstExact, firstExact+1, ...
	near       nearGrid    // which pieces of border can be nearest
	lists      []uint16    // lists of pieces of border
	sums       []int32     // numbers of sides of the sums in an exact cell, each list ended by 0
	sides      []halfPlane // sides, sum by sum
	border     []segment   // all pieces of border
	buffer     float64
}

// Kinds of cells.
const (
	free       uint16 = iota // no overlap, and the buffer is kept
	inside                   // all points are inside
	tooClose                 // all points are outside and nearer than the buffer
	firstExact               // it depends
)

// list is a stretch of field.lists.
type list struct{ first, n int32 }

type exactCell struct {
	near        list
	sums, sides int32 // the first ones
}

// nearGrid is a coarse grid over the box of the field: for each of its cells the
// pieces of border that can be nearest to a point of it.
type nearGrid struct {
	invX, invY float64
	nx, ny     int
	cells      []list
}

const (
	// slantNM: where the border is slanted, positions within this of it count as
	// overlapping, so that rounding can never hide an overlap. Upright borders need
	// none: heights over them are exact.
	slantNM = 0.25
	// leastDepth is the least depth of an overlap, nm.
	leastDepth = 2 * slantNM
)

// depth returns by how much the outlines overlap at q, in nm, or fall short of the
// buffer; 0 when they do neither.
func (f *field) depth(q vec) float64 {
	x, y := (q.x-f.min.x)*f.invX, (q.y-f.min.y)*f.invY
	ix, iy := int(x), int(y)
	if !(x > 0 && y > 0) || ix >= f.nx || iy >= f.ny {
		return 0
	}
	kind := f.kinds[iy*f.nx+ix]
	if kind == free {
		return 0
	}
	if kind >= firstExact {
		return f.exactDepth(&f.exact[kind-firstExact], q)
	}
	x -= float64(ix)
	y -= float64(iy)
	row := f.corners[iy*(f.nx+1)+ix:]
	below := float64(row[0]) + x*float64(row[1]-row[0])
	row = row[f.nx+1:]
	above := float64(row[0]) + x*float64(row[1]-row[0])
	return below + y*(above-below)
}

// exactDepth is depth in a cell where overlap ends.
func (f *field) exactDepth(c *exactCell, q vec) float64 {
	if f.insideExact(c, q) {
		d, _ := f.distance(c.near, q)
		if d < leastDepth {
			d = leastDepth
		}
		return d + f.buffer
	}
	if f.buffer == 0 {
		return 0
	}
	d, _ := f.distance(c.near, q)
	if d > f.buffer-slantNM {
		return 0
	}
	return f.buffer - d
}

// distance returns the distance of q to the nearest listed piece of border, and which.
func (f *field) distance(l list, q vec) (d float64, nearest int) {
	least := math.Inf(1)
	for _, i := range f.lists[l.first : l.first+l.n] {
		if d2 := f.border[i].distanceSq(q); d2 < least {
			least, nearest = d2, int(i)
		}
	}
	return math.Sqrt(least), nearest
}

// distanceSq returns the square of the distance of q to the piece of border, nm².
func (s *segment) distanceSq(q vec) float64 {
	dx, dy := q.x-s.a.x, q.y-s.a.y
	t := dx*s.u.x + dy*s.u.y
	switch {
	case t <= 0:
		return dx*dx + dy*dy
	case t >= s.l:
		dx -= s.l * s.u.x
		dy -= s.l * s.u.y
		return dx*dx + dy*dy
	}
	h := dx*s.u.y - dy*s.u.x
	return h * h
}

// insideExact reports whether q, in an exact cell, lies in one of the open sums.
func (f *field) insideExact(c *exactCell, q vec) bool {
	k := int(c.sides)
	for i := int(c.sums); f.sums[i] > 0; i++ {
		n := int(f.sums[i])
		within := true
		for _, h := range f.sides[k : k+n] {
			if h.height(q) <= 0 {
				within = false
				break
			}
		}
		if within {
			return true
		}
		k += n
	}
	return false
}

// touch returns how the outlines can be brought to just touch (with the buffer
// between them): by moving q by depth along the unit vector n. Depth is negative where
// they are clear. ok is false further out than the band.
func (f *field) touch(q vec) (n vec, depth float64, ok bool) {
	x, y := q.x-f.min.x, q.y-f.min.y
	if x <= 0 || y <= 0 || q.x >= f.max.x || q.y >= f.max.y {
		return vec{}, 0, false
	}
	kind := f.kinds[min(int(y*f.invY), f.ny-1)*f.nx+min(int(x*f.invX), f.nx-1)]
	g := &f.near
	l := g.cells[min(int(y*g.invY), g.ny-1)*g.nx+min(int(x*g.invX), g.nx-1)]
	if l.n == 0 {
		return vec{}, 0, false
	}
	d, nearest := f.distance(l, q)
	within := kind == inside || (kind >= firstExact && f.insideExact(&f.exact[kind-firstExact], q))
	s := &f.border[nearest]
	t := math.Max(0, math.Min(s.l, q.sub(s.a).dot(s.u)))
	n = s.a.add(s.u.scale(t)).sub(q)
	if within {
		depth = math.Max(d, leastDepth) + f.buffer
	} else {
		n, depth = n.scale(-1), f.buffer-d
	}
	if d < 1 || (t > 0 && t < s.l && (s.u.x == 0 || s.u.y == 0)) {
		return vec{s.u.y, -s.u.x}, depth, true // exact, and sound where n has no length
	}
	return n.scale(1 / d), depth, true
}
