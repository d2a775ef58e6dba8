package fusion

import (
	"math"

	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// site is a place on the best photo's outline where the others are looked for, along its
// normal. Values that are known at the places lie share of the way from place before to
// place after.
type site struct {
	at            plane.Point
	normal        plane.Vec // outward, unit
	place         int       // the place it is counted with
	before, after int
	share         float64
}

// between returns the value at the site of something known at the places.
func (s site) between(values []float64) float64 {
	return values[s.before]*(1-s.share) + values[s.after]*s.share
}

// sitesOf returns a site for each sample of the best photo, on its fair outline, and the
// places: the middles of equal stretches of about spacing mm.
func sitesOf(p Photo, spacing float64) (sites []site, places []plane.Point) {
	around := p.Path.ArcLength(arcTolerance)
	count := max(8, int(around/spacing))
	step := around / float64(count)
	at := make([]float64, count)
	for i := range at {
		at[i] = (float64(i) + 0.5) * step
	}
	for _, spot := range p.Path.AtLengths(at, arcTolerance) {
		places = append(places, spot.Point)
	}
	sites = make([]site, len(p.Samples))
	for i, s := range p.Samples {
		spot, _ := p.Path.Nearest(s.At)
		sites[i].at, sites[i].normal = spot.Point, p.Path.Segment(spot.Piece).OutwardNormal(spot.T)
		along := p.Path.LengthTo(spot, arcTolerance) / step
		sites[i].place = min(count-1, int(along))
		whole := math.Floor(along - 0.5)
		sites[i].before = (int(whole) + count) % count
		sites[i].after = (int(whole) + 1 + count) % count
		sites[i].share = along - 0.5 - whole
	}
	return sites, places
}

// arcTolerance of lengths along an outline, mm.
const arcTolerance = 0.01

// seen is where a photo's edge crosses a site's normal.
type seen struct {
	across  float64 // mm, positive outside
	sigma   float64 // of seeing it there, mm
	bridged bool
	missing bool // no edge within reach
}

// look returns where the edge, moved by m, crosses the normals of the sites. Of several
// crossings the nearest counts; the edge must run the way the outline does, so that the
// far side of a narrow neck is not taken for the near one.
func look(samples []measure.Sample, m plane.Rigid, sites []site, reach float64) []seen {
	moved := make([]plane.Point, len(samples))
	for i, s := range samples {
		moved[i] = m.Apply(s.At)
	}
	out := make([]seen, len(sites))
	for i, s := range sites {
		out[i] = lookAt(samples, moved, s, reach)
	}
	return out
}

func lookAt(samples []measure.Sample, moved []plane.Point, s site, reach float64) seen {
	best := seen{missing: true, across: reach}
	tangent := s.normal.TurnLeft()
	origin := s.at.Sub(plane.Point{})
	start, height := tangent.Dot(origin), s.normal.Dot(origin)
	last := len(moved) - 1
	before := tangent.X*moved[last].X + tangent.Y*moved[last].Y - start
	for j, p := range moved {
		after := tangent.X*p.X + tangent.Y*p.Y - start
		if before <= 0 && after > 0 {
			q := moved[last]
			t := before / (before - after)
			off := s.normal.X*(q.X+t*(p.X-q.X)) + s.normal.Y*(q.Y+t*(p.Y-q.Y)) - height
			if math.Abs(off) < math.Abs(best.across) {
				a, b := samples[last], samples[j]
				best = seen{across: off, sigma: a.Sigma + t*(b.Sigma-a.Sigma), bridged: a.Bridged || b.Bridged}
			}
		}
		before, last = after, j
	}
	return best
}

// atPlaces returns the mean of what was seen at the sites of each place; where nothing
// was seen, what lies between its neighbours.
func atPlaces(all []seen, sites []site, count int) []float64 {
	sum, n := make([]float64, count), make([]float64, count)
	for i, s := range all {
		if !s.missing {
			sum[sites[i].place] += s.across
			n[sites[i].place]++
		}
	}
	out := make([]float64, count)
	for k := range out {
		out[k] = neighbourly(sum, n, k)
	}
	return out
}

// neighbourly is the mean at place k, or that of the nearest places with a mean on both
// sides.
func neighbourly(sum, n []float64, k int) float64 {
	count := len(sum)
	for reach := range count/2 + 1 {
		a, b := (k+reach)%count, (k-reach+count)%count
		if n[a]+n[b] > 0 {
			return (sum[a] + sum[b]) / (n[a] + n[b])
		}
	}
	return 0
}
