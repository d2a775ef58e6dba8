package detect

import (
	"math"
	"sort"

	"fairedge/internal/card"
	"fairedge/internal/problem"
)

// refuse notes a lattice that could not be read. Its blur is measured only if it
// is large enough for failureOf to ask.
func (s *cardSearch) refuse(l *lattice, scale float64, r CardReading) {
	if r.Seen >= tellingMarks {
		v := latticeView(l, scale)
		r.BlurPx = v.firstBlur(s.fitter)
	}
	s.evidence.Refused = append(s.evidence.Refused, r)
}

// latticeView lays a lattice that is no known card out as if it were one.
func latticeView(l *lattice, scale float64) *cardView {
	least := l.nodes[0].place
	most := least
	for _, n := range l.nodes {
		least = card.Lattice{I: min(least.I, n.place.I), J: min(least.J, n.place.J)}
		most = card.Lattice{I: max(most.I, n.place.I), J: max(most.J, n.place.J)}
	}
	v := &cardView{cols: most.I - least.I + 1, rows: most.J - least.J + 1}
	v.spots = make([]spot, v.cols*v.rows)
	for _, n := range l.nodes {
		m := card.Lattice{I: n.place.I - least.I, J: n.place.J - least.J}
		v.spots[v.number(m)] = spot{state: spotRough, x: n.x * scale, y: n.y * scale}
	}
	return v
}

const wholeCard = "keep at least half of the card in the picture, uncovered and out of glare"

// failure says why no card was found, and what to do about it.
func (s *cardSearch) failure() error {
	if len(s.evidence.Mirrored) > 0 {
		return problem.Newf(problem.NoCard, "turn the film over, or switch off mirroring in the camera",
			"the %v is seen mirrored", s.evidence.Mirrored[0])
	}
	refused := append([]CardReading(nil), s.evidence.Refused...)
	sort.SliceStable(refused, func(a, b int) bool { return refused[a].Score > refused[b].Score })
	for _, r := range refused {
		if err := s.failureOf(r); err != nil {
			return err
		}
	}
	return problem.New(problem.NoCard, "no scale card can be found in the photo",
		"lay at least one printed scale card beside the template, flat and wholly in the picture")
}

// Lattices that could not be read are spoken of as cards only if they are like
// one: as many marks as half a loose card has, and as regular as print is. Grilles,
// cloth and text seldom are.
const (
	tellingMarks = 60
	maxRagged    = 0.06
)

// failureOf says why a lattice could not be used, or nil when it is nothing like
// a card. A reading that falls short of the score needed but would be a matter of
// chance in one picture of twenty at most (see decode) is a card with too little of
// it in sight.
func (s *cardSearch) failureOf(r CardReading) error {
	read := r.Agree > 0 && r.Score >= r.Needed
	likely := r.Agree > 0 && r.Score >= r.Needed+math.Log(s.params.FalseAccept/0.05)
	regular := r.Seen >= tellingMarks && r.Ragged <= maxRagged
	switch {
	case (likely || regular) && r.CellPx < s.params.MinCell:
		return problem.Newf(problem.CardTooSmall, "stand closer, or use the camera's full resolution",
			"the scale card is too small in the photo: its squares are %.0f pixels wide and need %.0f or more", math.Floor(r.CellPx), math.Ceil(s.params.MinCell))
	case read:
		return problem.Newf(problem.TooFewMarks, wholeCard, "only %d of %d marks of the %v can be seen", r.Seen, r.Total, r.Card)
	case regular && r.BlurPx > s.params.MaxBlur*r.CellPx:
		return problem.Newf(problem.CardTooBlurred, "hold the phone still and tap on the card to focus",
			"the scale card's edges are blurred over %.0f pixels, and no more than %.0f will do", math.Ceil(2.5*r.BlurPx), math.Floor(2.5*s.params.MaxBlur*r.CellPx))
	case likely:
		return problem.Newf(problem.TooFewMarks, wholeCard, "part of a scale card is in the photo, but only %d of its marks can be seen", r.Seen)
	}
	return nil
}
