package laysheet

import (
	"fmt"
	"math"

	"fairedge/internal/cloth"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// drawDimensions draws the width below, the needed length on the left, and the way of the
// pile on the right.
func (p *picture) drawDimensions(first bool) {
	c := p.laid.Cloth
	w := c.Width.Millimetres()
	foot := p.on(at(0, p.from)).Y
	left, right := p.on(at(0, 0)).X, p.on(at(w, 0)).X
	u0, u1 := p.on(at(c.Selvedge.Millimetres(), 0)).X, p.on(at(w-c.Selvedge.Millimetres(), 0)).X
	p.dimension(at(u0, foot-3.6), at(u1, foot-3.6), "between the selvedges "+both(c.Usable()), 2.2)
	p.dimension(at(left, foot-8), at(right, foot-8), "width "+both(c.Width), 2.2)
	lo, hi := math.Max(p.from, 0), math.Min(p.to, (p.laid.Needed-2*c.Squaring).Millimetres())
	if hi > lo {
		words := "used " + both(length.Length(hi-lo)*length.Millimetre)
		if lo > 0 || hi < (p.laid.Needed-2*c.Squaring).Millimetres()-1e-6 {
			words = fmt.Sprintf("from %.0f to %.0f mm", lo, hi)
		}
		p.dimension(at(left-4, p.on(at(0, lo)).Y), at(left-4, p.on(at(0, hi)).Y), words, 2.2)
	}
	if first {
		p.dimension(at(left-9.5, p.on(at(0, p.from)).Y), at(left-9.5, p.on(at(0, p.to)).Y), "cloth "+both(length.Length(clothEnd(p.laid))*length.Millimetre+c.Squaring), 2.2)
	}
	p.drawArrow(right + 4)
}

// drawArrow shows the grain, or the way of the pile or the design.
func (p *picture) drawArrow(x float64) {
	y0, y1 := p.on(at(0, p.from)).Y, p.on(at(0, p.to)).Y
	tall := math.Min(42, 0.8*(y1-y0))
	middle := (y0 + y1) / 2
	lo, hi := at(x, middle-tall/2), at(x, middle+tall/2)
	d := p.laid.Direction()
	switch {
	case d == plane.Vec{}:
		p.arrow(sheet.GrainLine, at(x, middle), lo, 3)
		p.arrow(sheet.GrainLine, at(x, middle), hi, 3)
	case math.Abs(d.X) > math.Abs(d.Y): // railroaded: the arrow lies across, its words under it
		half := plane.Vec{X: math.Copysign(2.6, d.X)}
		p.arrow(sheet.GrainLine, at(x, middle).Add(half.Neg()), at(x, middle).Add(half), 2)
		p.text(sheet.Text{At: at(x+0.8, middle-6), Words: p.wayWords(), Size: 2.3, Angle: 90, Anchor: sheet.End})
		return
	case d.Y < 0:
		p.arrow(sheet.GrainLine, hi, lo, 3)
	default:
		p.arrow(sheet.GrainLine, lo, hi, 3)
	}
	p.text(sheet.Text{At: at(x+3.4, middle), Words: p.wayWords(), Size: 2.3, Angle: 90, Anchor: sheet.Middle})
}

// wayWords says what the arrow means.
func (p *picture) wayWords() string {
	switch p.laid.Cloth.Way {
	case cloth.OneNap:
		return "pile strokes smooth this way"
	case cloth.OneDesign:
		return "top of the design"
	}
	return "grain"
}

// drawMotifs marks the middles of the motifs.
func (p *picture) drawMotifs() {
	m, r, c := p.laid.Motif, p.laid.Cloth.Repeat, p.laid.Cloth
	if m == nil || r.Along == 0 || r.Across == 0 {
		return
	}
	w := c.Width.Millimetres()
	dx, dy := r.Across.Millimetres(), r.Along.Millimetres()
	first := math.Ceil(-m.Across.Millimetres() / dx)
	for j := first; m.Across.Millimetres()+j*dx <= w; j++ {
		y := m.Along.Millimetres()
		if r.HalfDrop && math.Mod(j, 2) != 0 {
			y += dy / 2
		}
		for y -= dy * math.Ceil((y-p.from)/dy-1); y <= p.to; y += dy {
			if q := p.on(at(m.Across.Millimetres()+j*dx, y)); p.within(y) {
				p.line(sheet.ScaleTick, q.Add(plane.Vec{X: -1, Y: -1}), q.Add(plane.Vec{X: 1, Y: 1}))
				p.line(sheet.ScaleTick, q.Add(plane.Vec{X: -1, Y: 1}), q.Add(plane.Vec{X: 1, Y: -1}))
			}
		}
	}
}

// drawWords writes what to buy, what is left and what is assumed beside the picture.
func (p *picture) drawWords() {
	x := p.on(at(p.laid.Cloth.Width.Millimetres(), 0)).X + gapToWords
	width := p.free.Max.X - x
	y := p.free.Max.Y - 4
	say := func(size float64, bold bool, words string) {
		y = p.paragraph(sheet.Text{At: at(x, y), Size: size, Bold: bold}, width, words) - 0.8
	}
	l := p.laid
	if l.Enough != nil {
		say(3.4, true, l.Enough.Words)
		say(body, false, "Used: "+cloth.Metres(l.Needed)+".")
	} else {
		say(4, true, "Buy "+cloth.Metres(l.Buy))
		say(body, false, "Used: "+cloth.Metres(l.Needed)+", squaring of both ends included.")
	}
	say(body, false, fmt.Sprintf("%.0f%% of the cloth becomes pieces.", 100*l.Usage))
	if len(l.Left) > 0 {
		y -= 1.5
		say(body, true, "Left over, whole")
		for _, o := range l.Left {
			say(2.4, false, o.Words)
		}
	}
	y -= 1.5
	say(body, true, "Before you chalk")
	for _, n := range l.Notes {
		say(2.4, false, n)
	}
	say(2.4, false, "At each cross, \"up\" is measured from the squared line, \"in\" from the left edge. The list of places follows.")
	if l.Motif != nil {
		say(2.4, false, "Slanting crosses are the middles of motifs.")
	}
	say(2.4, false, "Check the cloth's width and every size before cutting.")
}
