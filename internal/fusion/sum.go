package fusion

import "fairedge/internal/measure"

// merge turns the photos' parts into those of their weighted average.
func merge(photos []laid, parts []measure.ErrorParts, weights [][]float64) measure.ErrorParts {
	var out measure.ErrorParts
	for _, q := range quantitiesOf(photos, parts) {
		out.Parts = append(out.Parts, q.averaged(weights)...)
	}
	ink(&out, parts, weights)
	return out
}

// averaged returns the quantity's error of the average, as the head of the package has it.
func (q quantity) averaged(weights [][]float64) []measure.ErrorPart {
	var all []measure.ErrorPart
	leader := 0
	for i, p := range q.effect {
		if p == nil {
			continue
		}
		all = append(all, weighted(*p, weights[i]))
		if last := len(all) - 1; dot(all[last], all[last]) > dot(all[leader], all[leader]) {
			leader = last
		}
	}
	along, against := all[leader], []measure.ErrorPart(nil)
	for i, p := range all {
		turned := dot(p, all[leader]) < 0
		switch kind := sharingOf(q.of); {
		case i == leader:
		case kind == common || !turned:
			along = plus(along, p, 1)
		case kind == anyways:
			along = plus(along, p, -1)
		case against == nil:
			against = []measure.ErrorPart{p}
		default:
			against[0] = plus(against[0], p, 1)
		}
	}
	return append(against, along)
}

// weighted returns a part of a photo times the photo's weight: at each point its own, for
// the sizes their mean.
func weighted(p measure.ErrorPart, weights []float64) measure.ErrorPart {
	point, mean := make([]float64, len(p.Point)), 0.0
	for k, v := range p.Point {
		point[k] = v * weights[k]
		mean += weights[k] / float64(len(weights))
	}
	p.Point = point
	for k := range p.Sizes {
		p.Sizes[k] *= mean
	}
	return p
}

func dot(a, b measure.ErrorPart) float64 {
	sum := 0.0
	for k, v := range a.Point {
		sum += v * b.Point[k]
	}
	return sum
}

// plus returns a + sign b.
func plus(a, b measure.ErrorPart, sign float64) measure.ErrorPart {
	point := make([]float64, len(a.Point))
	for k, v := range a.Point {
		point[k] = v + sign*b.Point[k]
	}
	a.Point = point
	for k, v := range b.Sizes {
		a.Sizes[k] += sign * v
	}
	return a
}

// ink averages what each point has for itself: seeing the edge is each photo's own, the
// line's roughness is the same line's in all.
func ink(out *measure.ErrorParts, parts []measure.ErrorParts, weights [][]float64) {
	out.Seen, out.Rough = make([]float64, len(weights[0])), parts[0].Rough
	out.RoughSizes = parts[0].RoughSizes
	for i, e := range parts {
		mean := 0.0
		for k, v := range e.Seen {
			w := weights[i][k]
			out.Seen[k] += w * w * v
			mean += w / float64(len(weights[i]))
		}
		for k, v := range e.SeenSizes {
			out.SeenSizes[k] += mean * mean * v
		}
	}
}
