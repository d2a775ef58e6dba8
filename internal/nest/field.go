package nest

import "math"

// field answers in a few nanoseconds how deep two outlines overlap at a displacement
// q of the second from the first: the distance of q to the border of their no-fit
// polygon when q is inside (the least motion that parts them), plus the buffer that
// is wanted between them. It is exact up to rounding: a grid of cells over the
// no-fit polygon keeps, for every cell, the pieces of border that can be nearest to
// a point of it, and for cells on the border the sides that decide whether a point
// is inside.
type field struct {
	min, max   vec // beyond this box nothing is near
	invX, invY float64
	nx, ny     int
	cells      []cell
	segments   []segment
	sides      []halfPlane
	sums       []int32 // numbers of sides of the sums in a mixed cell, each list ended by 0
	buffer     float64
	border     []segment // the whole border, for laying by its corners
}

// cell is what is known of one cell of the grid.
type cell struct {
	segment int32 // the first of its pieces of border
	sums    int32 // mixed cells: the first of its sums
	sides   int32 // mixed cells: the first of its sides
	n       uint8 // how many pieces
	kind    cellKind
}

type cellKind uint8

const (
	far    cellKind = iota // all points are further out than the band
	out                    // all points are outside
	inside                 // all points are inside
	mixed                  // the border runs through
)

const (
	// slantNM: where the border is slanted, positions within this of it count as
	// overlapping, so that rounding can never hide an overlap. Upright borders need
	// none: heights over them are exact.
	slantNM = 0.25
	// maxNear caps the pieces of border of one cell (they are counted in a byte).
	maxNear = 255
)

// newField returns the field of the outlines A and B given by their convex parts.
// band (nm) is how far outside the distance to contact is still told; cells is the
// wished number of cells along the longer side, a power of two: more are faster to
// ask and slower to build.
func newField(a, b []ring, buffer, band float64, cells int) *field {
	var sums []sum
	for _, p := range a {
		for _, q := range b {
			sums = append(sums, newSum(convexSum(p, q)))
		}
	}
	f := &field{border: border(sums), buffer: buffer}
	f.lieOver(sums, math.Max(buffer, band), cells)
	b0 := fieldBuilder{field: f, all: sums, band: math.Max(buffer, band)}
	b0.start(cells)
	return f
}

// lieOver sets the box and the grid.
func (f *field) lieOver(sums []sum, band float64, cells int) {
	f.min, f.max = vec{math.Inf(1), math.Inf(1)}, vec{math.Inf(-1), math.Inf(-1)}
	for _, s := range sums {
		f.min = vec{math.Min(f.min.x, s.box.min.x), math.Min(f.min.y, s.box.min.y)}
		f.max = vec{math.Max(f.max.x, s.box.max.x), math.Max(f.max.y, s.box.max.y)}
	}
	f.min, f.max = f.min.sub(vec{band, band}), f.max.add(vec{band, band})
	f.nx, f.ny = cells, cells
	size := f.max.sub(f.min)
	for f.nx > 8 && size.x/float64(f.nx)*1.5 < size.y/float64(f.ny) {
		f.nx /= 2
	}
	for f.ny > 8 && size.y/float64(f.ny)*1.5 < size.x/float64(f.nx) {
		f.ny /= 2
	}
	f.invX, f.invY = float64(f.nx)/size.x, float64(f.ny)/size.y
	f.cells = make([]cell, f.nx*f.ny)
}

// depth returns by how much the outlines overlap at q, in nm, or fall short of the
// buffer; 0 when they do neither.
func (f *field) depth(q vec) float64 {
	d, _ := f.signed(q)
	if d < slantNM {
		return 0
	}
	return d
}

// signed returns the depth of q, negative as far as q is clear of contact, and the
// index of the nearest piece of border, or -1 where q is too far out to matter.
func (f *field) signed(q vec) (depth float64, nearest int) {
	x, y := q.x-f.min.x, q.y-f.min.y
	if x <= 0 || y <= 0 || q.x >= f.max.x || q.y >= f.max.y {
		return math.Inf(-1), -1
	}
	ix, iy := min(int(x*f.invX), f.nx-1), min(int(y*f.invY), f.ny-1)
	c := &f.cells[iy*f.nx+ix]
	if c.kind == far {
		return math.Inf(-1), -1
	}
	least := math.Inf(1)
	first := int(c.segment)
	for i := first; i < first+int(c.n); i++ {
		s := &f.segments[i]
		dx, dy := q.x-s.a.x, q.y-s.a.y
		t := dx*s.u.x + dy*s.u.y
		var d2 float64
		switch {
		case t <= 0:
			d2 = dx*dx + dy*dy
		case t >= s.l:
			ex, ey := dx-s.l*s.u.x, dy-s.l*s.u.y
			d2 = ex*ex + ey*ey
		default:
			h := dx*s.u.y - dy*s.u.x
			d2 = h * h
		}
		if d2 < least {
			least, nearest = d2, i
		}
	}
	d := math.Sqrt(least)
	if c.kind == inside || (c.kind == mixed && f.insideMixed(c, q)) {
		return math.Max(d, 2*slantNM) + f.buffer, nearest
	}
	return f.buffer - d, nearest
}

// insideMixed reports whether q, in a mixed cell, lies in one of the open sums.
func (f *field) insideMixed(c *cell, q vec) bool {
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

// wayOut returns the unit direction from q to the nearest point of the border when q
// overlaps (moving along it by depth reaches contact) and away from it when q is
// clear (moving along it by the negative depth reaches contact as well).
func (f *field) wayOut(q vec, depth float64, nearest int) vec {
	s := &f.segments[nearest]
	t := math.Max(0, math.Min(s.l, q.sub(s.a).dot(s.u)))
	to := s.a.add(s.u.scale(t)).sub(q)
	if depth <= f.buffer {
		to = to.scale(-1)
	}
	l := to.length()
	if l < 1 {
		return vec{s.u.y, -s.u.x}
	}
	return to.scale(1 / l)
}
