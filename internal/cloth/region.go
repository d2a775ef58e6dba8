package cloth

import (
	"math"

	"fairedge/internal/nest"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// group is what the solver sees as one piece: one part, or several strips on the bias side
// by side, which are chalked as one and parted by parallel lines.
type group struct {
	part    int
	demand  int
	copies  int       // in each
	step    plane.Vec // from one to the next, in the part's own frame
	outline []plane.Point
}

// stretch is one way to lay a stretch of cloth.
type stretch struct {
	pieces      []Placed
	from        float64 // mm from the squared line
	end         float64
	rows        float64 // its length laid row by row, mm
	motif       *Motif
	stopped     bool
	longLast    bool // long strips come last and are no part of the search
	pipingAlong bool
	share       float64
}

// layRegion lays what is wanted on the next stretch of cloth: with the long strips last,
// and, where they may run along the cloth as well, by a search for all; the shorter wins.
func (l *layer) layRegion(all []wanted, folded bool) error {
	b := l.band(folded)
	from := l.end
	if from > 0 {
		from += l.cloth.Gap.Millimetres()
		l.rows += l.cloth.Gap.Millimetres()
	}
	tries := l.tries(all, b, from)
	var best *stretch
	for _, s := range tries {
		if err := l.layStretch(s, all, b, folded); err != nil {
			return err
		}
		l.laid.Stopped = l.laid.Stopped || s.stopped
		if best == nil || s.end < best.end-rounding {
			best = s
		}
	}
	l.rows += tries[0].rows
	l.end = best.end
	l.laid.Pieces = append(l.laid.Pieces, best.pieces...)
	l.laid.Regions = append(l.laid.Regions, Region{from, best.end, folded})
	if best.motif != nil {
		l.laid.Motif = best.motif
	}
	return nil
}

// tries returns the ways to lay a stretch that are worth a search, sharing the work.
func (l *layer) tries(all []wanted, b band, from float64) []*stretch {
	tries := []*stretch{{from: from, longLast: true}}
	mayTurn, piping := false, false
	for _, w := range all {
		p := l.laid.Parts[w.part]
		mayTurn = mayTurn || l.isLong(w.part, all, b) && p.mayLieEitherWay(l.cloth)
		piping = piping || p.Kind == pad.PipingStrip && !p.Bias
	}
	switch {
	case mayTurn && len(all) > 1:
		tries = append(tries, &stretch{from: from})
	case piping && l.cloth.Way == OneNap:
		tries = append(tries, &stretch{from: from, pipingAlong: true})
	}
	for _, s := range tries {
		s.share = l.share / float64(len(tries))
	}
	return tries
}

// layStretch lays one way.
func (l *layer) layStretch(s *stretch, all []wanted, b band, folded bool) error {
	l.cloth.pipingAlong = s.pipingAlong
	defer func() { l.cloth.pipingAlong = false }()
	var long, searched []wanted
	for _, w := range all {
		if s.longLast && l.isLong(w.part, all, b) {
			long = append(long, w)
		} else {
			searched = append(searched, w)
		}
	}
	s.end = s.from
	if len(searched) > 0 {
		if err := l.search(s, searched, b, folded); err != nil {
			return err
		}
	}
	l.layLong(s, long, b, folded)
	return nil
}

// isLong reports whether nothing else that is wanted fits beside the part when it lies
// across.
func (l *layer) isLong(part int, all []wanted, b band) bool {
	p := l.laid.Parts[part]
	if !p.Strip || p.Bias || l.cloth.HasRepeat() || p.Length.Millimetres() > b.width()+rounding {
		return false
	}
	if turns := p.turns(l.cloth); turns[0] != 0 {
		return false
	}
	beside := b.width() - p.Length.Millimetres() - l.cloth.Gap.Millimetres()
	for _, w := range all {
		if l.laid.Parts[w.part].reach(l.cloth) <= beside+rounding {
			return false
		}
	}
	return true
}

// layLong lays strips across, one at the other.
func (l *layer) layLong(s *stretch, long []wanted, b band, folded bool) {
	start := s.end
	if len(s.pieces) > 0 && len(long) > 0 {
		s.end += l.cloth.Gap.Millimetres()
	}
	for _, w := range long {
		for range w.count {
			s.place(w.part, turnBy(0, plane.Vec{X: b.left, Y: s.end}), 0, folded)
			s.end = nanometres(s.end + boxOf(l.laid.Parts[w.part].outline).Height())
		}
	}
	s.rows += s.end - start
}

// search lets the solver lay the pieces.
func (l *layer) search(s *stretch, all []wanted, b band, folded bool) error {
	groups := l.groups(all)
	phases := l.phases(groups, s.from)
	pieces := 0
	for _, g := range groups {
		pieces += g.demand
	}
	var best *nest.Result
	for _, phase := range phases {
		p := l.problem(groups, b, phase)
		r, err := nest.Solve(l.ctx, p, nest.Options{
			Seed: l.options.Seed, Work: int64(s.share * float64(l.options.Params.workFor(pieces)) / float64(len(phases))),
			Progress: l.progress(s.from),
		})
		if err != nil {
			return err
		}
		s.stopped = s.stopped || r.Stopped
		r = tidy(p, r)
		if best == nil || r.UsedLength < best.UsedLength-rounding {
			best = r
			if l.cloth.HasRepeat() {
				s.motif = &Motif{Along: mm(phase + s.from), Across: mm(l.motifAcross())}
			}
		}
	}
	s.take(groups, best, b, folded)
	s.end += best.UsedLength
	s.rows += math.Min(best.RowsLength, math.Max(best.FillLength, best.UsedLength))
	return nil
}

// progress tells of better lays.
func (l *layer) progress(from float64) func(nest.Progress) {
	if l.options.Progress == nil {
		return nil
	}
	return func(p nest.Progress) {
		if needed := mm(from+p.UsedLength) + 2*l.cloth.Squaring; l.told == 0 || needed < l.told {
			l.told = needed
			l.options.Progress(needed)
		}
	}
}

// take records where the solver put the groups.
func (s *stretch) take(groups []group, r *nest.Result, b band, folded bool) {
	for _, at := range r.Placements {
		g := groups[at.Item]
		clothFromGroup := turnBy(at.Degrees, plane.Vec{X: b.right - at.At.Y, Y: s.from + at.At.X})
		for k := range g.copies {
			shift := plane.Rigid{Cos: 1, Shift: g.step.Scale(float64(k))}
			s.place(g.part, clothFromGroup.After(shift), at.Degrees, folded)
		}
	}
}

// groups returns the solver's pieces. Strips on the bias are joined in one.
func (l *layer) groups(all []wanted) []group {
	var out []group
	for _, w := range all {
		p := l.laid.Parts[w.part]
		g := group{part: w.part, demand: w.count, copies: 1, outline: p.outline}
		if p.Bias {
			g.demand, g.copies, g.step = 1, w.count, p.outline[3].Sub(p.outline[0])
			up := g.step.Scale(float64(w.count - 1))
			g.outline = []plane.Point{p.outline[0], p.outline[1], p.outline[2].Add(up), p.outline[3].Add(up)}
		}
		out = append(out, g)
	}
	return out
}

// problem states the search. The solver's x runs along the cloth and its y to the left:
// its frame is the cloth's, turned by a quarter, so turns mean the same in both.
func (l *layer) problem(groups []group, b band, phase float64) *nest.Problem {
	p := &nest.Problem{Width: nanometres(b.width()), Buffer: nanometres(l.cloth.Gap.Millimetres())}
	for _, g := range groups {
		part := l.laid.Parts[g.part]
		item := nest.Item{Name: part.Name, Demand: g.demand, Turns: part.turns(l.cloth)}
		for _, q := range g.outline {
			item.Outline = append(item.Outline, solverPoint(q))
		}
		if part.motif != nil {
			r := l.cloth.Repeat
			item.Repeat = &nest.Repeat{Reference: solverPoint(*part.motif), Along: evenNanometres(r.Along.Millimetres()), AlongOffset: nanometres(phase),
				Across: evenNanometres(r.Across.Millimetres()), AcrossOffset: nanometres(b.right - l.motifAcross()), HalfDrop: r.HalfDrop}
		}
		p.Items = append(p.Items, item)
	}
	return p
}

// evenNanometres rounds a period so that it and its half are whole in the solver.
func evenNanometres(mm float64) float64 { return 2 * nanometres(mm/2) }

func solverPoint(q plane.Point) plane.Point { return plane.Point{X: q.Y, Y: -q.X} }

// turnBy returns the turn by degrees, exact for quarters, followed by a shift.
func turnBy(degrees float64, shift plane.Vec) plane.Rigid {
	quarter := degrees / 90
	if quarter != math.Trunc(quarter) {
		return plane.RigidFromAngle(degrees*math.Pi/180, shift)
	}
	m := plane.Rigid{Cos: 1, Shift: shift}
	for range (int(quarter)%4 + 4) % 4 {
		m.Cos, m.Sin = -m.Sin, m.Cos
	}
	return m
}

// place records one part.
func (s *stretch) place(part int, clothFromPart plane.Rigid, degrees float64, folded bool) {
	s.pieces = append(s.pieces, Placed{Part: part, ClothFromPart: clothFromPart, Degrees: degrees, Folded: folded, Twin: noTwin})
}
