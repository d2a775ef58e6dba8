package fusion

import (
	"math"

	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// Budget says how far the fused outline may be from the truth, and why. The outline is in
// the best photo's plane frame; its Sigma is what no photo sees better for being one of
// several, as the hand's waver about the fair line.
func (f *Fused) Budget(o measure.Outline) (measure.Budget, error) {
	photos := f.averaged()
	parts := make([]measure.ErrorParts, len(photos))
	for i, p := range photos {
		var err error
		if parts[i], err = p.partsAt(o); err != nil {
			return measure.Budget{}, err
		}
	}
	sum := merge(photos, parts, weightsOf(parts))
	addSigma(&sum, o)
	if f.Dispute != nil {
		across := f.disputedAt(o.Points)
		sum.Parts = append(sum.Parts, measure.Disagreement(across, o.SizesOf(across)))
	}
	return measure.BudgetOfParts(o, sum), nil
}

// averaged returns the photos whose average the outline is.
func (f *Fused) averaged() []laid {
	if f.Dispute != nil {
		return f.photos[:1]
	}
	return f.photos
}

// addSigma adds the outline's own variance to that of seeing it, in proportion for the
// sizes.
func addSigma(e *measure.ErrorParts, o measure.Outline) {
	if o.Sigma == nil {
		return
	}
	before, added := 0.0, 0.0
	for k, s := range o.Sigma {
		before, added = before+e.Seen[k], added+s*s
		e.Seen[k] += s * s
	}
	for k := range e.SeenSizes {
		e.SeenSizes[k] *= 1 + added/math.Max(before, 1e-12)
	}
}

// disputedAt returns how far the other photo lies beyond the best one at the outline's
// points.
func (f *Fused) disputedAt(points []plane.Point) []float64 {
	out := make([]float64, len(points))
	for i, p := range points {
		nearest := 0
		for k, q := range f.places {
			if q.DistanceSqTo(p) < f.places[nearest].DistanceSqTo(p) {
				nearest = k
			}
		}
		out[i] = f.Dispute.across[nearest]
	}
	return out
}

// Repeatability is how far photos of one template, taken by one person with one phone,
// scatter (the basic method of ISO 5725-2:2019 for one laboratory and one level): standard deviations s_r in
// mm. What all photos have together, as the size of the print, is not in it.
type Repeatability struct {
	Photos                            int
	Width, Depth, Perimeter, Distance float64 // Distance: across the outline, over all places
}

// Limit is the greatest difference of two photos that 19 pairs of 20 keep: r = 2.8 s_r
// (ISO 5725-6:1994, 4.1).
func Limit(s float64) float64 { return 2.8 * s }

// Repeatability compares the photos that were not left out. across is the direction of
// the width in the best photo's plane frame.
func (f *Fused) Repeatability(across plane.Vec) Repeatability {
	n := len(f.photos)
	r := Repeatability{Photos: n}
	var widths, depths, perimeters []float64
	for _, p := range f.photos {
		turn := plane.RigidFromAngle(-across.Angle(), plane.Vec{}).After(p.bestFromPhoto)
		box := p.Path.Transform(turn).Bounds()
		widths, depths = append(widths, box.Width()), append(depths, box.Height())
		perimeters = append(perimeters, p.Path.ArcLength(arcTolerance))
	}
	r.Width, r.Depth, r.Perimeter = scatter(widths), scatter(depths), scatter(perimeters)
	places := len(f.photos[0].across)
	for k := range places {
		at := make([]float64, n)
		for i, p := range f.photos {
			at[i] = p.across[k]
		}
		s := scatter(at)
		r.Distance += s * s / float64(places)
	}
	r.Distance = math.Sqrt(r.Distance)
	return r
}

// scatter is the standard deviation of readings (JCGM 100:2008, 4.2.2).
func scatter(values []float64) float64 {
	n, mean, sum := float64(len(values)), 0.0, 0.0
	for _, v := range values {
		mean += v / n
	}
	for _, v := range values {
		sum += (v - mean) * (v - mean)
	}
	return math.Sqrt(sum / (n - 1))
}
