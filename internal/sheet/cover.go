package sheet

import (
	"cmp"
	"math"
	"slices"

	"fairedge/internal/plane"
)

// span is a stretch of a line, mm; lo <= hi.
type span struct{ lo, hi float64 }

func (s span) size() float64 { return s.hi - s.lo }

// spans are stretches in order that do not touch.
type spans []span

// merged sorts the stretches and joins those that touch.
func merged(all []span) spans {
	slices.SortFunc(all, func(a, b span) int { return cmp.Compare(a.lo, b.lo) })
	out := all[:0]
	for _, s := range all {
		if n := len(out); n > 0 && s.lo <= out[n-1].hi {
			out[n-1].hi = math.Max(out[n-1].hi, s.hi)
		} else {
			out = append(out, s)
		}
	}
	return spans(out)
}

// union returns what lies in either, written over buf.
func (s spans) union(t, buf spans) spans {
	out := buf[:0]
	for len(s) > 0 || len(t) > 0 {
		var next span
		if len(t) == 0 || len(s) > 0 && s[0].lo <= t[0].lo {
			next, s = s[0], s[1:]
		} else {
			next, t = t[0], t[1:]
		}
		if n := len(out); n > 0 && next.lo <= out[n-1].hi {
			out[n-1].hi = math.Max(out[n-1].hi, next.hi)
		} else {
			out = append(out, next)
		}
	}
	return out
}

// windows lays windows of the given size over the stretches from the left, each
// beginning at the first place that is not shown yet, less the overlap; over a gap
// the next begins afresh. No other way needs fewer: every window reaches as far as
// any window can that shows its first place.
func (s spans) windows(size, overlap float64) []span {
	var out []span
	shown := math.Inf(-1)
	for _, part := range s {
		for part.hi > shown+1e-9 {
			from := part.lo
			if shown >= part.lo {
				from = shown - overlap
			}
			shown = from + size
			out = append(out, span{from, shown})
		}
	}
	return out
}

// count returns how many windows that are, without making them.
func (s spans) count(size, overlap float64) int {
	n := 0
	shown := math.Inf(-1)
	for _, part := range s {
		if part.hi <= shown+1e-9 {
			continue
		}
		from := part.lo
		if shown >= part.lo {
			from = shown - overlap
		}
		more := 1
		if over := part.hi - from - size; over > 1e-9 {
			more += int(math.Ceil(over/(size-overlap) - 1e-9))
		}
		n += more
		shown = from + size + float64(more-1)*(size-overlap)
	}
	return n
}

// axes turns places of the whole sheet into (u, v): u runs along the bands of pages,
// v from band to band, both in the order of the pages' names.
type axes int

const (
	rowsDown    axes = iota // bands lie across: u to the right, v downwards
	columnsOver             // bands stand upright: u downwards, v to the right
)

func (a axes) uv(p plane.Point) (u, v float64) {
	if a == rowsDown {
		return p.X, -p.Y
	}
	return -p.Y, p.X
}

func (a axes) rect(u, v span) plane.Rect {
	if a == rowsDown {
		return plane.Rect{Min: at(u.lo, -v.hi), Max: at(u.hi, -v.lo)}
	}
	return plane.Rect{Min: at(v.lo, -u.hi), Max: at(v.hi, -u.lo)}
}

// window returns the size of a page along u and v. A turned page lies on its side.
func (a axes) window(width, height float64, turned bool) (u, v float64) {
	if (a == rowsDown) != turned {
		return width, height
	}
	return height, width
}

// cover is the ground that pages must show, in thin strips along u: in each strip the
// stretches of u on which anything lies. It holds the middle of all lines and the
// inside of closed ones: a pattern piece is not a ring. (Half a line's width, 0.4 mm,
// may stand out into the margin.)
type cover struct {
	from   float64 // v of the first strip's beginning, mm
	to     float64 // v of the end of all that is drawn, inside the last strip
	tall   float64 // of each strip, mm
	strips []spans
}

// finestStrip is the usual height of a strip in mm. Bands of pages begin on strips, so
// that up to this much paper is given away at each; the time grows with its inverse.
// Of a drawing of more than mostStrips strips they are taller.
const (
	finestStrip = 0.25
	mostStrips  = 4000
)

// newCover returns the ground of the sheet's lines and areas.
// Strips are such that the overlap is a whole number of them.
func newCover(s Sheet, a axes, overlap float64) cover {
	rings := ringsOf(s, a)
	all := span{math.Inf(1), math.Inf(-1)}
	for _, r := range rings {
		for _, p := range r.points {
			all = span{math.Min(all.lo, p.v-r.reach), math.Max(all.hi, p.v+r.reach)}
		}
	}
	tall := math.Max(finestStrip, all.size()/mostStrips)
	if overlap > tall {
		tall = overlap / math.Floor(overlap/tall)
	}
	c := cover{from: all.lo, to: all.hi, tall: tall}
	raw := make([][]span, max(1, int(math.Ceil(all.size()/tall-1e-9))))
	for _, r := range rings {
		r.addEdges(c, raw)
		r.addInside(c, raw)
	}
	for _, strip := range raw {
		c.strips = append(c.strips, merged(strip))
	}
	return c
}

// place returns the v at which strip i begins; all ends where the last one does.
func (c cover) place(i int) float64 { return math.Min(c.to, c.from+float64(i)*c.tall) }

// strip returns the strip that v lies in, at least 0.
func (c cover) strip(v float64) int { return max(0, int(math.Floor((v-c.from)/c.tall+1e-9))) }

// onBand returns the stretches on which anything lies between two places.
func (c cover) onBand(v span) spans {
	var acc, spare spans
	last := min(len(c.strips), int(math.Ceil((v.hi-c.from)/c.tall-1e-9)))
	for i := c.strip(v.lo); i < last; i++ {
		acc, spare = acc.union(c.strips[i], spare), acc
	}
	return acc
}

type uvPoint struct{ u, v float64 }

// ring is a path as a polygon, within 0.02 mm.
type ring struct {
	points []uvPoint
	closed bool
	reach  float64 // the tolerance, mm
}

func ringsOf(s Sheet, a axes) []ring {
	var rings []ring
	add := func(points []plane.Point, closed bool, reach float64) {
		r := ring{closed: closed, reach: reach}
		for _, p := range points {
			u, v := a.uv(p)
			r.points = append(r.points, uvPoint{u, v})
		}
		rings = append(rings, r)
	}
	const tolerance = 0.02
	for _, item := range s.Items {
		switch item := item.(type) {
		case Stroke:
			add(item.Path.Flatten(tolerance), item.Path.IsClosed(), tolerance)
		case Area:
			for _, p := range item.Paths {
				add(p.Flatten(tolerance), true, tolerance)
			}
		}
	}
	return rings
}

// edges calls f for each side of the polygon.
func (r ring) edges(f func(p, q uvPoint)) {
	for i, p := range r.points {
		switch {
		case i+1 < len(r.points):
			f(p, r.points[i+1])
		case r.closed:
			f(p, r.points[0])
		}
	}
}

// addEdges adds the sides to the strips that they run through.
func (r ring) addEdges(c cover, raw [][]span) {
	r.edges(func(p, q uvPoint) {
		if p.v > q.v {
			p, q = q, p
		}
		for i := c.strip(p.v - r.reach); i <= min(len(raw)-1, c.strip(q.v+r.reach)); i++ {
			lo, hi := c.from+float64(i)*c.tall-r.reach, c.from+float64(i+1)*c.tall+r.reach
			a, b := p.u, q.u
			if q.v > p.v {
				at := func(v float64) float64 { return p.u + (q.u-p.u)*(v-p.v)/(q.v-p.v) }
				a, b = at(math.Max(lo, p.v)), at(math.Min(hi, q.v))
			}
			raw[i] = append(raw[i], span{math.Min(a, b) - r.reach, math.Max(a, b) + r.reach})
		}
	})
}

// addInside adds what lies inside a closed polygon on the middle line of every strip;
// with the sides that run through the strip this is all of the inside.
func (r ring) addInside(c cover, raw [][]span) {
	if !r.closed {
		return
	}
	crossings := make([][]float64, len(raw))
	r.edges(func(p, q uvPoint) {
		if p.v > q.v {
			p, q = q, p
		}
		for i := c.strip(p.v - c.tall); i <= min(len(raw)-1, c.strip(q.v)); i++ {
			if v := c.from + (float64(i)+0.5)*c.tall; p.v <= v && v < q.v {
				crossings[i] = append(crossings[i], p.u+(q.u-p.u)*(v-p.v)/(q.v-p.v))
			}
		}
	})
	for i, us := range crossings {
		slices.Sort(us)
		for k := 0; k+1 < len(us); k += 2 {
			raw[i] = append(raw[i], span{us[k], us[k+1]})
		}
	}
}
