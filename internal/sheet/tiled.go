package sheet

import (
	"math"
	"slices"

	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// Tiled returns the plates on pages of the paper: a first page with the job, the
// scale bars, the meaning of the lines and a picture of how the pages join, then
// the pages.
func Tiled(label Label, paper Paper, tiling Tiling, plates ...Plate) ([]Sheet, error) {
	p := &pen{}
	p.plates(label, plates, wholeMargin, 0)
	drawing := Sheet{Title: label.title(), Items: p.items, Notes: pageNotes(label, plates)}
	plan, err := NewPlan(drawing, paper, tiling)
	if err != nil {
		return nil, err
	}
	check := plan.checkCrosses(&drawing)
	key := plan
	if paper.Height == 0 { // a roll is cut off where the page ends
		key.Paper.Height = min(rollKeyPage, plan.Paper.Height)
	}
	return append([]Sheet{key.keyPage(drawing, label, plates, check)}, plan.Pages(drawing)...), nil
}

// pageNotes returns what every page says: the day, which side is up, and what the
// lines are.
func pageNotes(label Label, plates []Plate) []string {
	var notes []string
	if !label.Date.IsZero() {
		notes = append(notes, label.Date.Format("2 January 2006")+".")
	}
	switch {
	case len(plates) == 1 && plates[0].Mirrored:
		notes = append(notes, "Second plate, mirrored: this side up when you cut it.")
	case len(plates) == 1:
		notes = append(notes, "Top plate, this side up.")
	}
	roles, _ := legendOf(plates)
	for _, r := range roles {
		switch r {
		case CutLine:
			notes = append(notes, "Thick black line: cut the fabric.")
		case FoamOutline:
			notes = append(notes, "Blue line with dots: cut the foam.")
		}
	}
	return notes
}

// rollKeyPage is the length of the first page on a roll: a sheet of A3 is enough.
const rollKeyPage = 420 * length.Millimetre

// smallestBody is the least size of type in mm: 7 pt.
const smallestBody = 2.5

// keyPage is the page to read first. The type becomes smaller until all words fit
// above the lines' meanings and the scale squares.
func (p Plan) keyPage(drawing Sheet, label Label, plates []Plate, check string) Sheet {
	paper := plane.Rect{Max: at(p.Paper.Width.Millimetres(), p.Paper.Height.Millimetres())}
	free := paper.Grow(-p.Tiling.Margin.Millimetres())
	if check != "" {
		label.Notes = append(slices.Clone(label.Notes), check)
	}
	size := bodySize
	s := newStrip(label, plates, 0.95*free.Width(), size)
	for size > smallestBody && s.wordsHeight()+s.legendHeight()+squaresTall+6 > free.Height() {
		size -= 0.25
		s = newStrip(label, plates, 0.95*free.Width(), size)
	}
	page := &pen{}
	top := at(free.Min.X, free.Max.Y)
	s.drawWords(page, top)
	s.drawLegend(page, top.Add(plane.Vec{Y: -s.wordsHeight() - 3}))
	page.checkSquares(free.Min)
	p.assemblyPlan(page, drawing, plane.Rect{
		Min: at(free.Min.X+squaresWide+6, free.Min.Y), Max: at(free.Max.X, free.Min.Y+squaresTall+s.legendHeight()/2),
	})
	return Sheet{Width: p.Paper.Width, Height: p.Paper.Height, Title: drawing.Title + ", read this first", Items: page.items}
}

// What the squares of the key page take up, mm.
const (
	squaresWide = 112.0
	squaresTall = 128.0
)

// checkSquares draws a square of 100 mm, ruled along two sides, inside the two far
// sides of one of 4 in.
func (p *pen) checkSquares(corner plane.Point) {
	l, four := CheckBar.Millimetres(), 4*length.Inch.Millimetres()
	from := corner.Add(plane.Vec{X: 8, Y: 8})
	p.bar(millimetreBar("scale-100mm-along", from, plane.Vec{Y: 1}, CheckBar))
	p.bar(millimetreBar("scale-100mm", from, plane.Vec{X: 1}, CheckBar))
	p.stroke("square-100mm", ScaleLine, rectangle(plane.Rect{Min: from, Max: from.Add(plane.Vec{X: l, Y: l})}))
	p.stroke("square-4in", ScaleLine, rectangle(plane.Rect{Min: from, Max: from.Add(plane.Vec{X: four, Y: four})}))
	note := Text{At: from.Add(plane.Vec{X: l / 2, Y: l/2 + 6}), Size: 4, Anchor: Middle}
	p.paragraph(note, 1.35*note.Size, "Print this page first and measure:", "the inner square 100.0 mm,",
		"the outer square 4 in,", "both ways, line to line.")
}

// assemblyPlan draws the pages and the outlines small, inside the box.
func (p Plan) assemblyPlan(page *pen, drawing Sheet, box plane.Rect) {
	box.Max.Y -= 14
	small, _ := p.small(box)
	p.picture(page, box, -1)
	for _, t := range p.Tiles {
		cell := plane.RectFromPoints(small(t.Shows.Min), small(t.Shows.Max))
		size := math.Min(4, math.Min(0.34*cell.Width(), 0.7*cell.Height()))
		page.text(Text{At: cell.Centre().Add(plane.Vec{Y: -0.35 * size}), Words: t.Name(), Size: size, Anchor: Middle})
	}
	for _, item := range drawing.Items {
		if s, ok := item.(Stroke); ok && (s.Role == CutLine || s.Role == FoamOutline) {
			page.stroke("", ScaleTick, s.Path.Map(small))
		}
	}
	top := small(p.bounds().Max).Y
	page.text(Text{At: at(box.Min.X, top+8), Words: "How the pages join", Size: bodySize, Bold: true})
	page.text(Text{At: at(box.Min.X, top+3), Words: "Each letter first, then all.", Size: 3})
}
