package detect

import (
	"fmt"

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
	s := &search{ink: ink, bench: bench, req: req, params: params, ev: &ev}
	chosen, err := s.run()
	if err != nil {
		return Edge{}, ev, err
	}
	t := &tracer{prober: newProber(p, bench), params: params, kind: chosen.kind, course: newCourse(chosen, params)}
	t.trace()
	ev.Kind = chosen.kind
	t.report(&ev)
	return Edge{Kind: chosen.kind, Samples: t.samples()}, ev, nil
}

// search is one run through the ways a template may show its edge.
type search struct {
	ink    *inkView
	bench  Bench
	req    EdgeRequest
	params EdgeParams
	ev     *EdgeEvidence
	sheets []sheet
}

func (s *search) run() (candidate, error) {
	blocks := s.ink.coarse()
	s.sheets = s.ink.sheets(blocks, s.params)
	if s.req.Kind != Cut {
		for _, level := range s.params.Levels {
			st := s.ink.findStrokes(level, s.params)
			s.ev.Skeleton = s.ink.picture(scaled(st.lines.pix))
			if c, ok := s.pick(s.lines(st), fmt.Sprintf("closed lines darker than their ground by %d", level)); ok {
				return c, nil
			}
		}
	}
	if s.req.Kind == Auto || s.req.Kind == Cut {
		if c, ok := s.pick(s.ink.cutCandidates(s.sheets, s.params), "surfaces that differ from the bench"); ok {
			return c, nil
		}
	}
	return candidate{}, problem.New(problem.NoOutline, "no closed edge found", "draw the line round closed")
}

func (s *search) lines(st strokes) []candidate {
	var found []candidate
	if s.req.Kind != OpenLine {
		found = append(found, s.ink.lineCandidates(st, s.params)...)
	}
	if s.req.Kind != Line {
		found = append(found, s.ink.openCandidates(st, s.sheets, s.params)...)
	}
	return found
}

func (s *search) pick(found []candidate, tried string) (candidate, bool) {
	s.ev.Tried = append(s.ev.Tried, fmt.Sprintf("%s: %d", tried, len(found)))
	best := -1
	for i, c := range found {
		step := max(1, len(c.course)/500)
		var o []photo.Point
		for k := 0; k < len(c.course); k += step {
			o = append(o, s.bench.PhotoFromPlane(c.course[k]))
		}
		s.ev.Candidates = append(s.ev.Candidates, EdgeCandidate{c.kind, o, c.area, c.contrast, c.seen, c.score, c.level, c.verdict})
		if c.score > 0 && (best < 0 || c.score > found[best].score) {
			best = i
		}
	}
	if best < 0 {
		return candidate{}, false
	}
	return found[best], true
}

func scaled(pix []uint8) []uint8 {
	out := make([]uint8, len(pix))
	for k, b := range pix {
		out[k] = b * 255
	}
	return out
}
