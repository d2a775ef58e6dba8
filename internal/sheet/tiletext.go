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
	for _, block := range textBlocks(s) {
		i := mostOf(sight, block.bounds())
		for _, t := range block.movedInto(sight[i]) {
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

func (b textBlock) movedInto(window plane.Rect) textBlock {
	window = window.Grow(-clearOfBorder)
	box := b.bounds()
	fit := math.Min(1, math.Min(window.Width()/box.Width(), window.Height()/box.Height()))
	half := plane.Vec{X: fit * box.Width() / 2, Y: fit * box.Height() / 2}
	centre := at(
		math.Max(window.Min.X+half.X, math.Min(window.Max.X-half.X, box.Centre().X)),
		math.Max(window.Min.Y+half.Y, math.Min(window.Max.Y-half.Y, box.Centre().Y)),
	)
	out := make(textBlock, len(b))
	for i, t := range b {
		t.At = centre.Add(t.At.Sub(box.Centre()).Scale(fit))
		t.Size *= fit
		out[i] = t
	}
	return out
}
