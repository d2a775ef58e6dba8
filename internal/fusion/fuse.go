package fusion

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fairedge/internal/curve"
	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// Photo is what one photo says of the template, all in its own plane frame.
type Photo struct {
	Calibration *measure.Calibration
	Camera      string // photos of one camera have one name for it; the lens is theirs together
	Samples     []measure.Sample
	Path        curve.Path // the fair outline through them, closed, counter-clockwise
	Uncertainty float64    // standard deviation of Path across itself from seeing it, mm
	Noise       float64    // of one sample, mm
	Within      float64    // the photo's own statement, mm
}

// Params are the thresholds of Fuse.
type Params struct {
	// Spacing in mm of the places where photos are weighed and compared: their errors
	// change over centimetres. Closer: slower; wider: a corner is blurred.
	Spacing float64
	// Reach in mm: an outline farther off is not looked for. Smaller: a gross outlier is not
	// measured; larger: the other side of a narrow neck is found.
	Reach float64
	// Disagree: photos farther apart than so many standard deviations do not agree. An
	// outline has some fifteen places that err independently, so chance exceeds 4 once in
	// a thousand photos. Smaller: good photos are left out; larger: bad ones count.
	Disagree float64
	// Unmoved: a card that lies within so many mm and radians of where it lay in another
	// photo was not touched, and may curl there as it did. The comparison itself is right
	// to some tenths. Smaller: shared errors are averaged away; larger: averaging a card
	// that was laid anew goes unrewarded.
	UnmovedMM, UnmovedRad float64
}

// DefaultParams returns the thresholds described at Params.
func DefaultParams() Params {
	return Params{Spacing: 5, Reach: 25, Disagree: 4, UnmovedMM: 3, UnmovedRad: 0.02}
}

// Fused is one outline from several photos. Photos are numbered as they came.
type Fused struct {
	Best    int              // the photo whose plane frame all results are in
	Used    []int            // photos whose average the outline is, ascending
	LeftOut []Apart          // farthest first
	Dispute *Dispute         // the last two photos, when they disagree
	Samples []measure.Sample // of the edge, in the order of the best photo's

	photos []laid        // those compared last, best first
	places []plane.Point // where they were compared
	params Params
}

// Apart is a photo that lies off the others.
type Apart struct {
	Photo  int
	Off    float64     // mm where it lies farthest in standard deviations; positive outside
	At     plane.Point // there, in the best photo's plane frame
	Sigmas float64
}

// Dispute is two photos that disagree, neither of which can be blamed. The outline is
// that of Best alone.
type Dispute struct {
	Photos [2]int // ascending
	Off    float64
	At     plane.Point
	across []float64 // of the other photo beyond the best one, at the places
}

// Fuse makes one outline of two photos or more. The order of the photos matters only to
// their numbers.
func Fuse(photos []Photo, params Params) (*Fused, error) {
	if len(photos) < 2 {
		return nil, fmt.Errorf("fusing needs two photos or more, got %d", len(photos))
	}
	f := &Fused{params: params}
	left := inOrder(photos)
	for {
		sites, places := sitesOf(left[0].Photo, params.Spacing)
		all, err := layAll(left, sites, places, params)
		if err != nil {
			return nil, err
		}
		f.photos, f.places, f.Best = all, places, all[0].number
		worst, across := farthest(all, places)
		switch {
		case worst.Sigmas <= params.Disagree:
			f.average(sites)
			return f, nil
		case len(all) == 2:
			f.dispute(worst, across)
			return f, nil
		}
		f.LeftOut = append(f.LeftOut, worst)
		left = slices.DeleteFunc(left, func(n numbered) bool { return n.number == worst.Photo })
	}
}

// numbered is a photo with its number.
type numbered struct {
	Photo
	number int
}

// inOrder returns the photos, the most certain first, in an order that depends on what
// they say and not on how they came.
func inOrder(photos []Photo) []numbered {
	out := make([]numbered, len(photos))
	for i, p := range photos {
		out[i] = numbered{p, i}
	}
	slices.SortStableFunc(out, func(a, b numbered) int {
		return cmp.Or(cmp.Compare(a.Within, b.Within), cmp.Compare(a.Uncertainty, b.Uncertainty),
			cmp.Compare(len(a.Samples), len(b.Samples)), cmp.Compare(a.Samples[0].At.X, b.Samples[0].At.X))
	})
	return out
}

// average fuses the samples of all photos that are left.
func (f *Fused) average(sites []site) {
	for _, p := range f.photos {
		f.Used = append(f.Used, p.number)
	}
	slices.Sort(f.Used)
	f.Samples = make([]measure.Sample, len(sites))
	weights := weightsOf(partsOf(f.photos))
	for i, s := range sites {
		f.Samples[i] = f.averageAt(i, s, weights)
	}
}

// averageAt returns the fused sample at a site: the weighted mean of what the photos saw
// there. A photo that could not see the edge there counts only when none could.
func (f *Fused) averageAt(i int, s site, weights [][]float64) measure.Sample {
	out := f.photos[0].Samples[i]
	for _, bridged := range []bool{false, true} {
		sum, off, variance := 0.0, 0.0, 0.0
		for k, p := range f.photos {
			seen := p.seen[i]
			if seen.missing || seen.bridged != bridged {
				continue
			}
			w := s.between(weights[k])
			sum, off, variance = sum+w, off+w*seen.across, variance+w*w*seen.sigma*seen.sigma
		}
		if sum > 0 {
			out.At, out.Sigma, out.Bridged = s.at.Add(s.normal.Scale(off/sum)), math.Sqrt(variance)/sum, bridged
			return out
		}
	}
	return out
}

// dispute keeps the better photo's outline.
func (f *Fused) dispute(worst Apart, across []float64) {
	best, other := f.photos[0], f.photos[1]
	f.Used = []int{best.number}
	f.Samples = best.Samples
	f.Dispute = &Dispute{Photos: [2]int{min(best.number, other.number), max(best.number, other.number)},
		Off: math.Abs(worst.Off), At: worst.At, across: across}
}
