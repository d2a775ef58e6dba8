package detect

import (
	"math"
	"slices"

	"fairedge/internal/photo"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// ambiguous names the two outlines by a place inside each that the other leaves
// out or by their sizes.
func (s *search) ambiguous(a, b candidate) error {
	pa, pb := s.bench.PhotoFromPlane(a.course.middle()), s.bench.PhotoFromPlane(b.course.middle())
	return problem.Newf(problem.AmbiguousOutline,
		"point at the right one with --inside x,y (pixels), or cover or erase the other",
		"two outlines are equally plausible: one of %.0f cm² around (%.0f, %.0f) and one of %.0f cm² around (%.0f, %.0f)",
		a.area/100, pa.X, pa.Y, b.area/100, pb.X, pb.Y)
}

// explain finds out why there is no outline: it leaves the photo, or its line
// has a gap too long to carry over, or there is nothing like one.
func (s *search) explain() error {
	if side, ok := s.cutOff(); ok {
		return problem.Newf(problem.OutlineCutOff, "photograph the whole outline, with some bench around it",
			"the outline leaves the photo %s", side)
	}
	if s.req.Kind != Cut {
		if length, at, ok := s.widestGap(0.5); ok {
			return gapProblem(length, at)
		}
	}
	if s.req.Inside != nil {
		return problem.Newf(problem.NoOutline, "point well inside the outline, or leave --inside away",
			"no closed edge found around (%.0f, %.0f)", s.req.Inside.X, s.req.Inside.Y)
	}
	return problem.New(problem.NoOutline, "no closed edge found",
		"draw the line dark and closed on plain paper, or lay the cut template on a bench of another colour")
}

// gapProblem says where a line is not closed.
func gapProblem(length float64, at photo.Point) error {
	return problem.Newf(problem.NoOutline, "close the line and photograph it again",
		"no closed edge found: the line has a gap of about %.0f mm near (%.0f, %.0f)", length, at.X, at.Y)
}

// widestGap looks for a line that closes when far longer gaps are carried over
// and of which at least the given share is drawn, and returns its longest gap.
func (s *search) widestGap(share float64) (length float64, at photo.Point, ok bool) {
	loose := s.params
	loose.Gap, loose.LineShare = 4*s.params.Gap, share
	levels := s.params.Levels[:min(3, len(s.params.Levels))]
	found := make([][]candidate, len(levels))
	spreadRows(len(levels), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			found[i] = s.ink.lineCandidates(s.strokes(levels[i], loose), loose)
		}
	})
	for _, c := range slices.Concat(found...) {
		from, count := longestRun(c.bridged)
		if c.score == 0 || count == 0 || s.excluded(c) {
			continue
		}
		a, b := c.course.at(from), c.course.at(from+count-1)
		return a.DistanceTo(b), s.bench.PhotoFromPlane(a.Lerp(b, 0.5)), true
	}
	return 0, photo.Point{}, false
}

// cutOff looks for an outline that the photo's border closes: one run along the
// border, the rest a line that bends (a gap between planks is straight), or a
// distinct surface that leaves the photo.
func (s *search) cutOff() (side string, ok bool) {
	if s.req.Kind != Cut {
		frame := s.ink.frame()
		all := make([]bool, len(s.ink.seen))
		for k := range all {
			all[k] = true
		}
		for _, level := range s.params.Levels[:min(2, len(s.params.Levels))] {
			for _, c := range s.ink.framed(s.strokes(level, s.params), frame, all, s.params) {
				if !s.excluded(c) {
					from, count := longestRun(c.sheet)
					return s.sideOf(c.course.at(from + count/2)), true
				}
			}
		}
	}
	if s.req.Kind == Auto || s.req.Kind == Cut {
		for _, sh := range s.sheets() {
			if sh.open && sh.own > 0.8 && sh.contrast > 2*s.params.BorderStep && s.onFrame(sh) < 0.4 {
				return s.sideOf(s.farthest(sh)), true
			}
		}
	}
	return "", false
}

// frame returns the border of what the photo shows.
func (v *inkView) frame() *grid {
	g := newGrid(v.w, v.h)
	for y := 1; y < v.h-1; y++ {
		for x := 1; x < v.w-1; x++ {
			k := y*v.w + x
			edge := x == 1 || y == 1 || x == v.w-2 || y == v.h-2
			if v.seen[k] && (edge || !v.seen[k-1] || !v.seen[k+1] || !v.seen[k-v.w] || !v.seen[k+v.w]) {
				g.pix[k] = 1
			}
		}
	}
	return g
}

// framed returns the bent lines that the frame closes.
func (v *inkView) framed(s strokes, frame *grid, seen []bool, params EdgeParams) []candidate {
	if s.hardly {
		return nil
	}
	walls := s.lines.clone()
	walls.reach(frame, params.EdgeReach/v.scale)
	for k, b := range frame.pix {
		if b != 0 && walls.inner(k) {
			walls.pix[k] = 1
		}
	}
	walls.prune()
	r := labelRegions(walls, seen)
	least := params.MinArea / (v.scale * v.scale)
	var found []candidate
	for l := 1; l < len(r.area); l++ {
		if r.open[l] || float64(r.area[l]) < least/8 {
			continue
		}
		way := r.around(int32(l))
		if way.area < least {
			continue
		}
		c := v.lineCandidate(way, s)
		if v.judgeFramed(&c, way, frame, params) {
			found = append(found, c)
		}
	}
	return found
}

// judgeFramed reports whether a way is an outline cut off by the frame.
func (v *inkView) judgeFramed(c *candidate, way regionBorder, frame *grid, params EdgeParams) bool {
	n := len(way.outside)
	onFrame := 0
	for i, k := range way.outside {
		if frame.near(k, 2) {
			c.sheet[n-1-i] = true
			onFrame++
		}
	}
	from, count := longestRun(c.sheet)
	if onFrame == 0 || count > n*6/10 || onFrame > count+4 {
		return false
	}
	var line chain
	for i := count; i < n; i++ {
		line = append(line, c.course.at(from+i))
	}
	bend := runBend(line, 0, len(line))
	return bend > 40 && v.groundStepAlong(line, params.PenWidest/2+3) <= params.GroundStep
}

// onFrame returns the share of a sheet's border that lies beside what is not
// seen.
func (s *search) onFrame(sh sheet) float64 {
	n := 0
	for _, p := range sh.course {
		if s.beyondPhoto(p, 3*chromaStep*s.ink.scale) {
			n++
		}
	}
	return float64(n) / math.Max(1, float64(len(sh.course)))
}

func (s *search) beyondPhoto(p plane.Point, margin float64) bool {
	for _, d := range [][2]float64{{margin, 0}, {-margin, 0}, {0, margin}, {0, -margin}} {
		q := p
		q.X += d[0]
		q.Y += d[1]
		if k := s.ink.index(q); k < 0 || !s.ink.seen[k] {
			return true
		}
	}
	return false
}

// farthest returns a place of the sheet's border where it leaves the photo.
func (s *search) farthest(sh sheet) plane.Point {
	for _, p := range sh.course {
		if s.beyondPhoto(p, 3*chromaStep*s.ink.scale) {
			return p
		}
	}
	return sh.course[0]
}

// sideOf says at which side of the photo a place is.
func (s *search) sideOf(p plane.Point) string {
	q := s.bench.PhotoFromPlane(p)
	left, top := q.X, q.Y
	right, bottom := float64(s.photo.Width)-q.X, float64(s.photo.Height)-q.Y
	switch math.Min(math.Min(left, right), math.Min(top, bottom)) {
	case left:
		return "on the left"
	case right:
		return "on the right"
	case top:
		return "at the top"
	}
	return "at the bottom"
}
