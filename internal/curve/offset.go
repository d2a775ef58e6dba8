package curve

import (
	"math"
	"sort"

	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// Region is a part of the plane with true curves for its border.
type Region struct {
	// Outlines run counter-clockwise, the largest first; Holes run clockwise.
	Outlines, Holes []Border
	// WorstError is the greatest distance in mm, measured at 40 places on each fitted
	// cubic, between the border and the exact parallel curve.
	WorstError float64
}

// Border is one closed path of a region and where it came from.
type Border struct {
	Path
	// Sources has for each piece the index of the source piece it lies opposite, or
	// -1 for a piece of a corner.
	Sources []int
}

// Paths returns the outlines and then the holes.
func (r Region) Paths() []Path {
	var paths []Path
	for _, b := range append(append([]Border(nil), r.Outlines...), r.Holes...) {
		paths = append(paths, b.Path)
	}
	return paths
}

// Area returns the area in mm²: outlines less holes.
func (r Region) Area() float64 {
	sum := 0.0
	for _, p := range r.Paths() {
		sum += p.SignedArea()
	}
	return sum
}

// Outline returns the only border of a region in one part without holes, or an
// error that says how many there are.
func (r Region) Outline() (Border, error) {
	if len(r.Outlines) == 1 && len(r.Holes) == 0 {
		return r.Outlines[0], nil
	}
	return Border{}, problem.Newf(problem.Usage, "use a smaller allowance",
		"the offset outline falls into %d parts with %d holes", len(r.Outlines), len(r.Holes))
}

// OffsetOutline is Offset for an allowance that must leave one part without holes.
func (p Path) OffsetOutline(a Allowance, tolerance float64) (Border, error) {
	r, err := p.Offset(a, tolerance)
	if err != nil {
		return Border{}, err
	}
	return r.Outline()
}

// Offset returns the region inside the outline moved outward by the allowance
// (inward where it is negative). The path must be closed, counter-clockwise and
// must not cross itself.
//
// Lines give exact lines and curves give cubics that stay within tolerance (mm) of
// the exact parallel curve: this is measured at 40 places on each cubic and a
// margin added, not proven. Corners sharper than a degree or so (such that the
// choice shows within tolerance) are joined as the allowance says. Slots narrower
// than twice the allowance close, and may leave holes; where an inset exceeds the
// radius of a bend, the loop that would form is removed; where it exceeds the
// width of a neck, the region falls into parts. If nothing is left the error says
// so.
func (p Path) Offset(a Allowance, tolerance float64) (Region, error) {
	if err := p.checkForOffset(a, tolerance); err != nil {
		return Region{}, err
	}
	var fallback *Region
	for _, nudge := range nudges() {
		r, doubtful, err := newRawOffset(p, a, nudge*tolerance, tolerance).region()
		switch {
		case err != nil:
			continue
		case !doubtful:
			return r.orNothingLeft()
		case fallback == nil && r.isSimple():
			fallback = &r
		}
	}
	if fallback != nil {
		return fallback.orNothingLeft()
	}
	return Region{}, problem.New(problem.Internal, "the offset outline could not be untangled",
		"change the allowance by 0.1 mm")
}

// nudges are changes of the allowance, in tolerances, to be tried in turn. Outlines
// with exact coincidences (a slot of just twice the allowance, arcs that touch) can
// defeat the bookkeeping of crossings; a change that no one can measure removes them. Wider comes first: it closes slots and drops
// ridges of no width, which narrower would leave as hairs.
func nudges() []float64 { return []float64{0, 0.05, 0.09, -0.05, -0.09} }

func (r Region) isSimple() bool {
	for _, p := range r.Paths() {
		if !p.IsSimple() {
			return false
		}
	}
	return true
}

func (r Region) orNothingLeft() (Region, error) {
	if len(r.Outlines) == 0 {
		return Region{}, problem.New(problem.Usage, "the inset leaves nothing of the outline", "use a smaller inset")
	}
	return r, nil
}

// finestTolerance is the least tolerance in mm that an offset is made to: a ten
// thousandth of what a blade can follow, and well above rounding.
const finestTolerance = 1e-5

func (p Path) checkForOffset(a Allowance, tolerance float64) error {
	const redraw = "draw the outline again as one closed line that runs counter-clockwise and does not cross itself"
	if !(tolerance >= finestTolerance) {
		return problem.Newf(problem.Usage, "use 0.001 mm or more", "an offset cannot be made to %g mm", tolerance)
	}
	if p.IsEmpty() || !p.closed {
		return problem.New(problem.Usage, "only a closed outline can be offset", redraw)
	}
	if err := p.Validate(); err != nil {
		return problem.New(problem.Usage, "the outline to offset is broken", redraw).Because(err)
	}
	if err := a.check(len(p.segments)); err != nil {
		return err
	}
	if !p.IsCounterClockwise() {
		return problem.New(problem.Usage, "the outline to offset runs clockwise", redraw)
	}
	if at := p.SelfCrossings(); len(at) > 0 {
		return problem.Newf(problem.Usage, redraw,
			"the outline to offset crosses itself near %.1f, %.1f mm", at[0].X, at[0].Y)
	}
	return nil
}

// region resolves the raw loop and sorts the borders into outlines and holes. It drops
// slivers thinner than the tolerance and loops turned inside out. It is doubtful if a
// border lies in part within the allowance.
func (raw *rawOffset) region() (r Region, doubtful bool, err error) {
	loops, err := raw.resolve()
	if err != nil {
		return Region{}, false, err
	}
	r.WorstError = raw.worst
	for _, b := range loops {
		area := b.SignedArea()
		if math.Abs(area) <= raw.tolerance*b.ArcLength(raw.tolerance)/2 {
			continue
		}
		deep, asked := raw.deepSamples(b)
		if 2*deep > asked {
			continue // false
		}
		doubtful = doubtful || deep > 0
		if area > 0 {
			r.Outlines = append(r.Outlines, b)
		} else {
			r.Holes = append(r.Holes, b)
		}
	}
	bySize := func(b []Border) {
		sort.SliceStable(b, func(i, j int) bool { return math.Abs(b[i].SignedArea()) > math.Abs(b[j].SignedArea()) })
	}
	bySize(r.Outlines)
	bySize(r.Holes)
	return r, doubtful, nil
}

// deepSamples counts the samples of the loop that lie within the allowance of the
// seam, or on its other side. An inset larger than the shape turns the whole parallel
// curve inside out, and the loop runs counter-clockwise again though it bounds no part
// of the region. Such loops are false all along, true ones nowhere; so most samples
// decide. The sides of steps and corners stand square on the seam at its joints, where
// the depth means nothing, and are not asked.
func (raw *rawOffset) deepSamples(b Border) (deep, asked int) {
	slack := 10*raw.tolerance + 1e-3
	for i, s := range b.segments {
		if b.Sources[i] < 0 {
			continue
		}
		for _, t := range [3]float64{0.25, 0.5, 0.75} {
			asked++
			q := s.At(t)
			if raw.depth(q) > slack || raw.isAcross(q, raw.allowances[b.Sources[i]], slack) {
				deep++
			}
		}
	}
	return deep, asked
}

// isAcross reports whether q lies on the other side of the seam than the allowance
// says, by more than slack.
func (raw *rawOffset) isAcross(q plane.Point, d, slack float64) bool {
	if d == 0 || raw.source.Contains(q) == (d < 0) {
		return false
	}
	_, away := raw.source.Nearest(q)
	return away > slack
}

// depth returns how deep, in mm, q lies within the strips between the source
// pieces and their parallels: positive inside.
func (raw *rawOffset) depth(q plane.Point) float64 {
	deepest := math.Inf(-1)
	var buffer [8]float64
	for i, s := range raw.source.segments {
		d := raw.allowances[i]
		if d == 0 || boxDistance(s.hull(), q) > math.Abs(d) {
			continue
		}
		for _, t := range s.feet(q, buffer[:0]) {
			away := q.Sub(s.At(t))
			if away.Dot(s.OutwardNormal(t))*d > 0 {
				deepest = math.Max(deepest, math.Abs(d)-away.Length())
			}
		}
	}
	return deepest
}
