package sheet

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// Tiled returns the plates on pages of the paper: a first page with the job, the
// scale bars, the meaning of the lines and a picture of how the pages join, then
// the pages.
func Tiled(label Label, paper Paper, tiling Tiling, plates ...Plate) ([]Sheet, error) {
	p := &pen{}
	p.plates(label, plates, wholeMargin, 0)
	drawing := Sheet{Title: label.title(), Items: p.items}
	g, err := newGrid(drawing, paper, tiling)
	if err != nil {
		return nil, err
	}
	pages, err := Tiles(drawing, paper, tiling)
	if err != nil {
		return nil, err
	}
	return append([]Sheet{g.keyPage(drawing, label, plates)}, pages...), nil
}

// smallestBody is the least size of type in mm: 7 pt.
const smallestBody = 2.5

// keyPage is the page to read first. The type becomes smaller until all words fit
// above the lines' meanings and the scale bars.
func (g grid) keyPage(drawing Sheet, label Label, plates []Plate) Sheet {
	paper := plane.Rect{Max: at(g.paper.Width.Millimetres(), g.paper.Height.Millimetres())}
	free := paper.Grow(-g.margin)
	size := bodySize
	s := newStrip(label, plates, 0.95*free.Width(), size)
	for size > smallestBody && s.wordsHeight()+s.legendHeight()+stripTall+6 > free.Height() {
		size -= 0.25
		s = newStrip(label, plates, 0.95*free.Width(), size)
	}
	p := &pen{}
	top := at(free.Min.X, free.Max.Y)
	s.drawWords(p, top)
	s.drawLegend(p, top.Add(plane.Vec{Y: -s.wordsHeight() - 3}))
	p.checkBars(free.Min)
	g.joinPicture(p, drawing, plane.Rect{
		Min: at(free.Min.X+stripBars+6, free.Min.Y), Max: at(free.Max.X, free.Min.Y+stripTall+s.legendHeight()/2),
	})
	return Sheet{Width: g.paper.Width, Height: g.paper.Height, Title: drawing.Title + ", read this first", Items: p.items}
}

// joinPicture draws the pages and the outlines small, inside the box.
func (g grid) joinPicture(p *pen, drawing Sheet, box plane.Rect) {
	w, h := g.span(g.cols, g.width), g.span(g.rows, g.height)
	scale := math.Min(box.Width()/w, (box.Height()-10)/h)
	small := func(q plane.Point) plane.Point {
		return at(box.Min.X, box.Min.Y+h*scale).Add(q.Sub(g.corner).Scale(scale))
	}
	for row := range g.rows {
		for col := range g.cols {
			if len(g.clipped(drawing, row, col)) == 0 {
				continue
			}
			r := g.window(row, col)
			p.box(Thin, plane.Rect{Min: small(r.Min), Max: small(r.Max)})
			p.text(Text{At: small(r.Centre()).Add(plane.Vec{Y: -1.6}), Words: tileName(row, col), Size: 4.5, Anchor: Middle})
		}
	}
	for _, item := range drawing.Items {
		if s, ok := item.(Stroke); ok && s.Role == CutLine || ok && s.Role == FoamOutline {
			p.stroke("", ScaleLine, curve.Path.Map(s.Path, small))
		}
	}
	p.text(Text{At: at(box.Min.X, box.Min.Y+h*scale+3), Words: "How the pages join", Size: bodySize, Bold: true})
}
