package detect

import (
	"math"
	"sort"
)

// openCandidates returns the ways that run along strokes from a sheet's edge
// round to the same straight edge and back along it, best first.
func (v *inkView) openCandidates(s strokes, sheets []sheet, params EdgeParams) []candidate {
	if s.hardly {
		return nil
	}
	var found []candidate
	var used []sheet
	for _, sh := range sheets {
		if len(used) == 3 || sh.contrast < params.BorderStep || sh.own < 0.5 {
			break
		}
		if !sh.among(used) {
			used = append(used, sh)
			found = append(found, v.openOn(s, sh, params)...)
		}
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].score > found[j].score })
	return found
}

// among reports whether a sheet is one of those already used, found at another
// step.
func (s sheet) among(used []sheet) bool {
	for _, u := range used {
		if math.Abs(u.area-s.area) < 0.03*s.area && u.course.middle().DistanceTo(s.course.middle()) < 10 {
			return true
		}
	}
	return false
}

// openOn looks for such ways on one sheet: the sheet's border joins the strokes
// as a wall, and regions are judged by what their borders run along.
func (v *inkView) openOn(s strokes, sh sheet, params EdgeParams) []candidate {
	walls, inked := sh.strokesOn(s.lines)
	if inked < int(100/v.scale) {
		return nil
	}
	border := v.sheetWall(sh)
	walls.reach(border, params.EdgeReach/v.scale)
	for _, k := range border.set() {
		if v.seen[k] && walls.inner(int(k)) {
			walls.pix[k] = 1
		}
	}
	walls.prune()
	if !walls.holdsBeside(border, int(100/v.scale)) {
		return nil
	}
	r := v.regionsOf(walls)
	defer v.release(r)
	least := params.MinArea / (v.scale * v.scale)
	var found []candidate
	for l := 1; l < len(r.area); l++ {
		if r.open[l] || r.area[l] == 0 || float64(r.area[l]) < least/8 {
			continue
		}
		v.takeSides(r, int32(l), params)
		way := r.around(int32(l))
		if way.area < least {
			continue
		}
		c := v.lineCandidate(way, s)
		c.kind = OpenLine
		if v.judgeOpen(&c, way, border, params) {
			found = append(found, c)
		}
	}
	return found
}

// strokesOn returns the strokes that lie on the sheet or within a block of it, and
// how many pixels they have: an outline that its edge closes runs on it.
func (sh sheet) strokesOn(lines *grid) (*grid, int) {
	on := newGrid(lines.w, lines.h)
	near := sh.mask.clone()
	near.grow(1, pixelBox{0, 0, near.w - 1, near.h - 1})
	inked := 0
	for _, k := range near.set() {
		x, y := int(k)%near.w*chromaStep, int(k)/near.w*chromaStep
		n := min(chromaStep, lines.w-x)
		for r := y; r < min(y+chromaStep, lines.h); r++ {
			for i, b := range lines.pix[r*lines.w+x:][:n] {
				if b != 0 {
					on.pix[r*lines.w+x+i] = 1
					inked++
				}
			}
		}
	}
	return on, inked
}

// holdsBeside reports whether at least count pixels are yes that are no in other.
func (g *grid) holdsBeside(other *grid, count int) bool {
	for _, k := range g.set() {
		if other.pix[k] == 0 {
			count--
		}
	}
	return count <= 0
}

// sheetWall returns the view pixels just outside the sheet's blocks.
func (v *inkView) sheetWall(sh sheet) *grid {
	g := newGrid(v.w, v.h)
	m := sh.mask
	set := func(x, y int) {
		if x > 0 && y > 0 && x < v.w-1 && y < v.h-1 {
			g.pix[y*v.w+x] = 1
		}
	}
	for _, k := range m.set() {
		cx, cy := int(k)%m.w, int(k)/m.w
		x, y := cx*chromaStep, cy*chromaStep
		for i := range chromaStep {
			if cx > 0 && m.pix[k-1] == 0 {
				set(x-1, y+i)
			}
			if cx < m.w-1 && m.pix[k+1] == 0 {
				set(x+chromaStep, y+i)
			}
			if cy > 0 && m.pix[int(k)-m.w] == 0 {
				set(x+i, y-1)
			}
			if cy < m.h-1 && m.pix[int(k)+m.w] == 0 {
				set(x+i, y+chromaStep)
			}
		}
	}
	return g
}

// reach carries free ends on to a border within far pixels ahead of them.
func (g *grid) reach(border *grid, far float64) {
	for _, e := range g.strokeEnds(16) {
		if k := border.ahead(e, far); k >= 0 {
			g.join(e.k, k, nil)
		}
	}
}

// judgeOpen marks the part along the sheet's edge and scores the candidate. It
// reports whether this is a line with both ends at one straight edge at all.
func (v *inkView) judgeOpen(c *candidate, way regionBorder, border *grid, params EdgeParams) bool {
	n := len(way.outside)
	for i, k := range way.outside {
		c.sheet[n-1-i] = border.near(k, int(3/v.scale))
	}
	from, count := longestRun(c.sheet)
	if count < int(60/v.scale) || count > n*3/4 {
		return false
	}
	from, count = trimRun(c.course, from, count)
	var inked []float64
	for i := range c.sheet {
		c.sheet[i] = wrap(i-from, n) < count
		if !c.sheet[i] {
			inked = append(inked, float64(v.darkest(v.index(c.course[i]))))
		}
	}
	dark := 0
	for _, x := range inked {
		if x >= 0.6*float64(c.level) {
			dark++
		}
	}
	c.seen = float64(dark) / float64(len(inked))
	c.contrast = quantile(inked, 0.5)
	c.score = c.contrast * c.seen * c.seen
	if c.seen < params.LineShare {
		c.score, c.verdict = 0, "too much of it is missing"
	}
	line := make(chain, 0, n-count)
	smooth := c.course.smooth(2 / v.scale)
	for i := count; i < n; i++ {
		line = append(line, smooth.at(from+i))
	}
	if c.step = v.groundStepAlong(line, params.PenWidest/2+3); c.step > params.GroundStep {
		c.score, c.verdict = 0, "a border between two surfaces, not a line"
	}
	if bend := runBend(c.course, from, count); bend > 6+0.01*float64(count)*v.scale {
		c.score, c.verdict = 0, "runs round a corner of the sheet"
	}
	return true
}

// near reports whether the picture has a yes within n pixels of k.
func (g *grid) near(k, n int) bool {
	x, y := k%g.w, k/g.w
	for r := max(0, y-n); r <= min(g.h-1, y+n); r++ {
		for c := max(0, x-n); c <= min(g.w-1, x+n); c++ {
			if g.pix[r*g.w+c] != 0 {
				return true
			}
		}
	}
	return false
}

// longestRun returns where the longest run of yes starts, going round, and its
// length; short interruptions (up to 8) do not end it.
func longestRun(marks []bool) (from, count int) {
	n := len(marks)
	start, last := -1, -1
	for i := 0; i < 2*n; i++ {
		if !marks[i%n] {
			continue
		}
		if start < 0 || i-last > 8 {
			start = i
		}
		last = i
		if l := last - start + 1; l > count && l <= n {
			from, count = start%n, l
		}
	}
	return from, count
}

// trimRun shortens a run at both ends to where the chain leaves the straight line
// through the run's middle half by 2.5 mm: there the drawn line has begun.
func trimRun(c chain, from, count int) (int, int) {
	a, b := c.at(from+count/4), c.at(from+count*3/4)
	across := b.Sub(a).Unit().TurnLeft()
	off := func(i int) bool { return math.Abs(c.at(i).Sub(a).Dot(across)) > 2.5 }
	bent := count
	for off(from) && bent > count/2 {
		from, bent = from+1, bent-1
	}
	for off(from+bent-1) && bent > count/2 {
		bent--
	}
	return from, bent
}

// runBend returns how far a run of a chain departs from its chord, mm.
func runBend(c chain, from, count int) float64 {
	a, b := c.at(from), c.at(from+count-1)
	across := b.Sub(a).Unit().TurnLeft()
	worst := 0.0
	for i := range count {
		worst = math.Max(worst, math.Abs(c.at(from+i).Sub(a).Dot(across)))
	}
	return worst
}
