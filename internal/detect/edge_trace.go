package detect

import (
	"fmt"
	"math"
	"sync"

	"fairedge/internal/photo"
	"fairedge/internal/problem"
)

// TracedEdge finds the traced edge of a template in a photo and measures it.
//
// It searches a reduced view of the bench from above, where pen widths and gaps
// are lengths, and then measures in the photo itself, which is never warped. The
// bench is only trusted to a fraction of a millimetre: it places the search and
// the normals, not the edge. Cards are left out of the search.
//
// Samples run counter-clockwise as seen on the bench, about params.Step apart.
// The error is a problem.Error of kind NoOutline, OutlineCutOff or
// AmbiguousOutline; the evidence is filled in as far as the search came.
func TracedEdge(p *photo.Photo, bench Bench, cards []Sighting, req EdgeRequest, params EdgeParams) (Edge, EdgeEvidence, error) {
	var ev EdgeEvidence
	if err := params.Check(); err != nil {
		return Edge{}, ev, problem.New(problem.Internal, "the search for the edge is set up wrongly", "report this").Because(err)
	}
	corners := cardCorners(bench, cards, params.CardMargin)
	view := newBenchView(p, bench, corners, params)
	if view == nil {
		return Edge{}, ev, problem.New(problem.NoOutline, "hardly anything of the bench can be seen beside the card",
			"photograph the whole template from above")
	}
	ink, err := newInkView(view, corners, params)
	if err != nil {
		return Edge{}, ev, problem.New(problem.Internal, "the photo could not be searched", "report this").Because(err)
	}
	ev.View, ev.ViewScaleMM = view.picture(view.luma), view.scale
	s := &search{photo: p, ink: ink, bench: bench, req: req, params: params, ev: &ev}
	chosen, err := s.run()
	if s.skeleton != nil {
		ev.Skeleton = view.picture(s.skeleton.visible())
	}
	if err != nil {
		return Edge{}, ev, err
	}
	t := &tracer{prober: newProber(p, bench), params: params, kind: chosen.kind, course: newCourse(chosen, params)}
	t.trace()
	t.report(&ev)
	return Edge{Kind: chosen.kind, Samples: t.samples(), Ticks: t.ticks(ink, chosen.contrast)}, ev, nil
}

// search is one run through the ways a template may show its edge.
type search struct {
	photo  *photo.Photo
	ink    *inkView
	bench  Bench
	req    EdgeRequest
	params EdgeParams
	ev     *EdgeEvidence
	found  []sheet // once looked for
	looked bool
	within *grid // blocks to which faint lines are confined, or nil
	// the strokes last judged
	skeleton *grid
	bare     sync.Map // thinned strokes (*grid) by level, once looked for
}

// strokes returns the strokes of a level, which are thinned once. Levels may be
// asked for side by side.
func (s *search) strokes(level int, params EdgeParams) strokes {
	bare, ok := s.bare.Load(level)
	if !ok {
		bare = s.ink.thinned(level, s.within, params)
		s.bare.Store(level, bare)
	}
	return s.ink.bridged(level, bare.(*grid), params)
}

// sheets returns the surfaces of the bench, which are looked for when first
// asked for: a closed line needs none.
func (s *search) sheets() []sheet {
	if !s.looked {
		s.found, s.looked = s.ink.sheets(s.ink.coarse(), s.params), true
	}
	return s.found
}

// run tries drawn lines, the darkest first, then surfaces. A line wins over the
// border of the sheet it is drawn on.
func (s *search) run() (candidate, error) {
	if s.req.Kind != Cut {
		c, found, err := s.drawn()
		if found || err != nil {
			return c, err
		}
	}
	if s.req.Kind == Auto {
		if length, at, ok := s.widestGap(0.75); ok {
			return candidate{}, gapProblem(length, at)
		}
	}
	if s.req.Kind == Auto || s.req.Kind == Cut {
		c, found, err := s.pick(s.ink.cutCandidates(s.sheets(), s.params), "surfaces that differ from the bench")
		if found || err != nil {
			return c, err
		}
	}
	return candidate{}, s.explain()
}

// drawn tries the levels of contrast in order: the two strongest alone, since most
// lines show there, then two at a time.
func (s *search) drawn() (candidate, bool, error) {
	levels := s.params.Levels
	for at, n := 0, 1; at < len(levels); at += n {
		if at >= 2 {
			n = 2
		}
		tries := levels[at:min(len(levels), at+n)]
		if at == 1 {
			s.narrow() // also looks for the sheets once, before they are asked for side by side
		}
		strokes, found := make([]strokes, len(tries)), make([][]candidate, len(tries))
		spreadRows(len(tries), func(lo, hi int) {
			for i := lo; i < hi; i++ {
				strokes[i] = s.strokes(tries[i], s.params)
				found[i] = s.lines(strokes[i])
			}
		})
		for i, level := range tries {
			s.skeleton = strokes[i].lines
			c, ok, err := s.pick(found[i], fmt.Sprintf("lines at least %d grey levels darker than their ground", level))
			if ok || err != nil {
				return c, ok, err
			}
		}
	}
	return candidate{}, false, nil
}

// narrow confines the search for faint lines to the closed surfaces when one of
// them stands out so clearly that it may be a cut template.
func (s *search) narrow() {
	sheets := s.sheets()
	if s.req.Kind != Auto || s.req.Inside != nil {
		return
	}
	clear := false
	var within *grid
	for _, sh := range sheets {
		if sh.open {
			continue
		}
		clear = clear || (sh.contrast >= s.params.ClearCut && sh.own >= 0.9)
		if within == nil {
			within = newGrid(sh.mask.w, sh.mask.h)
		}
		for k, b := range sh.mask.pix {
			within.pix[k] |= b
		}
	}
	if clear {
		within.grow(1, pixelBox{0, 0, within.w - 1, within.h - 1})
		s.within = within
		s.ev.Tried = append(s.ev.Tried, "fainter lines on closed surfaces only, since one stands out clearly")
	}
}

// lines returns the candidates of the kinds that the person leaves open.
func (s *search) lines(st strokes) []candidate {
	var found []candidate
	if s.req.Kind != OpenLine {
		found = append(found, s.ink.lineCandidates(st, s.params)...)
	}
	if s.req.Kind == OpenLine || (s.req.Kind == Auto && !anyGood(found)) {
		found = append(found, s.ink.openCandidates(st, s.sheets(), s.params)...)
	}
	return found
}

func anyGood(found []candidate) bool {
	for _, c := range found {
		if c.score > 0 {
			return true
		}
	}
	return false
}

// pick takes the best of the candidates, if any, and complains when another is
// as plausible.
func (s *search) pick(found []candidate, tried string) (candidate, bool, error) {
	s.ev.Tried = append(s.ev.Tried, fmt.Sprintf("%s: %d", tried, len(found)))
	best := -1
	for i := range found {
		if s.excluded(found[i]) {
			found[i].score, found[i].verdict = 0, "does not enclose the place pointed to"
		}
		if found[i].score > 0 && (best < 0 || found[i].score > found[best].score) {
			best = i
		}
	}
	rival := -1
	for i := range found {
		if best >= 0 && i != best && found[i].score >= s.params.Rival*found[best].score && !alike(found[i], found[best]) {
			rival = i
		}
	}
	for i := range found {
		if found[i].verdict == "" {
			found[i].verdict = "less plausible"
		}
		if i == best {
			found[i].verdict = "chosen"
		}
		s.record(found[i])
	}
	if best < 0 {
		return candidate{}, false, nil
	}
	if rival >= 0 {
		return candidate{}, false, s.ambiguous(found[best], found[rival])
	}
	s.ev.Kind, s.ev.Why = found[best].kind, found[best].reason()
	return found[best], true, nil
}

// excluded reports whether the person pointed to a place that c leaves out.
func (s *search) excluded(c candidate) bool {
	return s.req.Inside != nil && !c.course.contains(s.bench.PlaneFromPhoto(*s.req.Inside))
}

// alike reports whether two candidates are one outline for all purposes.
func alike(a, b candidate) bool {
	return math.Abs(a.area-b.area) < 0.03*b.area && a.course.middle().DistanceTo(b.course.middle()) < 8
}

// reason says in words why this is the kind.
func (c candidate) reason() string {
	switch c.kind {
	case OpenLine:
		return "a drawn line runs from the sheet's straight edge back to it"
	case Cut:
		return "no closed drawn line, but a surface that stands out from the bench"
	}
	return "a closed line on one and the same ground"
}

func (s *search) record(c candidate) {
	s.ev.Candidates = append(s.ev.Candidates, EdgeCandidate{
		Kind: c.kind, Outline: s.outline(c.course), AreaMM2: c.area, Contrast: c.contrast,
		Seen: c.seen, Score: c.score, Level: c.level, Verdict: c.verdict,
	})
}

// outline maps a course into the photo, thinned to about 2 mm.
func (s *search) outline(c chain) []photo.Point {
	step := max(1, int(2*float64(len(c))/math.Max(1, c.length())))
	var out []photo.Point
	for k := 0; k < len(c); k += step {
		out = append(out, s.bench.PhotoFromPlane(c[k]))
	}
	return out
}

// visible turns yes into white.
func (g *grid) visible() []uint8 {
	out := make([]uint8, len(g.pix))
	for k, b := range g.pix {
		out[k] = b * 255
	}
	return out
}
