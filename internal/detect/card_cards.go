package detect

import (
	"math"
	"slices"
	"sort"

	"fairedge/internal/photo"
	"fairedge/internal/plane"
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
		if len(s.found) > 0 && pass.level.scale > s.levels[s.base].scale {
			continue // coarser searches are for when there is nothing
		}
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

// passes returns the searches in the order to try: the base level; two coarser ones
// for blurred pictures (they cost a third of it); then finer and finer ones for far
// cards, at last with a kernel of half the size.
func (s *cardSearch) passes() []searchPass {
	wide := func(l level) searchPass { return searchPass{l, 2, 4, s.params.MinSaddle} }
	l := s.levels[s.base]
	list := []searchPass{wide(l)}
	for range 2 {
		if l = l.halved(); min(l.width, l.height) >= 64 {
			list = append(list, wide(l))
		}
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
	before := len(s.found)
	for _, order := range [][]int{byContrast(corners), asRead(corners)} {
		lattices := latticesOf(corners, order, l.width, l.height, minLatticeNodes, s.params)
		s.evidence.Searches = append(s.evidence.Searches,
			CardSearch{l.scale, len(peaks), len(corners), len(lattices)})
		sort.SliceStable(lattices, func(a, b int) bool { return len(lattices[a].nodes) > len(lattices[b].nodes) })
		for k := range lattices {
			s.take(&lattices[k], l.scale)
		}
		if len(s.found) > before {
			return
		}
	}
}

// take decodes one lattice and measures the card it shows, unless that card has
// been measured there already.
func (s *cardSearch) take(l *lattice, scale float64) {
	dots := readDots(s.levels[0], l, scale)
	d := decode(dots.bits, s.designs, s.params)
	reading := CardReading{
		Card: d.design.ID, Seen: len(l.nodes), Total: len(d.design.Marks()),
		CellPx: l.cellSize() * scale, Ragged: l.raggedness(), DotSpread: dots.spread,
		Agree: d.agree, Disagree: d.disagree, Score: d.score, Needed: d.needed, Mirrored: d.pose.mirrored,
	}
	switch {
	case !d.accepted():
		s.refuse(l, scale, reading)
		return
	case d.pose.mirrored:
		if !slices.Contains(s.evidence.Mirrored, d.design.ID) {
			s.evidence.Mirrored = append(s.evidence.Mirrored, d.design.ID)
		}
		return
	}
	v := newCardView(d.design)
	v.put(l, d.pose, scale)
	if known := s.known(v); known != nil {
		known.view.put(l, d.pose, scale)
		known.view.measureMarks(s.fitter)
		known.summarise()
		return
	}
	v.measureMarks(s.fitter)
	s.keep(v, reading)
}

// keep records a measured card, or refuses it when too few marks held.
func (s *cardSearch) keep(v *cardView, r CardReading) {
	f := foundCard{v, r}
	f.summarise()
	if f.reading.Seen < s.params.MinMarks || f.reading.CellPx < s.params.MinCell {
		s.evidence.Refused = append(s.evidence.Refused, f.reading)
		return
	}
	s.found = append(s.found, f)
}

// summarise brings the reading up to date with the measured marks.
func (f *foundCard) summarise() {
	t := f.view.typical()
	f.reading.Seen, f.reading.BlurPx = f.view.count(spotFitted), t.blur
	f.reading.Contrast, f.reading.SigmaPx = 2*t.contrast, t.sigma
	if size := f.view.cellSize(); size > 0 {
		f.reading.CellPx = size
	}
}

// known returns the card measured already that a new view is part of: of one
// name, and its marks where the other's are or would be. Something laid across a
// card parts it into several lattices, and later searches meet it again. Two
// prints of one card in a photo are two sightings: they lie apart by more than the
// error of a homography carried on from one part of a card to another, for which
// two cells and a tenth of the distance are allowed.
func (s *cardSearch) known(v *cardView) *foundCard {
	for k := range s.found {
		f := &s.found[k]
		if f.view.design.ID != v.design.ID {
			continue
		}
		h, ok := f.view.homography()
		if ok && v.fitsInto(&h, 2*f.reading.CellPx) {
			return f
		}
	}
	return nil
}

// homography returns the plane map through the fitted marks.
func (v *cardView) homography() (homography, bool) {
	var from []plane.Point
	var to []photo.Point
	for k := range v.spots {
		if s := &v.spots[k]; s.state == spotFitted {
			m := v.place(k)
			from, to = append(from, v.design.Mark(m.I, m.J)), append(to, photo.Point{X: s.x, Y: s.y})
		}
	}
	return photoFromCard(from, to)
}

// fitsInto reports whether most of the view's marks lie about where h has them.
func (v *cardView) fitsInto(h *homography, slack float64) bool {
	near, all := 0, 0
	for k := range v.spots {
		s := &v.spots[k]
		if s.state != spotRough {
			continue
		}
		m := v.place(k)
		p := h.photo(v.design.Mark(m.I, m.J))
		all++
		if math.Hypot(p.X-s.x, p.Y-s.y) < slack+0.1*math.Hypot(s.x-h.photoX, s.y-h.photoY) {
			near++
		}
	}
	return 2*near > all
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
