package curve

import (
	"math"
	"sort"

	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// fitTrace is the samples made ready: counter-clockwise, starting at a sample
// that does not depend on where they started, with arc length and block means.
type fitTrace struct {
	at       []plane.Point
	weight   []float64 // 1 = ordinary, 0 = ignored
	seen     []bool    // not bridged
	s        []float64 // arc length, ascending in [0, length)
	length   float64
	spacing  float64
	blocks   []fitBlock
	h        float64 // block length
	sums     fitSums
	normal   []plane.Vec // of the outline at each block, to the left
	corners  []fitCorner // ascending in s
	strays   int
	bumps    []fitMuted  // blocks without weight for being a bump
	mirrored bool        // x was negated, see canonicalHand
	rough    float64     // noise of one sample against its neighbours, mm
	fourier  *fitFourier // of as many values as there are blocks
}

// fitBlock is the mean of the samples along one stretch of the outline.
type fitBlock struct {
	at     plane.Point
	s      float64
	weight float64 // sum of sample weights / mean samples per block; 0 = empty or muted
	masked bool    // beside a corner
}

const fitLeastSamples = 60

// normalReach is the number of blocks to either side that give a block its normal.
const normalReach = 2.5

func newFitTrace(samples []Sample, params FitParams) (*fitTrace, error) {
	if err := checkFitSamples(samples); err != nil {
		return nil, err
	}
	tr := &fitTrace{}
	ordered, mirrored := canonicalHand(canonicalOrder(samples))
	tr.mirrored = mirrored
	for _, c := range ordered {
		tr.at = append(tr.at, c.At)
		tr.weight = append(tr.weight, 1)
		tr.seen = append(tr.seen, !c.Bridged)
	}
	tr.weigh(ordered, params)
	tr.measureArc(params)
	tr.muteSingles()
	tr.measureArc(params) // again, past the muted ones
	tr.average(params)
	tr.sumUp()
	tr.fourier = newFitFourier(len(tr.blocks))
	return tr, nil
}

// sumUp makes the sums and the normals, which the samples' weights decide.
func (tr *fitTrace) sumUp() {
	tr.sums = newFitSums(tr)
	tr.normal = make([]plane.Vec, len(tr.blocks))
	for k, b := range tr.blocks {
		tr.normal[k] = tr.sums.ray(b.s-normalReach*tr.h, b.s+normalReach*tr.h).along.TurnLeft()
	}
}

func checkFitSamples(samples []Sample) error {
	const remedy = "trace the whole edge again"
	if len(samples) < fitLeastSamples {
		return problem.Newf(problem.NoOutline, remedy,
			"the outline has only %d measured points, and %d are needed", len(samples), fitLeastSamples)
	}
	box := plane.EmptyRect()
	for i, c := range samples {
		if !c.At.IsFinite() || math.IsNaN(c.Sigma) || c.Sigma < 0 {
			return problem.Newf(problem.Internal, remedy, "measured point %d of the outline is not a number", i)
		}
		box = box.Include(c.At)
	}
	if area := math.Abs(signedSampleArea(samples)); area < 1e-3*box.Width()*box.Height() || area == 0 {
		return problem.New(problem.NoOutline, "the measured points enclose no area", remedy)
	}
	return nil
}

func signedSampleArea(samples []Sample) float64 {
	o, sum := samples[0].At, 0.0
	for i, c := range samples {
		sum += c.At.Sub(o).Cross(samples[(i+1)%len(samples)].At.Sub(o))
	}
	return sum / 2
}

// canonicalOrder returns the samples counter-clockwise, from the one farthest
// from their centroid: a choice that turning, mirroring, reversing and starting
// elsewhere do not change.
func canonicalOrder(samples []Sample) []Sample {
	n := len(samples)
	var c plane.Point
	for _, p := range samples {
		c = c.Add(plane.Vec{X: p.At.X / float64(n), Y: p.At.Y / float64(n)})
	}
	first, far := 0, -1.0
	for i, p := range samples {
		if d := p.At.DistanceSqTo(c); d > far {
			first, far = i, d
		}
	}
	step := 1
	if signedSampleArea(samples) < 0 {
		step = n - 1
	}
	out := make([]Sample, n)
	for i := range out {
		out[i] = samples[(first+i*step)%n]
	}
	return out
}

// canonicalHand mirrors the samples, in the y axis and in order, if those that
// come first lie farther from the first one than those that come last. So an
// outline and its mirror image pass through the same steps.
func canonicalHand(samples []Sample) ([]Sample, bool) {
	n := len(samples)
	skew := 0.0
	for i, p := range samples {
		skew += float64(n-2*i) * p.At.DistanceSqTo(samples[0].At)
	}
	if skew <= 0 {
		return samples, false
	}
	out := make([]Sample, n)
	for i, p := range samples {
		p.At.X = -p.At.X
		out[(n-i)%n] = p
	}
	return out, true
}

// weigh gives each sample its weight: by its own error, if known, relative to
// the median one, within a factor of four; little if bridged.
func (tr *fitTrace) weigh(samples []Sample, params FitParams) {
	var known []float64
	for _, c := range samples {
		if c.Sigma > 0 && !c.Bridged {
			known = append(known, c.Sigma)
		}
	}
	mid := fitMedian(known)
	for i, c := range samples {
		if c.Sigma > 0 && mid > 0 {
			tr.weight[i] = math.Min(4, math.Max(0.0625, mid*mid/(c.Sigma*c.Sigma)))
		}
		if c.Bridged {
			tr.weight[i] = params.BridgeWeight
		}
	}
}

// measureArc sets arc length along the samples smoothed by a Gaussian.
func (tr *fitTrace) measureArc(params FitParams) {
	n := len(tr.at)
	tr.spacing = tr.roughLength() / float64(n)
	smooth := smoothCyclic(tr.bridged(), params.ArcSmoothing/tr.spacing)
	tr.s = make([]float64, n)
	sum := 0.0
	for i := range smooth {
		tr.s[i] = sum
		sum += smooth[i].DistanceTo(smooth[(i+1)%n])
	}
	tr.length = sum
	tr.spacing = sum / float64(n)
}

// bridged returns the samples with each muted one put half way between the
// nearest others.
func (tr *fitTrace) bridged() []plane.Point {
	n := len(tr.at)
	out := append([]plane.Point(nil), tr.at...)
	for i := range out {
		if tr.weight[i] > 0 {
			continue
		}
		a, b := i, i
		for tr.weight[(a+n)%n] == 0 && i-a < n/2 {
			a--
		}
		for tr.weight[b%n] == 0 && b-i < n/2 {
			b++
		}
		out[i] = tr.at[(a+n)%n].Lerp(tr.at[b%n], float64(i-a)/float64(b-a))
	}
	return out
}

// roughLength returns the perimeter through means of about a two hundredth of
// the samples, averaged over all phases so that no start is preferred.
func (tr *fitTrace) roughLength() float64 {
	n := len(tr.at)
	k := n/200 + 1
	mean := boxCyclic(tr.bridged(), k/2)
	sum := 0.0
	for i := range mean {
		sum += mean[i].DistanceTo(mean[(i+k)%n])
	}
	return sum / float64(k)
}

// boxCyclic returns the means over 2 half + 1 neighbours in a closed sequence.
func boxCyclic(at []plane.Point, half int) []plane.Point {
	n := len(at)
	out := make([]plane.Point, n)
	for i := range at {
		var x, y float64
		for j := -half; j <= half; j++ {
			p := at[(i+j+n)%n]
			x += p.X
			y += p.Y
		}
		k := float64(2*half + 1)
		out[i] = plane.Point{X: x / k, Y: y / k}
	}
	return out
}

// smoothCyclic returns the closed sequence convolved with a Gaussian of the
// given standard deviation in samples; below 0.4 it is returned as it is.
func smoothCyclic(at []plane.Point, sigma float64) []plane.Point {
	if sigma < 0.4 {
		return at
	}
	half := min(int(3*sigma)+1, len(at)/4)
	kernel := make([]float64, half+1)
	sum := 0.0
	for j := range kernel {
		kernel[j] = math.Exp(-float64(j*j) / (2 * sigma * sigma))
		sum += kernel[j]
		if j > 0 {
			sum += kernel[j]
		}
	}
	n := len(at)
	out := make([]plane.Point, n)
	for i := range at {
		x, y := kernel[0]*at[i].X, kernel[0]*at[i].Y
		for j := 1; j <= half; j++ {
			a, b := at[(i+j)%n], at[(i-j+n)%n]
			x += kernel[j] * (a.X + b.X)
			y += kernel[j] * (a.Y + b.Y)
		}
		out[i] = plane.Point{X: x / sum, Y: y / sum}
	}
	return out
}

// muteSingles takes the weight from samples far off the mean of their six
// neighbours: six robust standard deviations, plus a sample spacing for corners.
func (tr *fitTrace) muteSingles() {
	const reach = 3
	n := len(tr.at)
	off := make([]float64, n)
	for i := range off {
		var x, y float64
		for j := 1; j <= reach; j++ {
			a, b := tr.at[(i+j)%n], tr.at[(i-j+n)%n]
			x += a.X + b.X
			y += a.Y + b.Y
		}
		along := tr.at[(i+reach)%n].Sub(tr.at[(i-reach+n)%n]).Unit()
		off[i] = math.Abs(along.Cross(tr.at[i].Sub(plane.Point{X: x / (2 * reach), Y: y / (2 * reach)})))
	}
	scale := 1.4826 * fitMedian(off)
	limit := 6*scale + tr.spacing
	tr.rough = scale / math.Sqrt(1+1.0/(2*reach))
	for i, d := range off {
		if d > limit {
			tr.weight[i] = 0
			tr.strays++
		}
	}
}

// average fills the blocks. Block 0 is centred on the first sample, so that
// reversing the samples reverses the blocks.
func (tr *fitTrace) average(params FitParams) {
	target := math.Max(params.Block, tr.spacing)
	n := friendlyCount(max(int(math.Round(tr.length/target)), 12))
	tr.h = tr.length / float64(n)
	tr.blocks = make([]fitBlock, n)
	for i, p := range tr.at {
		k, s := tr.blockOf(i)
		tr.blocks[k].take(p, s, tr.weight[i])
	}
	per := float64(len(tr.at)) / float64(n)
	for k := range tr.blocks {
		b := &tr.blocks[k]
		if b.weight < 1e-9 {
			*b = fitBlock{s: float64(k) * tr.h}
			continue
		}
		b.settle(per)
	}
}

// blockOf returns the block of sample i and the sample's arc length, negative for the
// last ones of the round, which belong to block 0.
func (tr *fitTrace) blockOf(i int) (int, float64) {
	s, n := tr.s[i], len(tr.blocks)
	k := int(s/tr.h + 0.5)
	if k == n {
		return 0, s - tr.length
	}
	return k, s
}

// take adds a sample to the sums of a block; settle makes means of them, per being the
// mean number of samples.
func (b *fitBlock) take(p plane.Point, s, w float64) {
	b.at = b.at.Add(plane.Vec{X: w * p.X, Y: w * p.Y})
	b.s += w * s
	b.weight += w
}

func (b *fitBlock) settle(per float64) {
	b.at = plane.Point{X: b.at.X / b.weight, Y: b.at.Y / b.weight}
	b.s /= b.weight
	b.weight /= per
}

// friendlyCount returns the count nearest to n, the lower of two, that has no prime
// factor above 7: the Fourier transform of the blocks takes a multiple of the time with
// large ones. Near 1000 such counts stand 2 % apart at most.
func friendlyCount(n int) int {
	for d := 0; ; d++ {
		for _, k := range [...]int{n - d, n + d} {
			rest := k
			for _, p := range [...]int{2, 3, 5, 7} {
				for rest > 1 && rest%p == 0 {
					rest /= p
				}
			}
			if rest == 1 {
				return k
			}
		}
	}
}

// fitMedian returns the median, 0 for none; values are reordered.
func fitMedian(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	v := append([]float64(nil), values...)
	sort.Float64s(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}
