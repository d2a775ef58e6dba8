package cutsheet

import (
	"fmt"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// block is something of a known height that stands on a page as wide as the page's
// words.
type block struct {
	height float64
	draw   func(p *page, corner plane.Point) // upper left corner
	keep   bool                              // not the last on a page: what follows belongs to it
	// turns says that, when one page does not hold all, the next page begins here.
	turns bool
}

// page collects the items of a page.
type page struct{ items []sheet.Item }

func (p *page) text(t sheet.Text) { p.items = append(p.items, t) }

func (p *page) line(role sheet.Role, from, to plane.Point) {
	p.items = append(p.items, sheet.Stroke{Path: curve.OpenPath(curve.Line(from, to)), Role: role})
}

func (p *page) box(role sheet.Role, r plane.Rect) {
	path := curve.Polygon(r.Min, plane.Point{X: r.Max.X, Y: r.Min.Y}, r.Max, plane.Point{X: r.Min.X, Y: r.Max.Y})
	p.items = append(p.items, sheet.Stroke{Path: path, Role: role})
}

// lines writes lines below one another; the point is the upper left corner.
func (p *page) lines(t sheet.Text, corner plane.Point, lines []string) {
	for i, words := range lines {
		t.Words = words
		t.At = corner.Add(plane.Vec{Y: -t.Size * (0.82 + leading*float64(i))})
		p.text(t)
	}
}

func linesHeight(size float64, n int) float64 { return size * leading * float64(n) }

// flow puts blocks on pages.
type flow struct {
	paper  sheet.Paper
	blocks []block
}

func (f *flow) width() float64  { return f.paper.Width.Millimetres() - 2*margin }
func (f *flow) height() float64 { return f.paper.Height.Millimetres() - 2*margin - footer }

// footer is kept at the foot of every page for its number, mm.
const footer = 4.5

// blockGap is the free paper between blocks, mm.
const blockGap = 2.0

func (f *flow) add(b block) { f.blocks = append(f.blocks, b) }

// pages returns the blocks on as few pages as their order allows.
func (f *flow) pages() [][]block {
	whole := 0.0
	for _, b := range f.blocks {
		whole += b.height + blockGap
	}
	one := whole-blockGap <= f.height()
	var pages [][]block
	var here []block
	used := 0.0
	turn := func() {
		if len(here) > 0 {
			pages = append(pages, here)
		}
		here, used = nil, 0
	}
	for i, b := range f.blocks {
		need := b.height
		for j := i; j+1 < len(f.blocks) && f.blocks[j].keep; j++ {
			need += blockGap + f.blocks[j+1].height
		}
		if b.turns && !one || used+need > f.height() {
			turn()
		}
		here = append(here, b)
		used += b.height + blockGap
	}
	turn()
	return pages
}

// sheets draws the pages.
func (f *flow) sheets(title, foot string) []sheet.Sheet {
	pages := f.pages()
	out := make([]sheet.Sheet, len(pages))
	top := f.paper.Height.Millimetres() - margin
	for i, blocks := range pages {
		p := &page{}
		y := top
		for _, b := range blocks {
			b.draw(p, plane.Point{X: margin, Y: y})
			y -= b.height + blockGap
		}
		t := sheet.Text{Words: foot, Size: cautionType, At: plane.Point{X: margin, Y: margin}}
		p.text(t)
		p.text(sheet.Text{Words: fmt.Sprintf("cut sheet, page %d of %d", i+1, len(pages)), Size: cautionType, Anchor: sheet.End,
			At: plane.Point{X: margin + f.width(), Y: margin}})
		out[i] = sheet.Sheet{Width: f.paper.Width, Height: f.paper.Height, Title: title, Items: p.items}
	}
	return out
}

// heading returns a heading with a line over it; it keeps with what follows.
func (f *flow) heading(words string) block {
	return block{height: 1.5 * headType, keep: true, draw: func(p *page, corner plane.Point) {
		p.line(sheet.Thin, corner, corner.Add(plane.Vec{X: f.width()}))
		p.text(sheet.Text{Words: words, Size: headType, Bold: true, At: corner.Add(plane.Vec{Y: -1.25 * headType})})
	}}
}

// paragraph returns the sentence in the type of the bench, indented behind a sign that
// stands before it.
func (f *flow) paragraph(sign, sentence string) block {
	const indent = 6.5
	t := sheet.Text{Size: benchType}
	width, left := f.width(), 0.0
	if sign != "" {
		width, left = width-indent, indent
	}
	lines := t.Wrapped(width, sentence)
	return block{height: linesHeight(benchType, len(lines)), draw: func(p *page, corner plane.Point) {
		switch sign {
		case "":
		case "box":
			foot := corner.Add(plane.Vec{X: 1, Y: -0.95 * benchType})
			p.box(sheet.Thin, plane.Rect{Min: foot, Max: foot.Add(plane.Vec{X: 3, Y: 3})})
		default:
			number := t
			number.Words, number.Bold, number.At = sign, true, corner.Add(plane.Vec{Y: -0.82 * benchType})
			p.text(number)
		}
		p.lines(t, corner.Add(plane.Vec{X: left}), lines)
	}}
}

// row is a line of a list; a short sign, or none, stands before its words.
type row struct{ sign, words string }

// columns returns the rows in two columns that are read downward.
func (f *flow) columns(rows []row) block {
	indent := 0.0
	for _, r := range rows {
		if r.sign != "" {
			indent = 6.5
		}
	}
	t := sheet.Text{Size: benchType}
	wide := f.width()/2 - 3
	per := (len(rows) + 1) / 2
	type line struct {
		column, n int
		row
	}
	var all []line
	most := 0
	for i, r := range rows {
		column := i / per
		n := 0
		if len(all) > 0 && all[len(all)-1].column == column {
			n = all[len(all)-1].n + 1
		}
		for k, words := range t.Wrapped(wide-indent, r.words) {
			l := line{column, n + k, row{"", words}}
			if k == 0 {
				l.sign = r.sign
			}
			all = append(all, l)
			most = max(most, l.n+1)
		}
	}
	return block{height: linesHeight(benchType, most), draw: func(p *page, corner plane.Point) {
		for _, l := range all {
			at := corner.Add(plane.Vec{X: float64(l.column) * f.width() / 2, Y: -benchType * leading * float64(l.n)})
			if l.sign != "" {
				number := sheet.Text{Size: benchType, Bold: true}
				p.lines(number, at, []string{l.sign})
			}
			p.lines(t, at.Add(plane.Vec{X: indent}), []string{l.words})
		}
	}}
}
