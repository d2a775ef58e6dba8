package cloth

import (
	"fmt"
	"math"

	"fairedge/internal/length"
)

// Enough compares the length at hand with what is needed.
type Enough struct {
	Have length.Length
	Over length.Length // negative: short by so much
	// Beyond are the numbers of the pieces that do not come out of the length at hand, as
	// they are laid here.
	Beyond []int
	// Pads is how many pads of the only order come out of the length; -1 where there are
	// several orders.
	Pads  int
	Words string
}

func (l *layer) enough() *Enough {
	have := l.options.Have
	if have <= 0 || len(l.laid.Pieces) == 0 {
		return nil
	}
	e := &Enough{Have: have, Over: have - l.laid.Needed, Pads: -1}
	if e.Over >= -length.Millimetre/100 {
		e.Over = max(0, e.Over)
		if len(l.laid.Orders) == 1 {
			e.Pads = l.laid.Orders[0].Pads
		}
		e.Words = fmt.Sprintf("You have %s: enough, %s over.", atHand(have), inCentimetres(e.Over, math.Floor))
		return e
	}
	e.Beyond = l.beyond(have)
	e.Words = fmt.Sprintf("You have %s: short by %s.", atHand(have), inCentimetres(-e.Over, math.Ceil))
	if len(l.laid.Orders) != 1 || l.laid.Stopped {
		e.Words += fmt.Sprintf(" %d of %d pieces do not come out of it.", len(e.Beyond), len(l.laid.Pieces))
		return e
	}
	e.Pads = l.mostPads()
	switch all := l.laid.Orders[0].Pads; {
	case all == 1:
	case e.Pads == 0:
		e.Words += " Not one pad comes out of it."
	default:
		e.Words += fmt.Sprintf(" Enough for %d of the %d pads.", e.Pads, all)
	}
	return e
}

// beyond returns the numbers of the pieces that do not come out of a length.
func (l *layer) beyond(have length.Length) (numbers []int) {
	last := (have - 2*l.cloth.Squaring).Millimetres()
	for _, p := range l.laid.Pieces {
		if boxOf(l.laid.Outline(p)).Max.Y > last+rounding {
			numbers = append(numbers, p.Number)
		}
	}
	return numbers
}

// mostPads returns how many pads of the only order come out of the length at hand, by
// halving and with a quarter of the work.
func (l *layer) mostPads() int {
	order := l.laid.Orders[0]
	o := l.options
	o.Have, o.Progress = 0, nil
	o.Params.Work /= 4
	fits, short := 0, order.Pads
	for short-fits > 1 {
		try := order
		try.Pads = (fits + short) / 2
		laid, err := Lay(l.ctx, l.cloth, []Order{try}, o)
		if err == nil && laid.Needed <= l.options.Have+length.Millimetre/100 {
			fits = try.Pads
		} else {
			short = try.Pads
		}
	}
	return fits
}

// atHand says a length that is there, in yards rounded down.
func atHand(l length.Length) string {
	return fmt.Sprintf("%s (%s)", plainMetres(l), eighths(int(math.Floor(float64(l/EighthOfYard)+1e-6))))
}

// inCentimetres says a length in whole centimetres and in inches.
func inCentimetres(l length.Length, round func(float64) float64) string {
	return fmt.Sprintf("%.0f cm (%s)", round(math.Round(l.Millimetres()*1e3)/1e4), l.Imperial())
}
