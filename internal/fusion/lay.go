package fusion

import (
	"fmt"
	"math"

	"fairedge/internal/likeness"
	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// laid is a photo whose outline lies on that of the best photo.
type laid struct {
	numbered
	bestFromPhoto plane.Rigid
	parts         measure.ErrorParts // of the places
	seen          []seen             // at each site
	across        []float64          // at each place, mm
	moved         map[string]int     // of each card: which of the places where it lay in other photos
}

// layAll lays every photo on the first, which is the best and has the sites.
func layAll(photos []numbered, sites []site, places []plane.Point, params Params) ([]laid, error) {
	best := photos[0]
	all := make([]laid, len(photos))
	for i, p := range photos {
		l := laid{numbered: p, bestFromPhoto: plane.Identity()}
		if i > 0 {
			r, err := firstLie(p.Photo, best.Photo, sites, len(places), params)
			if err != nil {
				return nil, err
			}
			l.bestFromPhoto = r
		}
		var err error
		if l.parts, err = l.partsAt(outlineThrough(places)); err != nil {
			return nil, err
		}
		if i > 0 {
			variance := l.difference(all[0])
			l.bestFromPhoto = settle(p.Samples, l.bestFromPhoto, sites, variance, params.Reach)
		}
		l.seen = look(p.Samples, l.bestFromPhoto, sites, params.Reach)
		l.across = atPlaces(l.seen, sites, len(places))
		all[i] = l
	}
	nameCards(all, params)
	return all, nil
}

func outlineThrough(places []plane.Point) measure.Outline {
	return measure.Outline{Points: places, Closed: true}
}

// partsAt returns the photo's error parts at an outline of the best photo's plane frame.
func (l laid) partsAt(o measure.Outline) (measure.ErrorParts, error) {
	back := l.bestFromPhoto.Inverse()
	own := measure.Outline{Closed: o.Closed, Points: make([]plane.Point, len(o.Points)), Sigma: make([]float64, len(o.Points))}
	for i, p := range o.Points {
		own.Points[i], own.Sigma[i] = back.Apply(p), l.Uncertainty
	}
	own.Across = back.ApplyVec(o.Across)
	parts, err := l.Calibration.ErrorParts(own)
	if err != nil {
		return parts, fmt.Errorf("photo %d: %w", l.number+1, err)
	}
	return parts, nil
}

// difference returns the variance across the outline, at each place, of what is not the
// same in both photos.
func (l laid) difference(other laid) []float64 {
	a, b := apartVariance(l.parts, l.Noise), apartVariance(other.parts, other.Noise)
	for k := range a {
		a[k] += b[k]
	}
	return a
}

// apartVariance sums what a photo's outline may err by itself, and a sample's noise: the
// places are compared as they were seen, before fairing.
func apartVariance(e measure.ErrorParts, noise float64) []float64 {
	out := ownVariance(e)
	for k := range out {
		out[k] += noise * noise
	}
	return out
}

// firstLie lays a photo's outline on the best one's. A seat that fits several ways, as a
// square one does, is laid the way that a card lies that both photos show, if it lay
// still: then the outlines fit as well as they can.
func firstLie(p, best Photo, sites []site, places int, params Params) (plane.Rigid, error) {
	r, err := likeness.Register(p.Path, best.Path, likeness.Options{})
	if err != nil {
		return plane.Rigid{}, fmt.Errorf("laying an outline on another: %w", err)
	}
	even := make([]float64, places)
	for k := range even {
		even[k] = 1
	}
	at := settle(p.Samples, r.FixedFromMoved.Rigid, sites, even, params.Reach)
	least := rmsOf(look(p.Samples, at, sites, params.Reach))
	for _, c := range p.Calibration.Cards {
		for _, b := range best.Calibration.Cards {
			if b.Name != c.Name {
				continue
			}
			m := settle(p.Samples, b.PlaneFromCard.After(c.PlaneFromCard.Inverse()), sites, even, params.Reach)
			rms := rmsOf(look(p.Samples, m, sites, params.Reach))
			if stays(c, b, m, params) && rms < asWell*least+0.05 {
				at, least = m, math.Min(rms, least)
			}
		}
	}
	return at, nil
}

// asWell is how much worse, as a share, the outlines may fit the way the cards lie: a
// seat's own left and right differ by more.
const asWell = 1.1

// stays reports whether the card lies where it lay, when the photo is moved by m.
func stays(c, other measure.CardFit, m plane.Rigid, params Params) bool {
	moved := m.After(c.PlaneFromCard)
	turn := moved.After(other.PlaneFromCard.Inverse()).Angle()
	return moved.Apply(plane.Point{}).DistanceTo(other.PlaneFromCard.Apply(plane.Point{})) < params.UnmovedMM &&
		math.Abs(turn) < params.UnmovedRad
}

func rmsOf(all []seen) float64 {
	sum, n := 0.0, 0.0
	for _, s := range all {
		if !s.missing {
			sum, n = sum+s.across*s.across, n+1
		}
	}
	if n < float64(len(all))/2 {
		return math.Inf(1)
	}
	return math.Sqrt(sum / n)
}

// nameCards finds out which cards lay still. A card that lies where it lay in an earlier
// photo of the list has the same number there, else a new one.
func nameCards(all []laid, params Params) {
	for i := range all {
		all[i].moved = map[string]int{}
		for _, c := range all[i].Calibration.Cards {
			all[i].moved[c.Name] = i
			for j := range i {
				other, found := all[j].card(c.Name)
				if found && stays(c, other, all[i].bestFromPhoto, params) {
					all[i].moved[c.Name] = all[j].moved[c.Name]
					break
				}
			}
		}
	}
}

// card returns the photo's card of that name as it lies in the best photo's frame.
func (l laid) card(name string) (measure.CardFit, bool) {
	for _, c := range l.Calibration.Cards {
		if c.Name == name {
			c.PlaneFromCard = l.bestFromPhoto.After(c.PlaneFromCard)
			return c, true
		}
	}
	return measure.CardFit{}, false
}
