package detect

import (
	"math"
	"sort"

	"fairedge/internal/plane"
)

// course is the way of the edge as known so far: a closed chain with its
// corners, at which smoothing and normals stop.
type course struct {
	chain
	corner []bool
	gap    []bool // the search saw no ink here
	sheet  []bool // along the sheet's edge
}

// newCourse starts a course from a candidate: resampled finely, corners found,
// and between them smoothed strongly enough to lose the steps of the pixels and
// most of the bumps of writing that touches the line.
func newCourse(c candidate, params EdgeParams) *course {
	fine, from := c.course.resample(0.5)
	w := &course{chain: fine, corner: make([]bool, len(fine)), gap: make([]bool, len(fine)), sheet: make([]bool, len(fine))}
	for i, f := range from {
		k := int(f)
		w.gap[i], w.sheet[i] = c.bridged[k], c.sheet[k]
	}
	for i := range w.sheet {
		if w.sheet[i] != w.sheet[wrap(i+1, len(fine))] {
			w.corner[i] = true
		}
	}
	w.findCorners(params)
	w.chain = w.smoothed(6)
	return w.resampled(params.Step)
}

// findCorners marks the places where the course turns by more than CornerTurn
// within CornerSpan and where its two arms, carried on, meet close to it. A
// fillet of radius R that turns by a passes R(1/cos(a/2)-1) from where its
// tangents meet: 1.2 mm for 3 mm and a right angle.
func (c *course) findCorners(params EdgeParams) {
	n, k := len(c.chain), int(params.CornerSpan/0.5)
	soft := c.smoothed(2)
	turns := make([]float64, n)
	for i := range soft {
		turns[i] = math.Abs(soft.at(i).Sub(soft.at(i - k)).AngleTo(soft.at(i + k).Sub(soft.at(i))))
	}
	order := make([]int, 0, 64)
	for i, t := range turns {
		if t > params.CornerTurn {
			order = append(order, i)
		}
	}
	sort.SliceStable(order, func(a, b int) bool { return turns[order[a]] > turns[order[b]] })
	taken := make([]bool, n)
	for i, isCorner := range c.corner {
		for d := -2 * k; isCorner && d <= 2*k; d++ {
			taken[wrap(i+d, n)] = true
		}
	}
	for _, i := range order {
		if taken[i] {
			continue
		}
		for d := -2 * k; d <= 2*k; d++ {
			taken[wrap(i+d, n)] = true
		}
		if apex, ok := armsMeet(soft, i, k); ok && apex.DistanceTo(soft[i]) < 0.9 {
			c.corner[i] = true
			c.chain[i] = apex
		}
	}
}

// armsMeet carries the straight arms before and after point i on to where they
// meet.
func armsMeet(c chain, i, k int) (plane.Point, bool) {
	near := max(2, k*6/10)
	a, b := c.at(i-3*k), c.at(i-near)
	p, q := c.at(i+near), c.at(i+3*k)
	u, v := b.Sub(a).Unit(), q.Sub(p).Unit()
	cross := u.Cross(v)
	if math.Abs(cross) < 0.2 {
		return plane.Point{}, false
	}
	return b.Add(u.Scale(p.Sub(b).Cross(v) / cross)), true
}

// room returns how many points lie between point i and the nearest corner, at
// most limit.
func (c *course) room(i, limit int) int {
	n := len(c.chain)
	for d := 0; d <= limit; d++ {
		if c.corner[wrap(i+d, n)] || c.corner[wrap(i-d, n)] {
			return d
		}
	}
	return limit
}

// smoothed returns the chain averaged over sigma points, the window never
// reaching across a corner: corners stay where they are.
func (c *course) smoothed(sigma float64) chain {
	limit := int(2.5*sigma + 0.5)
	kernel := make([]float64, limit+1)
	for k := range kernel {
		kernel[k] = math.Exp(-float64(k*k) / (2 * sigma * sigma))
	}
	out := make(chain, len(c.chain))
	for i, p := range c.chain {
		n := c.room(i, limit)
		sx, sy, sum := p.X, p.Y, 1.0
		for k := 1; k <= n; k++ {
			a, b := c.at(i-k), c.at(i+k)
			sx += kernel[k] * (a.X + b.X)
			sy += kernel[k] * (a.Y + b.Y)
			sum += 2 * kernel[k]
		}
		out[i] = plane.Point{X: sx / sum, Y: sy / sum}
	}
	return out
}

// outward returns the outward unit normal at point i, from neighbours on the
// same side of the nearest corner.
func (c *course) outward(i, reach int) plane.Vec {
	n := len(c.chain)
	lo, hi := 0, 0
	for lo < reach && !(c.corner[wrap(i-lo, n)] && lo > 0) && !(lo == 0 && c.corner[i] && hi > 0) {
		lo++
	}
	for hi < reach && !(c.corner[wrap(i+hi, n)] && hi > 0) {
		hi++
	}
	return c.at(i + hi).Sub(c.at(i - lo)).Unit().TurnRight()
}

// resampled returns the course at equal steps between its corners, which stay
// points of it.
func (c *course) resampled(step float64) *course {
	out := &course{}
	n := len(c.chain)
	start := 0
	for i, isCorner := range c.corner {
		if isCorner {
			start = i
			break
		}
	}
	for done := 0; done < n; {
		i := start + done
		length, m := c.at(i).DistanceTo(c.at(i+1)), 1
		for done+m < n && !c.corner[wrap(i+m, n)] {
			length += c.at(i + m).DistanceTo(c.at(i + m + 1))
			m++
		}
		c.resampleStretch(out, i, m, length, max(2, int(math.Round(length/step))))
		done += m
	}
	return out
}

// resampleStretch adds count points of the stretch from point i over m points.
func (c *course) resampleStretch(out *course, i, m int, length float64, count int) {
	n := len(c.chain)
	k, start := 0, 0.0
	span := c.at(i).DistanceTo(c.at(i + 1))
	for j := range count {
		s := length * float64(j) / float64(count)
		for s > start+span && k < m-1 {
			start += span
			k++
			span = c.at(i + k).DistanceTo(c.at(i + k + 1))
		}
		t := 0.0
		if span > 0 {
			t = clamp((s-start)/span, 0, 1)
		}
		near := wrap(i+k, n)
		out.chain = append(out.chain, c.at(i+k).Lerp(c.at(i+k+1), t))
		out.corner = append(out.corner, j == 0 && c.corner[near])
		out.gap = append(out.gap, c.gap[near])
		out.sheet = append(out.sheet, c.sheet[near])
	}
}
