package detect

import (
	"math"
	"slices"
	"sort"
)

// corner is a candidate mark: four sectors, dark and light in turn. Going round
// with rising angle (x to the right, y down), the picture turns from light to
// dark at the two ends of the line u and from dark to light at those of v, so the
// sector from u to v is dark. Neighbouring marks of a chessboard have the roles of
// u and v exchanged: that alone rules out most clutter.
type corner struct {
	x, y     float64 // level px
	u, v     float64 // angles of the lines, radians; u in [0, π), v in (u, u+π)
	contrast float64 // range of grey round about
}

const ringSamples = 32

// cornerRing is the circle on which candidates are checked.
type cornerRing struct {
	radius float64
	dx, dy [ringSamples]float64
}

func newCornerRing(radius float64) *cornerRing {
	r := &cornerRing{radius: radius}
	for k := range r.dx {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / ringSamples)
		r.dx[k], r.dy[k] = radius*cos, radius*sin
	}
	return r
}

// cornersOf returns the peaks that look like marks, strongest kept if there are
// more than the limit, in reading order.
func cornersOf(s smooth, peaks []peak, r *cornerRing, params CardParams) []corner {
	peaks = strongest(peaks, params.MaxCandidates)
	found := make([][]corner, stripeCount(len(peaks)))
	inStripes(len(peaks), func(stripe, from, to int) {
		for _, p := range peaks[from:to] {
			if c, ok := r.corner(s, p, params); ok {
				found[stripe] = append(found[stripe], c)
			}
		}
	})
	return slices.Concat(found...)
}

// strongest returns the n strongest peaks in their order; of those as strong as the
// weakest of them, the first.
func strongest(peaks []peak, n int) []peak {
	if len(peaks) <= n {
		return peaks
	}
	strengths := make([]int32, len(peaks))
	for k, p := range peaks {
		strengths[k] = p.strength
	}
	slices.Sort(strengths)
	weakest := strengths[len(strengths)-n]
	above := sort.Search(len(strengths), func(k int) bool { return strengths[k] > weakest })
	ties := n - (len(strengths) - above)
	kept := make([]peak, 0, n)
	for _, p := range peaks {
		if p.strength < weakest {
			continue
		}
		if p.strength == weakest {
			if ties == 0 {
				continue
			}
			ties--
		}
		kept = append(kept, p)
	}
	return kept
}

// corner checks one peak: enough contrast, four changes of tone, and the same
// after half a turn.
func (r *cornerRing) corner(s smooth, p peak, params CardParams) (corner, bool) {
	margin := r.radius + 2
	if p.x < margin || p.y < margin || p.x > float64(s.width)-margin || p.y > float64(s.height)-margin {
		return corner{}, false
	}
	var grey [ringSamples]float64
	low, high := math.Inf(1), math.Inf(-1)
	for k := range grey {
		grey[k] = s.at(p.x+r.dx[k], p.y+r.dy[k])
		low, high = math.Min(low, grey[k]), math.Max(high, grey[k])
	}
	contrast := high - low
	if contrast < params.MinRingContrast || asymmetry(&grey) > params.MaxRingAsymmetry*contrast {
		return corner{}, false
	}
	u, v, ok := ringCrossings(&grey, (low+high)/2)
	return corner{p.x, p.y, u, v, contrast}, ok
}

// asymmetry returns the mean difference of grey between opposite places.
func asymmetry(grey *[ringSamples]float64) float64 {
	sum := 0.0
	for k := 0; k < ringSamples/2; k++ {
		sum += math.Abs(grey[k] - grey[k+ringSamples/2])
	}
	return sum / (ringSamples / 2)
}

// minArc is the narrowest sector, radians: at 45 degrees of tilt right angles
// appear as no less than 2 atan(cos 45°) = 70 degrees, at 60 degrees of tilt as
// 53 degrees; the rest is for smoothing.
const minArc = 0.6

// ringCrossings returns the two lines along which grey crosses middle, if there are
// exactly four crossings that pair up into two lines.
func ringCrossings(grey *[ringSamples]float64, middle float64) (u, v float64, ok bool) {
	var falling, rising []float64
	for k := range grey {
		a, b := grey[k]-middle, grey[(k+1)%ringSamples]-middle
		if (a > 0) == (b > 0) {
			continue
		}
		angle := 2 * math.Pi * (float64(k) + a/(a-b)) / ringSamples
		if a > 0 {
			falling = append(falling, angle)
		} else {
			rising = append(rising, angle)
		}
		if len(falling) > 2 || len(rising) > 2 {
			return 0, 0, false
		}
	}
	if len(falling) != 2 || len(rising) != 2 {
		return 0, 0, false
	}
	u, okU := lineThrough(falling[0], falling[1])
	v, okV := lineThrough(rising[0], rising[1])
	if v < u {
		v += math.Pi
	}
	return u, v, okU && okV && v-u > minArc && v-u < math.Pi-minArc
}

// lineThrough returns the angle in [0, π) of the line through two opposite places
// of the ring, a < b, if they are opposite enough.
func lineThrough(a, b float64) (angle float64, ok bool) {
	angle = (a + b - math.Pi) / 2
	angle = math.Mod(angle+2*math.Pi, math.Pi)
	return angle, math.Abs(b-a-math.Pi) < 0.7
}
