package fusion

import (
	"math"

	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

func partsOf(photos []laid) []measure.ErrorParts {
	out := make([]measure.ErrorParts, len(photos))
	for i, p := range photos {
		out[i] = p.parts
	}
	return out
}

// farthest returns the photo that lies farthest from the weighted average of the others
// in standard deviations of that distance, and how far it lies there at every place.
func farthest(all []laid, places []plane.Point) (worst Apart, across []float64) {
	parts := partsOf(all)
	quantities := quantitiesOf(all, parts)
	for i := range all {
		others := weightsWithout(parts, i)
		off, variance := fromOthers(all, i, others), apartVariances(all, quantities, i, others)
		for k, d := range off {
			sigmas := math.Abs(d) / math.Sqrt(variance[k])
			if sigmas > worst.Sigmas {
				worst = Apart{all[i].number, d, places[k], sigmas}
				across = off
			}
		}
	}
	return worst, across
}

// weightsWithout returns the weights of all photos but one, which gets none.
func weightsWithout(parts []measure.ErrorParts, without int) [][]float64 {
	var rest []measure.ErrorParts
	for i, p := range parts {
		if i != without {
			rest = append(rest, p)
		}
	}
	weights := weightsOf(rest)
	none := make([]float64, len(weights[0]))
	return append(append(append([][]float64{}, weights[:without]...), none), weights[without:]...)
}

func fromOthers(all []laid, i int, others [][]float64) []float64 {
	out := append([]float64(nil), all[i].across...)
	for j, p := range all {
		for k, d := range p.across {
			out[k] -= others[j][k] * d
		}
	}
	return out
}

// apartVariances returns at each place the variance of a photo's distance from the
// average of the others: the most that it can be when what may be the same in several
// photos is so, or is not.
func apartVariances(all []laid, quantities []quantity, i int, others [][]float64) []float64 {
	out := make([]float64, len(all[i].across))
	for k := range out {
		for _, q := range quantities {
			out[k] += q.apart(i, k, others)
		}
	}
	for j, p := range all {
		for k := range out {
			w := others[j][k]
			if j == i {
				w = 1
			}
			out[k] += w * w * (p.parts.Seen[k] + p.Noise*p.Noise)
		}
	}
	return out
}

// apart returns what one quantity adds to that variance at place k.
func (q quantity) apart(i, k int, others [][]float64) float64 {
	mine, sum, squares, sizes := 0.0, 0.0, 0.0, 0.0
	for j, p := range q.effect {
		switch {
		case p == nil:
		case j == i:
			mine = p.Point[k]
		default:
			e := others[j][k] * p.Point[k]
			sum, squares, sizes = sum+e, squares+e*e, sizes+math.Abs(e)
		}
	}
	same, apart := (mine-sum)*(mine-sum), mine*mine+squares
	switch sharingOf(q.of) {
	case common:
		return same
	case alike:
		return math.Max(same, apart)
	case anyways:
		return (math.Abs(mine) + sizes) * (math.Abs(mine) + sizes)
	}
	return apart
}
