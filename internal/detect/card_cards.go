package detect

import (
	"math"
	"sort"

	"fairedge/internal/photo"
)

// Cards finds the scale cards in a photo and measures their marks, whichever way
// the cards lie. The search runs on a reduced picture for candidate marks (saddle
// points of brightness), grows chessboard lattices from them, reads the dots of
// their cells, and identifies card, part and attitude by the dots alone; the marks
// are then fitted in the full picture, whether the search had found them or not.
//
// Sightings are sorted by card. Without any, the error is a *problem.Error that
// says why (NoCard, TooFewMarks, CardTooSmall, CardTooBlurred); the evidence is
// filled in either case.
func Cards(p *photo.Photo, params CardParams) ([]Sighting, CardEvidence, error) {
	s := newCardSearch(p, params)
	for _, pass := range s.passes() {
		s.search(pass)
		if s.isComplete(pass) {
			break
		}
	}
	s.sortFound()
	var sightings []Sighting
	for _, f := range s.found {
		sightings = append(sightings, f.sighting(params))
		s.evidence.Cards = append(s.evidence.Cards, f.reading)
	}
	if len(sightings) == 0 {
		return nil, s.evidence, s.failure()
	}
	return sightings, s.evidence, nil
}

// cardSearch is the search of one photo.
type cardSearch struct {
	params   CardParams
	designs  []dotDesign
	levels   []level
	base     int // the level to begin with
	fitter   *fitter
	found    []foundCard
	evidence CardEvidence
}

// foundCard is a card with its marks measured.
type foundCard struct {
	view    *cardView
	reading CardReading
}

func newCardSearch(p *photo.Photo, params CardParams) *cardSearch {
	levels, base := levelsOf(p, params.SearchLongSide)
	return &cardSearch{params: params, designs: dotDesigns(), levels: levels, base: base,
		fitter: newFitter(levels[0], params)}
}

// searchPass is one way of searching: the level, the step of the differences and
// the radius of the ring, level px.
type searchPass struct {
	level     level
	step      int
	radius    float64
	threshold float64
}

// passes returns the searches in the order to try: the base level; a coarser one
// for blurred pictures (it costs a quarter); then finer and finer ones for far
// cards, at last with a kernel of half the size.
func (s *cardSearch) passes() []searchPass {
	wide := func(l level) searchPass { return searchPass{l, 2, 4, s.params.MinSaddle} }
	base := s.levels[s.base]
	list := []searchPass{wide(base)}
	if min(base.width, base.height) >= 64 {
		list = append(list, wide(base.halved()))
	}
	for k := s.base - 1; k >= 0; k-- {
		list = append(list, wide(s.levels[k]))
	}
	return append(list, searchPass{s.levels[0], 1, 2.5, s.params.MinSaddle / 4})
}

// isComplete reports whether finer searches are unlikely to find more: cards
// were found, and large enough that others like them would have been as well.
func (s *cardSearch) isComplete(pass searchPass) bool {
	if len(s.found) == 0 {
		return false
	}
	for _, f := range s.found {
		if f.reading.CellPx/pass.level.scale < s.params.MinLevelCell {
			return false
		}
	}
	return true
}

// minLatticeNodes is the fewest marks worth decoding; 40 cells have over 50.
const minLatticeNodes = 16

// search runs one pass and adds what it finds.
func (s *cardSearch) search(pass searchPass) {
	l := pass.level
	smoothed := l.smoothed()
	peaks := smoothed.peaks(pass.step, pass.threshold)
	corners := cornersOf(smoothed, peaks, newCornerRing(pass.radius), s.params)
	lattices := latticesOf(corners, l.width, l.height, minLatticeNodes, s.params)
	s.evidence.Searches = append(s.evidence.Searches,
		CardSearch{l.scale, len(peaks), len(corners), len(lattices)})
	sort.SliceStable(lattices, func(a, b int) bool { return len(lattices[a].nodes) > len(lattices[b].nodes) })
	for k := range lattices {
		s.take(&lattices[k], l.scale)
	}
}

// take decodes one lattice and measures the card it shows, unless that card has
// been measured there already.
func (s *cardSearch) take(l *lattice, scale float64) {
	dots := readDots(s.levels[0], l, scale)
	d := decode(dots.bits, s.designs, s.params)
	reading := CardReading{
		Card: d.design.ID, Seen: len(l.nodes), Total: len(d.design.Marks()),
		CellPx: l.cellSize() * scale, DotSpread: dots.spread,
		Agree: d.agree, Disagree: d.disagree, Score: d.score, Needed: d.needed, Mirrored: d.pose.mirrored,
	}
	switch {
	case !d.accepted():
		s.refuse(l, scale, reading)
		return
	case d.pose.mirrored:
		s.evidence.Mirrored = append(s.evidence.Mirrored, d.design.ID)
		return
	}
	v := newCardView(d.design)
	v.put(l, d.pose, scale)
	if s.isKnown(v) {
		return
	}
	v.measureMarks(s.fitter)
	s.keep(v, reading)
}

// keep records a measured card, or refuses it when too few marks held.
func (s *cardSearch) keep(v *cardView, r CardReading) {
	t := v.typical()
	r.Seen, r.BlurPx, r.Contrast, r.SigmaPx = v.count(spotFitted), t.blur, 2*t.contrast, t.sigma
	if size := v.cellSize(); size > 0 {
		r.CellPx = size
	}
	if r.Seen < s.params.MinMarks {
		s.evidence.Refused = append(s.evidence.Refused, r)
		return
	}
	s.found = append(s.found, foundCard{v, r})
}

// isKnown reports whether the card has been measured already in the same place.
// Two prints of one card in one photo are two sightings: they are apart by more
// than the difference of one mark's places could explain.
func (s *cardSearch) isKnown(v *cardView) bool {
	for _, f := range s.found {
		if f.view.design.ID != v.design.ID {
			continue
		}
		same, other := 0, 0
		for k := range v.spots {
			if v.spots[k].state != spotRough {
				continue
			}
			l, ok := f.view.around(v.place(k), 30, isFitted)
			if !ok {
				continue
			}
			if math.Hypot(l.x-v.spots[k].x, l.y-v.spots[k].y) < 2*f.reading.CellPx {
				same++
			} else {
				other++
			}
		}
		if same > other {
			return true
		}
	}
	return false
}

func (s *cardSearch) sortFound() {
	sort.SliceStable(s.found, func(a, b int) bool {
		x, y := s.found[a].reading.Card, s.found[b].reading.Card
		if x.Paper != y.Paper {
			return x.Paper < y.Paper
		}
		return x.Number < y.Number
	})
}

// sighting hands on the fitted marks in the order of card.Design.Marks. The
// fit's own uncertainty and the floor add as independent errors.
func (f *foundCard) sighting(params CardParams) Sighting {
	s := Sighting{Card: f.view.design.ID}
	for _, m := range f.view.design.Marks() {
		spot := &f.view.spots[f.view.number(m)]
		if spot.state == spotFitted {
			s.Marks = append(s.Marks, Mark{m, photo.Point{X: spot.x, Y: spot.y}, math.Hypot(spot.fit.sigma, params.SigmaFloor)})
		}
	}
	return s
}
