package sheet

import (
	"math"

	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// Plan says which part of a drawing each page shows.
type Plan struct {
	Paper  Paper
	Tiling Tiling
	Tiles  []Tile // band by band
	// Columns says that bands stand upright: pages A1, A2, ... lie below one another.
	// Otherwise they lie side by side.
	Columns bool
}

// Tile is one page's place.
type Tile struct {
	Band, Number int // from 0
	// Shows is the part of the drawing on the page. Neighbours in a band, and bands,
	// overlap by exactly the overlap.
	Shows plane.Rect
	// Turned says that the page lies on its side: the drawing is turned a quarter to
	// the left on it.
	Turned bool
}

// NewPlan finds the fewest pages of the paper that show all lines and areas of the
// sheet, closed lines with their inside, neighbours overlapping. Rows (or columns)
// of upright and of turned pages are mixed; each is shifted on its own.
func NewPlan(s Sheet, paper Paper, tiling Tiling) (Plan, error) {
	p := Plan{Paper: paper, Tiling: tiling}
	if paper.Height == 0 {
		p.Paper.Height = rollLength(s, tiling)
	}
	w, h := p.window()
	if err := p.check(w, h); err != nil {
		return Plan{}, err
	}
	b := linesBounds(s)
	if b.IsEmpty() {
		return Plan{}, problem.New(problem.Internal, "there is nothing to print", "report this with what you typed")
	}
	if area := b.Width() * b.Height() / (w * h); !(area < mostPages) || !(math.Max(b.Width(), b.Height()) < mostPages*h) {
		return Plan{}, problem.Newf(problem.Usage, "check that the cards were read at the right size",
			"the drawing of %.0f x %.0f mm needs more than %d pages", b.Width(), b.Height(), mostPages)
	}
	best := math.Inf(1)
	for _, a := range []axes{rowsDown, columnsOver} {
		f := search{cover: newCover(s, a, tiling.Overlap.Millimetres()), axes: a, width: w, height: h, overlap: tiling.Overlap.Millimetres(), best: map[int]*answer{}}
		found := f.answerFrom(0)
		if found.cost < best-0.5 {
			best = found.cost
			p.Columns = a == columnsOver
			p.Tiles = f.tiles(found.bands, troublesOf(s, a))
		}
	}
	if len(p.Tiles) == 0 {
		return Plan{}, problem.New(problem.Internal, "the drawing could not be laid on pages", "report this with what you typed")
	}
	return p, nil
}

// rollLength returns how long a page of a roll must be: as long as the drawing either
// way, with room for the scale bars and the notes.
func rollLength(s Sheet, tiling Tiling) length.Length {
	b := linesBounds(s)
	if b.IsEmpty() {
		return 0
	}
	const furniture = 60.0
	return length.Length(math.Ceil(math.Max(b.Width(), b.Height())+furniture)) + 2*tiling.Margin
}

// window returns what an upright page can show, mm.
func (p Plan) window() (width, height float64) {
	m := 2 * p.Tiling.Margin.Millimetres()
	return p.Paper.Width.Millimetres() - m, p.Paper.Height.Millimetres() - m
}

func (p Plan) check(w, h float64) error {
	o, m := p.Tiling.Overlap.Millimetres(), p.Tiling.Margin.Millimetres()
	if !(o >= 0 && m >= 0) || !(math.Min(w, h) >= smallestWindow) || o > math.Min(w, h)/3 {
		return problem.Newf(problem.Usage, "use A4, Letter or larger with margins and overlap of about 10 mm",
			"%s paper with margins of %s and an overlap of %s leaves too little room on a page",
			p.Paper.Name, p.Tiling.Margin.Metric(), p.Tiling.Overlap.Metric())
	}
	return nil
}

func linesBounds(s Sheet) plane.Rect {
	b := plane.EmptyRect()
	for _, item := range s.Items {
		if _, isText := item.(Text); !isText {
			b = b.Union(item.Bounds())
		}
	}
	return b
}

// tiles places the bands and their pages.
func (s *search) tiles(bands []band, troubles []trouble) []Tile {
	var tiles []Tile
	for k, v := range s.placeBands(bands, troubles) {
		u, _ := s.axes.window(s.width, s.height, bands[k].turned)
		number := 0
		for _, group := range groupsOf(s.onBand(v), u, s.overlap) {
			for _, part := range s.placePages(group, u, v, troubles) {
				tiles = append(tiles, Tile{k, number, s.axes.rect(part, v), bands[k].turned})
				number++
			}
		}
	}
	return tiles
}

// placeBands returns what each band shows of v.
func (s *search) placeBands(bands []band, troubles []trouble) []span {
	whole := span{s.place(0), s.place(len(s.strips))}
	starts := make([]int, 0, len(bands))
	if len(bands) > 1 {
		starts = s.bandStarts(bands, troubles, whole)
	}
	out := make([]span, len(bands))
	from := 0
	for k := range bands {
		out[k] = span{s.place(from), whole.hi}
		if k < len(starts) {
			if end := s.endBefore(starts[k]); end < starts[k] { // blank between them
				out[k].hi = s.place(end)
			} else {
				out[k].hi = math.Min(whole.hi, s.place(starts[k])+s.overlap)
			}
			from = starts[k]
		}
	}
	return out
}

// mostChoices is how many places are tried for each seam.
const mostChoices = 40

func (s *search) bandStarts(bands []band, troubles []trouble, whole span) []int {
	latest, earliest := s.latest(bands), s.earliest(bands)
	index := make([][]int, len(latest))
	choices := make([][]float64, len(latest))
	for k := range latest {
		step := max(1, (latest[k]-earliest[k])/mostChoices)
		for i := latest[k]; i >= min(earliest[k], latest[k]); i -= step {
			if len(s.strips[i]) > 0 {
				index[k] = append(index[k], i)
				choices[k] = append(choices[k], s.place(i))
			}
		}
	}
	reach := map[[2]int]int{}
	p := newProfile(whole)
	for _, t := range troubles {
		p.add(t.v, t.alongU+t.other)
	}
	p.total()
	may := func(k, from, to int) bool {
		start, end := 0, len(s.strips)
		if k > 0 {
			start = index[k-1][from]
		}
		if k < len(index) {
			end = s.endBefore(index[k][to])
		}
		far, known := reach[[2]int{k, start}]
		if !known {
			far = s.farthest(start, bands[k])
			reach[[2]int{k, start}] = far
		}
		return end <= far
	}
	chosen := seams{whole: whole, overlap: s.overlap, choices: choices, trouble: p, may: may}.choose()
	if chosen == nil {
		return latest
	}
	starts := make([]int, len(chosen))
	for k, v := range chosen {
		starts[k] = s.strip(v)
	}
	return starts
}

// group is a run of pages that overlap, and what they must show together.
type group struct {
	shows span
	pages int
}

func groupsOf(on spans, size, overlap float64) []group {
	var groups []group
	shown := math.Inf(-1)
	for _, w := range on.windows(size, overlap) {
		if len(groups) > 0 && w.lo < shown {
			groups[len(groups)-1].pages++
		} else {
			groups = append(groups, group{span{w.lo, w.lo}, 1})
		}
		shown = w.hi
		for _, part := range on {
			if part.lo < w.hi {
				g := &groups[len(groups)-1]
				g.shows.hi = math.Max(g.shows.hi, math.Min(part.hi, w.hi))
			}
		}
	}
	return groups
}

// placePages returns what each page of a group shows of u; v is what its band shows.
func (s *search) placePages(g group, size float64, v span, troubles []trouble) []span {
	if g.pages == 1 {
		return []span{g.shows}
	}
	step := size - s.overlap
	choices := make([][]float64, g.pages-1)
	for j := range choices {
		latest := g.shows.lo + float64(j+1)*step
		earliest := math.Max(g.shows.lo, g.shows.hi-size-float64(g.pages-2-j)*step)
		n := math.Max(1, math.Min(mostChoices, math.Floor(latest-earliest)))
		for i := range int(n) + 1 {
			choices[j] = append(choices[j], latest-(latest-earliest)*float64(i)/n)
		}
	}
	p := newProfile(g.shows)
	for _, t := range troubles {
		if v.lo <= t.v && t.v <= v.hi {
			p.add(t.u, t.alongV+t.other)
		}
	}
	p.total()
	may := func(k, from, to int) bool {
		lo, hi := g.shows.lo, g.shows.hi
		if k > 0 {
			lo = choices[k-1][from]
		}
		if k < len(choices) {
			hi = choices[k][to] + s.overlap
		}
		return hi-lo <= size+1e-6
	}
	starts := seams{whole: g.shows, overlap: s.overlap, choices: choices, trouble: p, may: may}.choose()
	out := make([]span, g.pages)
	lo := g.shows.lo
	for k := range out {
		out[k] = span{lo, g.shows.hi}
		if k < len(starts) {
			out[k].hi = math.Min(g.shows.hi, starts[k]+s.overlap)
			lo = starts[k]
		}
	}
	return out
}
