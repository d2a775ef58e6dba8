package laysheet

import (
	"fmt"
	"math"

	"fairedge/internal/cloth"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// foamPages draws the sheets of one kind of foam, as many to a page as fit.
func foamPages(f *cloth.FoamLaid, h Heading) []sheet.Sheet {
	var all []sheet.Sheet
	aside := func(n float64) string { return fmt.Sprintf("%s. %s.", scaleWords(n), f.Words()) }
	probe := newPage(h, "", "")
	scale := scaleFor(f.SheetLength.Millimetres(), probe.free.Width()-10)
	tall := f.SheetWidth.Millimetres()/scale + 16
	each := max(1, int(probe.free.Height()/tall))
	for first := 1; first <= f.Sheets; first += each {
		p := newPage(h, "lay on foam", aside(scale))
		for k := first; k <= min(f.Sheets, first+each-1); k++ {
			top := p.free.Max.Y - float64(k-first)*tall
			p.foamSheet(f, k, scale, at(p.free.Min.X+8, top-tall+10))
		}
		all = append(all, p.sheet())
	}
	return all
}

// foamSheet draws one sheet with its lower left corner at a place.
func (p *page) foamSheet(f *cloth.FoamLaid, number int, scale float64, corner plane.Point) {
	on := func(q plane.Point) plane.Point { return corner.Add(plane.Vec{X: q.X / scale, Y: q.Y / scale}) }
	l, w := f.SheetLength.Millimetres(), f.SheetWidth.Millimetres()
	p.box(sheet.Thin, plane.RectFromPoints(on(at(0, 0)), on(at(l, w))))
	for _, piece := range f.Pieces {
		if piece.Sheet == number {
			p.blank(f, piece, scale, on)
		}
	}
	p.dimension(on(at(0, 0)).Add(plane.Vec{Y: -3.6}), on(at(l, 0)).Add(plane.Vec{Y: -3.6}), fmt.Sprintf("sheet %d: %s", number, both(f.SheetLength)), 2.2)
	p.dimension(on(at(0, 0)).Add(plane.Vec{X: -3.2}), on(at(0, w)).Add(plane.Vec{X: -3.2}), both(f.SheetWidth), 2.2)
}

// blank draws one blank with its name, its place and its back.
func (p *page) blank(f *cloth.FoamLaid, piece cloth.FoamPlaced, scale float64, on func(plane.Point) plane.Point) {
	outline := f.Outline(piece)
	var places []plane.Point
	for _, q := range outline {
		places = append(places, on(q))
	}
	p.fill(pieceGrey, places...)
	for i, q := range places {
		p.line(sheet.Notch, q, places[(i+1)%len(places)])
	}
	b := plane.RectFromPoints(outline...)
	t := sheet.Text{At: on(b.Centre()), Words: fmt.Sprintf("%s %d", f.Parts[piece.Part].Name, piece.Copy), Size: 2.6, Anchor: sheet.Middle}
	fit, _ := smaller(t, 0.85*b.Width()/scale, 0)
	p.text(fit)
	corners := sheet.Text{At: on(b.Centre()).Add(plane.Vec{Y: -3.4}), Size: 2, Anchor: sheet.Middle,
		Words: fmt.Sprintf("from %.0f, %.0f to %.0f, %.0f mm", whole(b.Min.X), whole(b.Min.Y), whole(b.Max.X), whole(b.Max.Y))}
	if fit, ok := smaller(corners, 0.85*b.Width()/scale, leastType); ok {
		p.text(fit)
	}
	if part := f.Parts[piece.Part]; !part.Glued {
		own := plane.RectFromPoints(part.Outline...)
		back, middle := at(own.Centre().X, own.Max.Y), own.Centre()
		q := on(piece.SheetFromPart.Apply(back.Lerp(middle, 0.17)))
		p.text(sheet.Text{At: q.Add(plane.Vec{Y: -0.7}), Words: "back", Size: 2.1, Anchor: sheet.Middle})
	}
}

// whole rounds to whole mm; -0 becomes 0.
func whole(mm float64) float64 { return math.Round(mm) + 0 }
