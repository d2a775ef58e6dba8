package sheet

import (
	"math"

	"fairedge/internal/plane"
)

// placeTexts gives every block of text to one page: the one that shows most of it in
// the part that stays in sight, where the block is moved inside and made smaller if it
// is too large. Words say something; their exact place does not.
func (p Plan) placeTexts(s Sheet) [][]Item {
	pages := make([][]Item, len(p.Tiles))
	sight := make([]plane.Rect, len(p.Tiles))
	for i := range p.Tiles {
		sight[i] = p.inSight(i)
	}
	busy := newOccupancy(p.bounds())
	for _, item := range s.Items {
		if _, isText := item.(Text); !isText {
			busy.item(item, 1)
		}
	}
	busy.total()
	for _, block := range textBlocks(s) {
		i := mostOf(sight, block.bounds())
		block = block.movedInto(sight[i], busy)
		busy.laterRect(block.bounds().Grow(1))
		for _, t := range block {
			pages[i] = append(pages[i], t)
		}
	}
	return pages
}

// textBlock is lines that keep together.
type textBlock []Text

// textBlocks returns the texts of the sheet by block, in the order in which the
// blocks first appear; a text without a block is one of its own.
func textBlocks(s Sheet) []textBlock {
	var blocks []textBlock
	index := map[string]int{}
	for _, item := range s.Items {
		t, isText := item.(Text)
		if !isText {
			continue
		}
		if i, known := index[t.Block]; known && t.Block != "" {
			blocks[i] = append(blocks[i], t)
			continue
		}
		index[t.Block] = len(blocks)
		blocks = append(blocks, textBlock{t})
	}
	return blocks
}

func (b textBlock) bounds() plane.Rect {
	r := plane.EmptyRect()
	for _, t := range b {
		r = r.Union(t.Bounds())
	}
	return r
}

// inSight returns the part of what a page shows that no neighbour is laid over.
func (p Plan) inSight(i int) plane.Rect {
	t := p.Tiles[i]
	w := t.Shows
	for _, next := range p.Tiles[i+1:] {
		j, meet := p.joinOf(t, next)
		switch {
		case meet && j.onto.X > 0:
			w.Max.X = math.Min(w.Max.X, next.Shows.Min.X)
		case meet:
			w.Min.Y = math.Max(w.Min.Y, next.Shows.Max.Y)
		}
	}
	return w
}

// mostOf returns the index of the window that shows most of the box, or the nearest
// one when none shows any.
func mostOf(windows []plane.Rect, b plane.Rect) int {
	best, bestScore := 0, math.Inf(-1)
	for i, w := range windows {
		dx := math.Min(b.Max.X, w.Max.X) - math.Max(b.Min.X, w.Min.X)
		dy := math.Min(b.Max.Y, w.Max.Y) - math.Max(b.Min.Y, w.Min.Y)
		score := dx * dy
		if dx <= 0 || dy <= 0 {
			score = math.Min(dx, 0) + math.Min(dy, 0)
		}
		if score > bestScore {
			best, bestScore = i, score
		}
	}
	return best
}

// clearOfBorder is how far words keep from their page's border, mm: clear of the
// join marks.
const clearOfBorder = 2*diamond + 2

// drawnOver is what a mm² of lines or other words under a block costs, in mm that it
// may be moved to keep clear of them.
const drawnOver = 5.0

// movedInto returns the block inside the window, clear of what is drawn if there is
// room: as near as can be to where it was, smaller where it must be.
func (b textBlock) movedInto(window plane.Rect, busy *occupancy) textBlock {
	window = window.Grow(-clearOfBorder)
	box := b.bounds()
	whole := math.Min(1, math.Min(window.Width()/box.Width(), window.Height()/box.Height()))
	best, bestCost := b, math.Inf(1)
	for _, smaller := range []float64{1, 0.85, 0.7, 0.55} {
		fit := whole * smaller
		half := plane.Vec{X: fit * box.Width() / 2, Y: fit * box.Height() / 2}
		free := plane.Rect{Min: window.Min.Add(half), Max: window.Max.Add(half.Neg())}
		for _, centre := range placesIn(free, box.Centre()) {
			on := busy.count(plane.Rect{Min: centre.Add(half.Neg()), Max: centre.Add(half)})
			if cost := centre.DistanceTo(box.Centre()) + drawnOver*on; cost < bestCost {
				best, bestCost = b.scaled(fit, centre), cost
			}
			if bestCost == 0 { // it may stay where it is
				return best
			}
		}
		if bestCost < 0.4*(window.Width()+window.Height()) {
			break
		}
	}
	return best
}

// placesIn returns places to try inside the box: the nearest to the wanted one, and a
// lattice over the box.
func placesIn(free plane.Rect, wanted plane.Point) []plane.Point {
	clamp := func(x, lo, hi float64) float64 { return math.Max(lo, math.Min(math.Max(lo, hi), x)) }
	places := []plane.Point{at(clamp(wanted.X, free.Min.X, free.Max.X), clamp(wanted.Y, free.Min.Y, free.Max.Y))}
	const step = 5.0
	for x := free.Min.X; x <= free.Max.X; x += step {
		for y := free.Min.Y; y <= free.Max.Y; y += step {
			places = append(places, at(x, y))
		}
	}
	return places
}

// scaled returns the block at another size, its middle at the place.
func (b textBlock) scaled(fit float64, centre plane.Point) textBlock {
	box := b.bounds()
	out := make(textBlock, len(b))
	for i, t := range b {
		t.At = centre.Add(t.At.Sub(box.Centre()).Scale(fit))
		t.Size *= fit
		out[i] = t
	}
	return out
}
