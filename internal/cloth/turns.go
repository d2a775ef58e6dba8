package cloth

import (
	"fmt"
	"math"

	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// turns returns the turns in degrees that the cloth allows a part, the usual one first.
func (p Part) turns(c Cloth) []float64 {
	base := 0.0
	if c.Railroad && p.followsGrain() {
		base = 90
	}
	if c.pipingAlong && p.Kind == pad.PipingStrip && !p.Bias {
		base = 90
	}
	if c.Way == OneNap && p.nap.Y > 0 {
		base += 180 // the pile of all pieces strokes towards the start
	}
	bases := []float64{base}
	if c.Way == EitherWay {
		bases = append(bases, base+180)
	}
	if p.mayLieEitherWay(c) {
		bases = []float64{0, 90}
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

// followsGrain reports whether one sees which way the part was cut: pieces and bands.
func (p Part) followsGrain() bool {
	return !p.Strip || p.Kind == pad.BandStrip || p.Kind == pad.ZipStrip
}

// mayLieEitherWay reports whether a strip may run along the cloth as well as across. Pile
// shades: on it only what hides, ties and facings, may. Bands follow a design and a
// pattern. Strips on the bias keep one direction, or their ends would not meet.
func (p Part) mayLieEitherWay(c Cloth) bool {
	switch {
	case !p.Strip || p.Bias:
		return false
	case c.Way == OneNap:
		return !p.followsGrain() && p.Kind != pad.PipingStrip
	case p.followsGrain():
		return c.Way == EitherWay && !c.HasRepeat() && !c.Railroad
	}
	return true
}

// reach returns the least extent across the cloth of a part in the turns it may have, mm.
func (p Part) reach(c Cloth) float64 {
	least := math.Inf(1)
	for _, degrees := range p.turns(c) {
		turn, b := turnBy(degrees, plane.Vec{}), plane.EmptyRect()
		for _, q := range p.outline {
			b = b.Include(turn.Apply(q))
		}
		least = math.Min(least, b.Width())
	}
	return least
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
	words := p.top + " to the " + []string{"far end", "left selvedge", "start", "right selvedge"}[way]
	switch {
	case tilt > 0:
		words += fmt.Sprintf(", %.1f degrees to the left", tilt)
	case tilt < 0:
		words += fmt.Sprintf(", %.1f degrees to the right", -tilt)
	}
	return words
}
