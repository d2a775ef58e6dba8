package sheet

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// CardBar is the nominal length of the two bars on every sheet of cards, from the
// middle of the first line to the middle of the last. A ruler read to half a
// millimetre on it gives the scale to 0.3 %.
const CardBar = 180 * length.Millimetre

// bar describes a printed ruler: a base line with end lines and divisions on its
// left side, seen along the direction.
type bar struct {
	id        string
	from      plane.Point
	direction plane.Vec // unit
	length    float64   // mm
	step      float64   // mm between divisions
	each      int       // divisions between numbers; 0 for none
	number    func(i int) string
	size      float64 // of the numbers, mm
}

// The lengths of a bar's lines in mm.
const (
	tickShort  = 1.6
	tickMiddle = 2.3
	tickLong   = 3.2
	barEnd     = 4.2
	barFoot    = 0.4 // how far an end line reaches over the base line
)

func (p *pen) bar(b bar) {
	side := b.direction.TurnLeft()
	to := b.from.Add(b.direction.Scale(b.length))
	p.stroke(b.id, ScaleLine, curve.OpenPath(curve.Line(b.from, to)))
	for _, end := range []plane.Point{b.from, to} {
		p.line(ScaleLine, end.Add(side.Scale(-barFoot)), end.Add(side.Scale(barEnd)))
	}
	count := int(math.Round(b.length / b.step))
	for i := 1; i < count; i++ {
		foot := b.from.Add(b.direction.Scale(float64(i) * b.step))
		p.line(ScaleTick, foot, foot.Add(side.Scale(tickLength(i))))
	}
	for i := 0; b.each > 0 && i <= count; i += b.each {
		foot := b.from.Add(b.direction.Scale(float64(i) * b.step))
		p.text(Text{
			At: foot.Add(side.Scale(barEnd + 0.6)), Words: b.number(i), Size: b.size,
			Angle: b.direction.Angle() * 180 / math.Pi, Anchor: Middle,
		})
	}
}

func tickLength(i int) float64 {
	switch {
	case i%10 == 0:
		return tickLong
	case i%5 == 0:
		return tickMiddle
	}
	return tickShort
}

// millimetreBar returns a bar with a division for every millimetre and a number
// for every 20.
func millimetreBar(id string, from plane.Point, direction plane.Vec, l length.Length) bar {
	return bar{
		id: id, from: from, direction: direction, length: l.Millimetres(), step: 1,
		each: 20, number: func(i int) string { return fmt.Sprint(i) }, size: 2,
	}
}
