package sheet

import (
	"math"

	"fairedge/internal/plane"
)

// placeTexts gives every block of text to one page: the one that holds it whole in
// the part that stays in sight, or else the one that shows most of it, where the
// block is moved inside and made smaller if it is too large. Words say something;
// their exact place does not.
func (g grid) placeTexts(s Sheet) [][]Item {
	pages := make([][]Item, g.rows*g.cols)
	for _, block := range textBlocks(s) {
		i := g.mostOf(block.bounds())
		for _, t := range block.movedInto(g.inSight(i/g.cols, i%g.cols)) {
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

// inSight returns the part of a page's window that no neighbour is laid over: the
// pages to the right and below cover the overlap.
func (g grid) inSight(row, col int) plane.Rect {
	w := g.window(row, col)
	if col+1 < g.cols {
		w.Max.X -= g.overlap
	}
	if row+1 < g.rows {
		w.Min.Y += g.overlap
	}
	return w
}

// mostOf returns the index of the page that shows most of the box.
func (g grid) mostOf(b plane.Rect) int {
	best, bestArea := 0, -1.0
	for i := range g.rows * g.cols {
		w := g.inSight(i/g.cols, i%g.cols)
		dx := math.Min(b.Max.X, w.Max.X) - math.Max(b.Min.X, w.Min.X)
		dy := math.Min(b.Max.Y, w.Max.Y) - math.Max(b.Min.Y, w.Min.Y)
		if area := math.Max(dx, 0) * math.Max(dy, 0); area > bestArea {
			best, bestArea = i, area
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
