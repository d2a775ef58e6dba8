package cloth

import (
	"fmt"
	"math"

	"fairedge/internal/pad"
)

// turns returns the turns in degrees that the cloth allows a part.
func (p Part) turns(c Cloth) []float64 {
	base := 0.0
	if c.Railroad && !p.freeOfGrain() && !p.Bias {
		base = 90
	}
	bases := []float64{base}
	if c.Way == EitherWay {
		bases = append(bases, base+180)
		if p.mayLieAlong(c) {
			bases = append(bases, base+90, base+270)
		}
	}
	if p.Strip || c.Tilt == 0 || p.motif != nil {
		return bases
	}
	all := bases
	for _, tilt := range []float64{c.Tilt, c.Tilt / 2} {
		for _, b := range bases {
			all = append(all, b+tilt, math.Mod(b-tilt+360, 360))
		}
	}
	return all
}

// freeOfGrain reports whether nobody sees which way a strip was cut.
func (p Part) freeOfGrain() bool {
	return p.Strip && (p.Kind == pad.PipingStrip || p.Kind == pad.TieStrip || p.Kind == pad.TabStrip || p.Kind == pad.FacingStrip)
}

// mayLieAlong reports whether a strip may run along plain cloth as well as across. Strips
// on the bias keep one direction, or their ends would not meet.
func (p Part) mayLieAlong(c Cloth) bool {
	if !p.Strip || p.Bias || c.Way != EitherWay {
		return c.Railroad && p.Strip && !p.Bias && !p.freeOfGrain()
	}
	return p.freeOfGrain() || !c.HasRepeat()
}

// turnWords says how a part lies that is turned by so many degrees.
func (p Part) turnWords(degrees float64) string {
	quarter := math.Round(degrees / 90)
	tilt := degrees - 90*quarter
	way := int(quarter) % 4
	if p.Strip {
		switch {
		case p.Bias:
			return "on the bias"
		case way%2 == 0:
			return "across"
		}
		return "along"
	}
	words := []string{"back to the far end", "back to the left selvedge", "back to the start", "back to the right selvedge"}[way]
	switch {
	case tilt > 0:
		words += fmt.Sprintf(", %.1f degrees to the left", tilt)
	case tilt < 0:
		words += fmt.Sprintf(", %.1f degrees to the right", -tilt)
	}
	return words
}
