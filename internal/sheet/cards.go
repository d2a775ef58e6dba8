package sheet

import (
	"fmt"
	"strings"

	"fairedge/internal/card"
	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// paperMargin is kept free on every side of a sheet of cards, in mm. The office
// printers that were looked up need 4 to 7; 10 also lets one artwork fit A4 and
// Letter.
const paperMargin = 10.0

// Cards returns the two pages of scale cards for a paper: the loose cards, then the
// frame. It returns nothing for a paper that there are no cards for.
func Cards(paper card.Paper) []Sheet {
	size, known := PaperFor(paper)
	if !known {
		return nil
	}
	return []Sheet{looseCards(paper, size), frameCard(paper, size)}
}

// cardPage is what both pages of cards have in common.
type cardPage struct {
	pen
	paper    card.Paper
	size     Paper
	min, max plane.Point // what may be printed on
}

func newCardPage(paper card.Paper, size Paper) *cardPage {
	return &cardPage{
		paper: paper, size: size,
		min: at(paperMargin, paperMargin),
		max: at(size.Width.Millimetres()-paperMargin, size.Height.Millimetres()-paperMargin),
	}
}

func (p *cardPage) sheet(what string) Sheet {
	return Sheet{
		Width: p.size.Width, Height: p.size.Height, Items: p.items,
		Title: fmt.Sprintf("fairedge scale cards, edition %d, %s: %s", card.Edition, p.paper, what),
	}
}

// artwork draws the printed field of a card whose middle lies at centre.
func (p *cardPage) artwork(d card.Design, centre plane.Point) {
	toSheet := centre.Sub(plane.Point{})
	var paths []curve.Path
	for r := range d.Rows {
		for c := range d.Cols {
			if d.HasCell(c, r) {
				paths = append(paths, cellInk(d, c, r, toSheet)...)
			}
		}
	}
	p.area("field-"+itemName(d.ID), Ink{}, paths...)
}

// cellInk returns the outlines of the printed part of a cell: a square, a square
// with a round hole, a dot, or nothing. Dark cells touch one another at corners
// only, so no two outlines overlap or share a side, and no hairline can open.
func cellInk(d card.Design, c, r int, shift plane.Vec) []curve.Path {
	lower := d.CellMin(c, r).Add(shift)
	cell := plane.Rect{Min: lower, Max: lower.Add(plane.Vec{X: card.Pitch, Y: card.Pitch})}
	dot := circle(cell.Centre(), card.DotRadius)
	switch dark, dotted := d.IsDark(c, r), d.HasDot(c, r); {
	case dark && dotted:
		return []curve.Path{rectangle(cell), dot.Reversed()}
	case dark:
		return []curve.Path{rectangle(cell)}
	case dotted:
		return []curve.Path{dot}
	}
	return nil
}

// itemName returns the card's name as an identifier: "a4-card-2".
func itemName(id card.ID) string {
	return strings.ReplaceAll(strings.ToLower(id.String()), " ", "-")
}

// command returns what to type when the ruler has been read.
func (p *cardPage) command(flags string) string {
	return fmt.Sprintf("fairedge print-check --paper %s%s --along READING --across READING",
		strings.ToLower(p.paper.String()), flags)
}

// barReading is what a ruler must say of a bar.
func barReading() string {
	return fmt.Sprintf("%.1f mm (%s)", CardBar.Millimetres(), inches32(CardBar))
}

// inches32 returns a length in inches to the nearest thirty-second: rulers in
// inches have them, and half of one is 0.4 mm.
func inches32(l length.Length) string {
	n := int(l.Inches()*32 + 0.5)
	whole, over, under := n/32, n%32, 32
	for over > 0 && over%2 == 0 {
		over, under = over/2, under/2
	}
	if over == 0 {
		return fmt.Sprintf("%d in", whole)
	}
	return fmt.Sprintf("%d %d/%d in", whole, over, under)
}

// acrossBar draws the bar across the sheet below y = top, with its reading under it
// and a note at the right.
func (p *cardPage) acrossBar(top float64, note string) {
	centre := (p.min.X + p.max.X) / 2
	half := CardBar.Millimetres() / 2
	y := top - 6.6
	p.bar(millimetreBar("bar-across", at(centre-half, y), plane.Vec{X: 1}, CardBar))
	label := Text{At: at(centre-half, y-3), Size: 2.4, Bold: true,
		Words: "ACROSS: line to line a ruler must read " + barReading()}
	p.text(label)
	p.text(Text{At: at(centre+half, y-3), Size: 2.4, Anchor: End, Words: note})
}

// alongBar draws the bar along the sheet, centred on the point, with its reading to
// its right.
func (p *cardPage) alongBar(centre plane.Point) {
	half := CardBar.Millimetres() / 2
	p.bar(millimetreBar("bar-along", at(centre.X, centre.Y-half), plane.Vec{Y: 1}, CardBar))
	p.text(Text{At: at(centre.X+2.9, centre.Y), Size: 2.4, Bold: true, Angle: 90, Anchor: Middle,
		Words: "ALONG: line to line a ruler must read " + barReading()})
}

// axes draws the two directions that the print record speaks of, with their corner
// at the point; size is the length of the arrows in mm.
func (p *cardPage) axes(corner plane.Point, size, letters float64) {
	p.arrow(Thin, corner, corner.Add(plane.Vec{Y: size}), letters*0.75)
	p.arrow(Thin, corner, corner.Add(plane.Vec{X: size}), letters*0.75)
	p.text(Text{At: corner.Add(plane.Vec{X: letters * 0.6, Y: size - letters*0.9}), Size: letters, Words: "along"})
	p.text(Text{At: corner.Add(plane.Vec{X: letters * 0.6, Y: letters * 0.5}), Size: letters, Words: "across"})
}
