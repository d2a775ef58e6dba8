package sheet

import (
	"fmt"

	"fairedge/internal/card"
	"fairedge/internal/plane"
)

// The layout of the page of loose cards, mm: two columns of two cards that share
// their cut line, with a strip between the columns for the bar along the sheet.
const (
	stripWidth  = 13.0
	looseHeader = 12.4 // writing above the cards
	looseFooter = 10.9 // the bar across the sheet, below the cards
)

func looseCards(paper card.Paper, size Paper) Sheet {
	p := newCardPage(paper, size)
	first, err := card.DesignOf(card.ID{Edition: card.Edition, Paper: paper, Number: 1})
	if err != nil {
		return p.sheet("four loose cards")
	}
	block := 2 * first.Height
	spare := (p.max.Y - p.min.Y) - block - looseHeader - looseFooter
	bottom := p.min.Y + looseFooter + spare/2
	centre := at((p.min.X+p.max.X)/2, bottom+block/2)
	for i := range card.LooseCards {
		d, err := card.DesignOf(card.ID{Edition: card.Edition, Paper: paper, Number: i + 1})
		if err != nil {
			continue // cannot happen: the numbers run up to LooseCards
		}
		p.looseCard(d, centre.Add(plane.Vec{
			X: float64(2*(i%2)-1) * (stripWidth + d.Width) / 2,
			Y: float64(1-2*(i/2)) * d.Height / 2,
		}))
	}
	p.cutGuides(centre, first)
	p.alongBar(at(centre.X+1.6, centre.Y))
	p.acrossBar(bottom-0.7, "Cutting: steel rule, mat, blade away from your hand.")
	p.looseHeading(bottom + block + spare/4)
	return p.sheet("four loose cards")
}

// looseHeading writes what the page is and what to do with it, above y.
func (p *cardPage) looseHeading(y float64) {
	half := CardBar.Millimetres() / 2
	left := (p.min.X+p.max.X)/2 - half
	p.text(Text{At: at(left, y+9.2), Size: 4, Bold: true,
		Words: fmt.Sprintf("Scale cards for %s paper: four loose cards", p.paper)})
	p.text(Text{At: at(left+2*half, y+9.2), Size: 2.6, Anchor: End,
		Words: fmt.Sprintf("fairedge, edition %d, page 1 of 2", card.Edition)})
	p.paragraph(Text{At: at(left, y+5.2), Size: 2.6}, 3.4,
		"Print at 100 %, no fit to page. Before cutting, lay a ruler on both bars and type what it reads (READING), in mm or in:",
		p.command(""))
	p.text(Text{At: at(left+2*half, y+1.8), Size: 2.6, Anchor: End, Words: "Then cut along the dashed lines."})
}

// cutGuides draws the lines along which the cards are cut apart.
func (p *cardPage) cutGuides(centre plane.Point, d card.Design) {
	inner, outer := stripWidth/2, stripWidth/2+d.Width
	for _, x := range []float64{-outer, -inner, inner, outer} {
		p.line(TrimGuide, centre.Add(plane.Vec{X: x, Y: -d.Height}), centre.Add(plane.Vec{X: x, Y: d.Height}))
	}
	for _, y := range []float64{-d.Height, 0, d.Height} {
		p.line(TrimGuide, centre.Add(plane.Vec{X: -outer, Y: y}), centre.Add(plane.Vec{X: -inner, Y: y}))
		p.line(TrimGuide, centre.Add(plane.Vec{X: inner, Y: y}), centre.Add(plane.Vec{X: outer, Y: y}))
	}
}

// looseCard draws one card: its field, its name below it, its directions.
func (p *cardPage) looseCard(d card.Design, centre plane.Point) {
	p.artwork(d, centre)
	left := centre.X + d.FieldMin.X
	foot := centre.Y - d.Height/2
	p.text(Text{At: at(left, foot+6.2), Size: 4.4, Bold: true,
		Words: fmt.Sprintf("%s of %d", d.ID, card.LooseCards)})
	p.text(Text{At: at(left, foot+2.6), Size: 2.3,
		Words: fmt.Sprintf("Scale card, edition %d. Lay it flat, this side up.", d.ID.Edition)})
	p.axes(at(-left+2*centre.X-11.5, foot+2.2), 7.4, 2.3)
}
