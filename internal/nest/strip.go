package nest

import "math"

// strip is the material a layout may use: its length, full sheets counted whole. In
// the solver all sheets lie in one row along x, pitch apart, so that pieces on
// different sheets never touch.
type strip struct {
	in     *instance
	length float64
}

// span is the stretch of x on one sheet where pieces may lie.
type span struct {
	lo, hi float64
	sheet  int
}

// spans returns the usable stretches, the last sheet cut to what is left of the length.
func (s strip) spans() []span {
	in := s.in
	if math.IsInf(in.sheet, 1) {
		return []span{{in.edge, s.length - in.edge, 0}}
	}
	var out []span
	for i := 0; float64(i)*in.sheet < s.length; i++ {
		start := float64(i) * in.pitch
		here := math.Min(in.sheet, s.length-float64(i)*in.sheet)
		out = append(out, span{start + in.edge, start + here - in.edge, i})
	}
	return out
}

// measure returns the length a piece needs when its far end lies at x: whole sheets
// before it and its own, with the margin at the cut end.
func (in *instance) measure(x float64) float64 {
	if math.IsInf(in.sheet, 1) {
		return x + in.edge
	}
	i := math.Floor(x / in.pitch)
	return i*in.sheet + x - i*in.pitch + in.edge
}

// bounds is where the corner of a pose may lie on one sheet.
type bounds struct {
	box
	lattice lattice
}

// boundsFor returns where the pose fits in the strip, sheet by sheet.
func (s strip) boundsFor(p *pose) []bounds {
	var out []bounds
	for _, sp := range s.spans() {
		b := bounds{s.in.boundsOf(*p, sp.lo, sp.hi), p.lattice}
		if p.lattice.dx != 0 {
			b.lattice.x0 += float64(sp.sheet) * s.in.pitch
		}
		if b.min.x <= b.max.x && b.min.y <= b.max.y {
			if _, ok := b.lattice.snapped(b.min, b.box); ok {
				out = append(out, b)
			}
		}
	}
	return out
}

// clamped returns the whole number in [lo, hi] nearest to v.
func clamped(v, lo, hi float64) float64 {
	switch {
	case v <= lo:
		return lo
	case v >= hi:
		return hi
	}
	return math.RoundToEven(v)
}

// nearestIn returns the allowed place nearest to p; ok is false when there is none.
func nearestIn(all []bounds, p vec) (vec, bool) {
	if len(all) == 1 && all[0].lattice.free() {
		b := &all[0]
		return vec{clamped(p.x, b.min.x, b.max.x), clamped(p.y, b.min.y, b.max.y)}, true
	}
	best, found, least := p, false, math.Inf(1)
	for i := range all {
		b := &all[i]
		gap := math.Max(0, math.Max(b.min.x-p.x, p.x-b.max.x))
		if gap >= least {
			continue
		}
		if at, ok := b.lattice.snapped(p, b.box); ok {
			best, found, least = at, true, gap
		}
	}
	return best, found
}
