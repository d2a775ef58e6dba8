package sheet

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"sync"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// PadPrinting says how a pad's parts are put on pages.
type PadPrinting struct {
	Paper  Paper
	Tiling Tiling
	// Strips prints also those strips that are longer than a page. They are straight, and
	// better marked out by their sizes.
	Strips bool
}

// padRun is a drawing with its own pages: a large part, or several together.
type padRun struct {
	parts   []PadPart // where they lie in the drawing
	drawing Sheet
	plan    Plan
	check   string // what a tape must read across the joined pages
}

// PadPages returns the parts on pages to tape together: first a page to read and
// measure, then the pages of each large part, then those that small parts share. The
// letters of the pages run on from part to part, so that no two pages have one name.
func PadPages(parts []PadPart, label Label, how PadPrinting) ([]Sheet, error) {
	runs, printed, err := padRuns(parts, label, how)
	if err != nil || len(runs) == 0 {
		return nil, err
	}
	band := 0
	for i := range runs {
		r := &runs[i]
		last := 0
		for k := range r.plan.Tiles {
			last = max(last, r.plan.Tiles[k].Band)
			r.plan.Tiles[k].Band += band
		}
		band += last + 1
	}
	eachAtOnce(len(runs), func(i int) { runs[i].check = runs[i].plan.checkCrosses(&runs[i].drawing) })
	pages := []Sheet{padKeyPage(runs, printed, label, how)}
	of := make([][]Sheet, len(runs))
	eachAtOnce(len(runs), func(i int) { of[i] = runs[i].plan.Pages(runs[i].drawing) })
	return append(pages, slices.Concat(of...)...), nil
}

// eachAtOnce calls f with 0 to n-1, side by side.
func eachAtOnce(n int, f func(i int)) {
	var all sync.WaitGroup
	for i := range n {
		all.Go(func() { f(i) })
	}
	all.Wait()
}

// padRuns plans every part that is printed, and returns those parts.
func padRuns(parts []PadPart, label Label, how PadPrinting) (runs []padRun, printed []PadPart, err error) {
	var small, large []PadPart
	w, h := Plan{Paper: how.Paper, Tiling: how.Tiling}.window()
	if how.Paper.Height == 0 {
		h = math.Inf(1) // a page of a roll is as long as it must be
	}
	for _, part := range parts {
		b := part.Bounds().Grow(partClear)
		fits := min(b.Width(), b.Height()) <= min(w, h) && max(b.Width(), b.Height()) <= max(w, h)
		switch {
		case fits && !math.IsInf(h, 1):
			small = append(small, part)
		case fits || !part.Strip || how.Strips:
			large = append(large, part)
		}
	}
	plans, faults := make([]padRun, len(large)), make([]error, len(large))
	eachAtOnce(len(large), func(i int) { plans[i], faults[i] = planParts(large[i:i+1:i+1], label, how) })
	for i, r := range plans {
		if faults[i] != nil {
			return nil, nil, faults[i]
		}
		runs, printed = joinRun(runs, r, label, how), append(printed, large[i])
	}
	for _, shared := range shareSheets(small, w, h) {
		r, err := planParts(shared.parts, label, how)
		if err != nil {
			return nil, nil, err
		}
		runs = append(runs, r)
	}
	return runs, append(printed, small...), nil
}

func planParts(parts []PadPart, label Label, how PadPrinting) (padRun, error) {
	s := Sheet{Title: partsTitle(parts, label), Notes: partNotes(parts, label)}
	for _, p := range parts {
		s.Items = append(s.Items, p.Items...)
	}
	plan, err := NewPlan(outlinesOf(s), how.Paper, how.Tiling)
	return padRun{parts: parts, drawing: s, plan: plan}, err
}

// outlinesOf returns what decides where pages must lie: closed lines that are cut, with
// all that they hold, what seams keep off, and whatever lies outside them. Leaving the
// rest out halves the time of planning.
func outlinesOf(s Sheet) Sheet {
	var cut []Stroke
	for _, item := range s.Items {
		if line, ok := item.(Stroke); ok && line.Path.IsClosed() && (line.Role == CutLine || line.Role == FoamOutline) {
			cut = append(cut, line)
		}
	}
	kept := s
	kept.Items = nil
	for _, item := range s.Items {
		line, isStroke := item.(Stroke)
		inner := isStroke && slices.Contains([]Role{SeamLine, FoamGuide, GrainLine, Sign, ScaleTick}, line.Role)
		if !inner || !slices.ContainsFunc(cut, func(c Stroke) bool { return holds(c.Path, line.Path) }) {
			kept.Items = append(kept.Items, item)
		}
	}
	return kept
}

// holds reports whether the line lies inside the closed outline, by points along each
// of its pieces: lines that a piece carries stay inside it or leave it by far.
func holds(outline, line curve.Path) bool {
	for _, s := range line.Segments() {
		for _, t := range []float64{0, 0.25, 0.5, 0.75, 1} {
			if !outline.Contains(s.At(t)) {
				return false
			}
		}
	}
	return true
}

// narrow is the share of a page's shorter side below which a part leaves room for
// another beside it.
const narrow = 0.6

// joinRun adds the run, or lays its part below those of an earlier one where both then
// take fewer pages. Only narrow parts are tried: others leave no room.
func joinRun(runs []padRun, r padRun, label Label, how PadPrinting) []padRun {
	w, h := r.plan.window()
	isNarrow := func(b plane.Rect) bool { return min(b.Width(), b.Height()) < narrow*min(w, h) }
	b := linesBounds(r.drawing)
	for i := range runs {
		above := linesBounds(runs[i].drawing)
		if len(runs[i].parts) == 1 && !isNarrow(above) || !isNarrow(b) {
			continue
		}
		down := plane.Vec{X: above.Min.X - b.Min.X, Y: above.Min.Y - partClear - b.Max.Y}
		part := r.parts[0]
		part.Items = part.moved(down)
		joined, err := planParts(append(slices.Clone(runs[i].parts), part), label, how)
		if err == nil && len(joined.plan.Tiles) < len(runs[i].plan.Tiles)+len(r.plan.Tiles) {
			runs[i] = joined
			return runs
		}
	}
	return append(runs, r)
}

// partNotes returns what every page says: the day, and what the lines of its parts
// are.
func partNotes(parts []PadPart, label Label) []string {
	var notes []string
	if !label.Date.IsZero() {
		notes = append(notes, label.Date.Format("2 January 2006")+".")
	}
	for _, known := range []struct {
		role  Role
		words string
	}{{CutLine, "Thick line: cut the cloth."}, {SeamLine, "Broken line: stitch."}, {FoamOutline, "Long dashes with dots: cut the foam."}} {
		if slices.ContainsFunc(parts, func(p PadPart) bool { return slices.Contains(p.roles, known.role) }) {
			notes = append(notes, known.words)
		}
	}
	return notes
}

func partsTitle(parts []PadPart, label Label) string {
	var names []string
	for _, p := range parts {
		names = append(names, p.Name)
	}
	title := strings.Join(names, ", ")
	if label.Job != "" {
		title = label.Job + ": " + title
	}
	return title
}

// partClear is the free paper around a part that shares a page, mm.
const partClear = 3.0

// sharedSheet is small parts on one page.
type sharedSheet struct {
	parts []PadPart // where they lie
	busy  *occupancy
}

// shareSheets lays small parts on as few pages as first fit, tallest first, finds:
// each upright or turned, as low and as far left as it goes. First fit by decreasing
// height needs at most 1.7 times the fewest shelves (Coffman, Garey, Johnson and
// Tarjan, 1980). The foot of a page is kept for the scale bar where there is room.
func shareSheets(parts []PadPart, w, h float64) []sharedSheet {
	upright := make([]PadPart, len(parts))
	for i, p := range parts {
		if b := p.Bounds(); b.Height() > b.Width() && b.Height()+2*partClear <= w || b.Width()+2*partClear > w {
			p = p.turned() // lying, where the page is wide enough
		}
		upright[i] = p
	}
	slices.SortStableFunc(upright, func(a, b PadPart) int { return cmp.Compare(b.Bounds().Height(), a.Bounds().Height()) })
	var sheets []sharedSheet
	for _, p := range upright {
		placed := false
		for i := range sheets {
			if placed = sheets[i].add(p); placed {
				break
			}
		}
		if !placed {
			s := sharedSheet{busy: newOccupancy(plane.Rect{Max: at(w, h)})}
			s.busy.rect(plane.Rect{Max: at(w, sharedFoot)})
			if !s.add(p) {
				s.busy = newOccupancy(plane.Rect{Max: at(w, h)})
				s.add(p)
			}
			sheets = append(sheets, s)
		}
	}
	return sheets
}

// sharedFoot is the height kept for the scale bar and the notes, mm.
const sharedFoot = 42.0

func (s *sharedSheet) add(p PadPart) bool {
	b := p.Bounds().Grow(partClear)
	corner, ok := s.busy.free(b.Width(), b.Height())
	if !ok {
		return false
	}
	to := corner.Sub(b.Min)
	s.busy.rect(plane.Rect{Min: corner, Max: corner.Add(plane.Vec{X: b.Width(), Y: b.Height()})})
	p.Items = p.moved(to)
	s.parts = append(s.parts, p)
	return true
}
