package fusion

import (
	"fmt"
	"math"

	"fairedge/internal/measure"
)

// sharing is how far a quantity is the same in several photos.
type sharing int

const (
	own     sharing = iota // each photo has its own
	common                 // one and the same
	alike                  // perhaps the same: correlation from 0 to 1
	anyways                // perhaps the same, with either sign
)

// sharingOf says how far photos have a quantity together.
func sharingOf(of measure.ErrorOf) sharing {
	switch of {
	case measure.OfPrint, measure.OfHeight, measure.OfTape:
		return common
	case measure.OfLens, measure.OfCard, measure.OfBuckle:
		return alike
	case measure.OfLensAxis:
		return anyways
	}
	return own
}

// keyOf names a quantity among all photos'; "" is the photo's own.
func (l laid) keyOf(p measure.ErrorPart) string {
	switch p.Of {
	case measure.OfLens, measure.OfLensAxis:
		return fmt.Sprintf("%d %s of %q", p.Of, p.Key, l.Camera)
	case measure.OfCard:
		return fmt.Sprintf("%d %s, place %d", p.Of, p.Key, l.moved[p.Card])
	}
	if sharingOf(p.Of) == own {
		return ""
	}
	return fmt.Sprintf("%d %s", p.Of, p.Key)
}

// ownVariance returns at each point what is not certainly the same in all photos.
func ownVariance(e measure.ErrorParts) []float64 {
	out := append([]float64(nil), e.Seen...)
	for _, p := range e.Parts {
		if sharingOf(p.Of) == common {
			continue
		}
		for k, v := range p.Point {
			out[k] += v * v
		}
	}
	return out
}

// weightsOf returns each photo's share at each point: proportional to one over the
// variance of what is not the same in all photos.
func weightsOf(parts []measure.ErrorParts) [][]float64 {
	weights := make([][]float64, len(parts))
	sum := make([]float64, len(parts[0].Seen))
	for i, e := range parts {
		weights[i] = ownVariance(e)
		for k, v := range weights[i] {
			weights[i][k] = 1 / math.Max(v, 1e-12)
			sum[k] += weights[i][k]
		}
	}
	for i := range weights {
		for k := range sum {
			weights[i][k] /= sum[k]
		}
	}
	return weights
}

// quantity is one error with what it does in each photo that has it.
type quantity struct {
	of     measure.ErrorOf
	effect []*measure.ErrorPart // of each photo; nil where it has none
}

// quantitiesOf lists what the photos' outlines may be off by, each quantity once. The
// parts of all photos must be about the same points.
func quantitiesOf(photos []laid, parts []measure.ErrorParts) []quantity {
	var out []quantity
	at := map[string]int{} // only looked up, never walked through
	for i, l := range photos {
		for k := range parts[i].Parts {
			p := &parts[i].Parts[k]
			key := l.keyOf(*p)
			place, known := at[key]
			if !known || key == "" {
				place = len(out)
				at[key] = place
				out = append(out, quantity{p.Of, make([]*measure.ErrorPart, len(photos))})
			}
			out[place].effect[i] = p
		}
	}
	return out
}
