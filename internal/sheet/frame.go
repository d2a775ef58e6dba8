package sheet

import (
	"fmt"
	"math"

	"fairedge/internal/card"
	"fairedge/internal/plane"
)

// The writing above and below the frame, mm.
const (
	frameHeader = 5.8
	frameFooter = 10.9
	frameClear  = 4.0 // clear ground above and below, where the paper has it
)

func frameCard(paper card.Paper, size Paper) Sheet {
	p := newCardPage(paper, size)
	d, err := card.DesignOf(card.ID{Edition: card.Edition, Paper: paper, Number: card.Frame})
	if err != nil {
		return p.sheet("frame card")
	}
	spare := (p.max.Y - p.min.Y) - d.Height - frameHeader - frameFooter
	gap := math.Min(spare/2, frameClear)
	bottom := p.min.Y + frameFooter + spare/2
	centre := at((p.min.X+p.max.X)/2, bottom+d.Height/2)
	p.artwork(d, centre)
	p.acrossBar(bottom-gap-0.7, "Do not cut this card out: use the whole sheet.")
	p.frameHeading(bottom + d.Height + gap)
	middle := plane.RectFromPoints(d.CellMin(d.Ring, d.Ring), d.CellMin(d.Cols-d.Ring, d.Rows-d.Ring))
	p.frameMiddle(d, plane.Rect{
		Min: middle.Min.Add(centre.Sub(plane.Point{})), Max: middle.Max.Add(centre.Sub(plane.Point{})),
	})
	return p.sheet("frame card")
}

func (p *cardPage) frameHeading(y float64) {
	half := CardBar.Millimetres() / 2
	left := (p.min.X+p.max.X)/2 - half
	p.text(Text{At: at(left, y+1.5), Size: 4, Bold: true,
		Words: fmt.Sprintf("Scale card for %s paper: frame", p.paper)})
	p.text(Text{At: at(left+2*half, y+1.5), Size: 2.6, Anchor: End,
		Words: fmt.Sprintf("fairedge, edition %d, page 2 of 2", card.Edition)})
}

// frameMiddle fills the free middle of the ring: the bar along the sheet and what
// to do. Nothing comes nearer than 7 mm to the squares, so that they keep a clear
// ground on both sides.
func (p *cardPage) frameMiddle(d card.Design, free plane.Rect) {
	left := free.Min.X + 40
	p.alongBar(at(free.Min.X+20, free.Centre().Y))
	y := free.Centre().Y + 62
	p.text(Text{At: at(left, y), Size: 11, Bold: true, Words: d.ID.String()})
	p.axes(at(left, y-42), 30, 5)
	body := Text{At: at(left, y-60), Size: 3.6}
	p.steps(body, free.Max.X-12-left,
		"Print at 100 % (actual size), no fit to page.",
		"Lay a ruler on both bars, from the first line to the last: along, beside this text, and across, below the frame. Each must read "+barReading()+".",
		"Type what it reads (READING), in mm or inches: "+p.command(" --sheet frame"),
		"Lay the sheet inside the traced outline, this side up, quite flat; turn it as you like. Weigh the corners down with something flat that hides no squares.")
	p.text(Text{At: at(left, free.Min.Y+10), Size: 2.6, Words: "Later, with knife or cutter: blade moving away from your hand, fingers behind the rule."})
}

// steps writes numbered steps below one another, each wrapped to the width.
func (p *cardPage) steps(t Text, width float64, steps ...string) {
	const indent = 6
	leading := 1.4 * t.Size
	y := t.At.Y
	for i, step := range steps {
		number := t
		number.At.Y, number.Words = y, fmt.Sprintf("%d", i+1)
		number.Bold = true
		p.text(number)
		body := t
		body.At = at(t.At.X+indent, y)
		lines := wrap(body, width-indent, step)
		p.paragraph(body, leading, lines...)
		y -= leading*float64(len(lines)) + 0.6*t.Size
	}
}
