package cloth

import (
	"math"
	"slices"

	"fairedge/internal/nest"
	"fairedge/internal/nest/nestcheck"
	"fairedge/internal/plane"
)

// A search leaves pieces wherever there was room: hard to chalk. Tidying moves them, one
// after the other, to the lowest free place at the start, then at the left, that lines up
// with the borders or with another piece's box. No move makes the lay longer.

// tidier lays the solver's pieces in order. Its frame is the solver's: x along the cloth,
// y to the left; places are whole nanometres in mm.
type tidier struct {
	problem  *nest.Problem
	result   *nest.Result
	outlines [][]plane.Point
	boxes    []plane.Rect
	upright  []bool // the outline is its box
	work     int    // left, in comparisons
}

// tidyWork bounds the comparisons of boxes and of edges in tidying: a fraction of a second.
// What is not reached in a large lay stays where the search left it.
const tidyWork = 8_000_000

// tidyPasses bounds how often all pieces are looked at; the second pass seldom moves any.
const tidyPasses = 3

// clearOfCurves is what two outlines keep apart that are not both boxes, where no gap is
// asked for, mm: so that rounding cannot make them overlap.
const clearOfCurves = 0.001

// tidy returns the lay tidied; where the proof of the new lay fails, the old one.
func tidy(p *nest.Problem, r *nest.Result) *nest.Result {
	if p.SheetLength > 0 {
		return r
	}
	t := &tidier{problem: p, result: &nest.Result{}, work: tidyWork}
	*t.result = *r
	t.result.Placements = slices.Clone(r.Placements)
	for _, at := range r.Placements {
		outline := p.Outline(at)
		t.outlines = append(t.outlines, outline)
		t.boxes = append(t.boxes, boxOf(outline))
		t.upright = append(t.upright, isBox(outline))
	}
	for range tidyPasses {
		if !t.pass() {
			break
		}
	}
	used := 0.0
	for _, b := range t.boxes {
		used = math.Max(used, b.Max.X)
	}
	t.result.UsedLength = nanometres(used)
	if t.result.UsedLength > nanometres(r.UsedLength) || proveLay(p, t.result) != nil {
		return r
	}
	return t.result
}

// isBox reports whether an outline is an upright rectangle.
func isBox(outline []plane.Point) bool {
	b := boxOf(outline)
	return len(outline) == 4 && math.Abs(math.Abs(areaOf(outline))-b.Width()*b.Height()) < 1e-6
}

// pass looks at every piece once, from the start and the left; false when none moved.
func (t *tidier) pass() bool {
	order := make([]int, len(t.boxes))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if d := t.boxes[a].Min.X - t.boxes[b].Min.X; math.Abs(d) > 1 {
			return sign(d)
		}
		return sign(t.boxes[b].Max.Y - t.boxes[a].Max.Y)
	})
	moved := false
	for _, k := range order {
		if t.work > 0 && t.problem.Items[t.result.Placements[k].Item].Repeat == nil && t.settle(k) {
			moved = true
		}
	}
	return moved
}

// settle moves piece k to the first free place of those that line up.
func (t *tidier) settle(k int) bool {
	b := t.boxes[k]
	xs, ys := t.places(k)
	for _, x := range xs {
		if x > b.Min.X {
			break
		}
		for _, y := range ys {
			if x == b.Min.X && y <= b.Min.Y || t.work <= 0 {
				break
			}
			if t.isFree(k, plane.Vec{X: nanometres(x - b.Min.X), Y: nanometres(y - b.Min.Y)}) {
				t.move(k, plane.Vec{X: nanometres(x - b.Min.X), Y: nanometres(y - b.Min.Y)})
				return true
			}
		}
	}
	return false
}

func nanometres(mm float64) float64 { return math.Round(mm*1e6) / 1e6 }

// places returns where the lower corner of the box of piece k may come: from the start
// on, and from the left.
func (t *tidier) places(k int) (xs, ys []float64) {
	b, gap := t.boxes[k], t.problem.Buffer
	xs = []float64{0, b.Min.X}
	ys = []float64{t.problem.Width - b.Height(), 0, b.Min.Y}
	for j, o := range t.boxes {
		if j != k {
			xs = append(xs, o.Max.X+gap, o.Min.X)
			ys = append(ys, o.Min.Y-gap-b.Height(), o.Max.Y+gap, o.Max.Y-b.Height())
		}
	}
	slices.Sort(xs)
	slices.Sort(ys)
	slices.Reverse(ys)
	return slices.Compact(xs), slices.Compact(ys)
}

// isFree reports whether piece k may be moved by v.
func (t *tidier) isFree(k int, v plane.Vec) bool {
	b := plane.Rect{Min: t.boxes[k].Min.Add(v), Max: t.boxes[k].Max.Add(v)}
	if b.Min.X < 0 || b.Min.Y < 0 || nanometres(b.Max.Y) > t.problem.Width {
		return false
	}
	gap := t.problem.Buffer
	t.work -= len(t.boxes) / 4
	for j, o := range t.boxes {
		if j == k || nanometres(o.Min.X-b.Max.X) >= gap || nanometres(b.Min.X-o.Max.X) >= gap ||
			nanometres(o.Min.Y-b.Max.Y) >= gap || nanometres(b.Min.Y-o.Max.Y) >= gap {
			continue
		}
		if t.upright[k] && t.upright[j] || contains(t.outlines[j], b.Centre()) || contains(t.outlines[k], o.Centre().Add(v.Neg())) {
			return false
		}
		t.work -= len(t.outlines[k]) * len(t.outlines[j])
		if !apart(t.outlines[k], v, t.outlines[j], math.Max(gap, clearOfCurves)) {
			return false
		}
	}
	return true
}

func (t *tidier) move(k int, v plane.Vec) {
	at := &t.result.Placements[k].At
	*at = plane.Vec{X: nanometres(at.X + v.X), Y: nanometres(at.Y + v.Y)}
	t.outlines[k] = t.problem.Outline(t.result.Placements[k])
	t.boxes[k] = boxOf(t.outlines[k])
}

// apart reports whether outline a, moved by v, and outline b keep at least a distance.
func apart(a []plane.Point, v plane.Vec, b []plane.Point, distance float64) bool {
	if contains(b, a[0].Add(v)) || contains(a, b[0].Add(v.Neg())) {
		return false
	}
	near := boxOf(a)
	near = plane.Rect{Min: near.Min.Add(v), Max: near.Max.Add(v)}.Grow(distance)
	for j := range b {
		q0, q1 := b[j], b[(j+1)%len(b)]
		if math.Max(q0.X, q1.X) < near.Min.X || math.Min(q0.X, q1.X) > near.Max.X || math.Max(q0.Y, q1.Y) < near.Min.Y || math.Min(q0.Y, q1.Y) > near.Max.Y {
			continue
		}
		for i := range a {
			if segmentsNear(a[i].Add(v), a[(i+1)%len(a)].Add(v), q0, q1, distance) {
				return false
			}
		}
	}
	return true
}

// contains reports whether a point lies inside a polygon, by its crossings with a ray.
func contains(polygon []plane.Point, q plane.Point) bool {
	inside := false
	for i, a := range polygon {
		b := polygon[(i+1)%len(polygon)]
		if (a.Y > q.Y) != (b.Y > q.Y) && q.X < a.X+(q.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			inside = !inside
		}
	}
	return inside
}

// segmentsNear reports whether two segments come nearer than a distance.
func segmentsNear(a, b, c, d plane.Point, distance float64) bool {
	if math.Max(a.X, b.X)+distance < math.Min(c.X, d.X) || math.Max(c.X, d.X)+distance < math.Min(a.X, b.X) ||
		math.Max(a.Y, b.Y)+distance < math.Min(c.Y, d.Y) || math.Max(c.Y, d.Y)+distance < math.Min(a.Y, b.Y) {
		return false
	}
	ab, cd := b.Sub(a), d.Sub(c)
	if ab.Cross(c.Sub(a))*ab.Cross(d.Sub(a)) < 0 && cd.Cross(a.Sub(c))*cd.Cross(b.Sub(c)) < 0 {
		return true
	}
	least := distance * distance
	return toSegmentSq(a, c, d) < least || toSegmentSq(b, c, d) < least || toSegmentSq(c, a, b) < least || toSegmentSq(d, a, b) < least
}

// toSegmentSq returns the square of the distance of a point from a segment, mm².
func toSegmentSq(q, a, b plane.Point) float64 {
	ab := b.Sub(a)
	l := ab.LengthSq()
	if l == 0 {
		return q.DistanceSqTo(a)
	}
	return q.DistanceSqTo(a.Lerp(b, math.Min(1, math.Max(0, q.Sub(a).Dot(ab)/l))))
}

// proveLay hands a lay to the independent check.
func proveLay(p *nest.Problem, r *nest.Result) error {
	lay := nestcheck.Lay{Width: p.Width, SheetLength: p.SheetLength, UsedLength: r.UsedLength, Sheets: r.Sheets, Buffer: p.Buffer, EdgeBuffer: p.EdgeBuffer}
	for _, it := range p.Items {
		item := nestcheck.Item{Name: it.Name, Outline: it.Outline, Demand: it.Demand, Turns: it.Turns, Flip: it.Flip}
		if q := it.Repeat; q != nil {
			item.Repeat = &nestcheck.Repeat{Reference: q.Reference, Along: q.Along, AlongOffset: q.AlongOffset,
				Across: q.Across, AcrossOffset: q.AcrossOffset, HalfDrop: q.HalfDrop}
		}
		lay.Items = append(lay.Items, item)
	}
	for _, at := range r.Placements {
		lay.Pieces = append(lay.Pieces, nestcheck.Piece{Item: at.Item, Degrees: at.Degrees, Flipped: at.Flipped, Sheet: at.Sheet, At: at.At})
	}
	return nestcheck.Check(&lay)
}
