package nest

import "math"

// lattice holds the places where the corner of a form may lie so that the motif of
// the cloth falls on the piece's reference point: x = x0 + i·dx, y = y0 + j·dy, and
// with a half drop x0 moves by dx/2 in every odd column j. A step of 0 leaves the
// direction free; the zero lattice leaves both free.
type lattice struct {
	x0, dx, y0, dy float64
	half           bool
}

// newLattice returns the lattice of a form's corner: the reference point turns with
// the piece and lies at reference - shift from the corner.
func newLattice(r *Repeat, degrees float64, flipped bool, shift vec) lattice {
	ref := turned([]vec{{toNM(r.Reference.X), toNM(r.Reference.Y)}}, degrees, flipped)[0].sub(shift)
	return lattice{
		x0: toNM(r.AlongOffset) - ref.x, dx: toNM(r.Along),
		y0: toNM(r.AcrossOffset) - ref.y, dy: toNM(r.Across), half: r.HalfDrop,
	}
}

func (l *lattice) free() bool { return l.dx == 0 && l.dy == 0 }

// snapped returns the place of the lattice inside the bounds that is nearest to p
// (first across, then along); ok is false when there is none.
func (l *lattice) snapped(p vec, bounds box) (at vec, ok bool) {
	j := 0.0
	at.y, j, ok = nearestStep(p.y, l.y0, l.dy, bounds.min.y, bounds.max.y)
	if !ok {
		return p, false
	}
	x0 := l.x0
	if l.half && math.Mod(j, 2) != 0 {
		x0 += l.dx / 2
	}
	at.x, _, ok = nearestStep(p.x, x0, l.dx, bounds.min.x, bounds.max.x)
	if !ok && l.half { // the neighbouring column may still have room
		for _, dj := range []float64{1, -1} {
			y := l.y0 + (j+dj)*l.dy
			if y < bounds.min.y || y > bounds.max.y {
				continue
			}
			x0 := l.x0
			if math.Mod(j+dj, 2) != 0 {
				x0 += l.dx / 2
			}
			if x, _, fits := nearestStep(p.x, x0, l.dx, bounds.min.x, bounds.max.x); fits {
				return vec{x, math.RoundToEven(y)}, true
			}
		}
	}
	return at, ok
}

// nearestStep returns the value start + k·step in [lo, hi] nearest to v, whole.
func nearestStep(v, start, step, lo, hi float64) (value, k float64, ok bool) {
	if lo > hi {
		return v, 0, false
	}
	if step == 0 {
		return math.RoundToEven(math.Min(math.Max(v, lo), hi)), 0, true
	}
	first, last := math.Ceil((lo-start)/step), math.Floor((hi-start)/step)
	if first > last {
		return v, 0, false
	}
	k = math.Min(math.Max(math.Round((v-start)/step), first), last)
	return math.RoundToEven(start + k*step), k, true
}
