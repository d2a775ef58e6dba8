package cloth

import (
	"math"

	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// mm gives a number of millimetres its unit.
func mm(v float64) length.Length { return length.Length(v) * length.Millimetre }

// motifAcross returns where a column of motifs lies, mm from the left edge.
func (l *layer) motifAcross() float64 {
	if f := l.cloth.Repeat.First; f != nil {
		return f.Across.Millimetres()
	}
	return l.cloth.Width.Millimetres() / 2
}

// phases returns the places along the stretch of cloth that are tried for the first motif.
// Where the shop may be asked to cut at a given place of the pattern, the pieces of one
// part or another touch the squared line.
func (l *layer) phases(groups []group, from float64) []float64 {
	r := l.cloth.Repeat
	if r.Along == 0 {
		return []float64{0}
	}
	if r.First != nil {
		return []float64{r.First.Along.Millimetres() - from}
	}
	var all []float64
	for _, g := range groups {
		p := l.laid.Parts[g.part]
		if p.motif == nil {
			continue
		}
		for _, degrees := range p.turns(l.cloth) {
			all = appendNew(all, p.motifOverStart(degrees))
			if r.HalfDrop { // the pieces may lie in the columns between
				all = appendNew(all, p.motifOverStart(degrees)+r.Along.Millimetres()/2)
			}
		}
	}
	if len(all) == 0 {
		return []float64{0}
	}
	return all[:min(len(all), max(1, l.options.Params.Phases))]
}

// motifOverStart returns how far the motif lies over the lowest point of the part.
func (p Part) motifOverStart(degrees float64) float64 {
	turn, least := turnBy(degrees, plane.Vec{}), math.Inf(1)
	for _, q := range p.outline {
		least = math.Min(least, turn.Apply(q).Y)
	}
	// Whole micrometres, rounded up, so that the part surely lies over the line.
	return math.Ceil((turn.Apply(*p.motif).Y-least)*1e3) / 1e3
}

func appendNew(all []float64, v float64) []float64 {
	for _, old := range all {
		if math.Abs(old-v) < 0.01 {
			return all
		}
	}
	return append(all, v)
}

// Direction returns the way along which the pile strokes smooth or, of a one-way design,
// towards its top, as the pieces lie; zero on cloth that is alike from either end.
func (l *Laid) Direction() plane.Vec {
	for _, p := range l.Pieces {
		part := l.Parts[p.Part]
		switch {
		case part.Strip:
		case l.Cloth.Way == OneDesign:
			return p.ClothFromPart.ApplyVec(plane.Vec{Y: 1})
		case l.Cloth.Way == OneNap && part.nap == plane.Vec{}:
			return p.ClothFromPart.ApplyVec(plane.Vec{Y: -1}) // towards the front
		case l.Cloth.Way == OneNap:
			return p.ClothFromPart.ApplyVec(part.nap)
		}
	}
	return plane.Vec{}
}
