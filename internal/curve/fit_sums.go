package curve

import (
	"math"
	"sort"

	"fairedge/internal/plane"
)

// fitSums answers "which straight line runs through the samples from arc length
// a to b" in the time of two look-ups, by running sums of moments over the
// outline gone round twice.
type fitSums struct {
	s                   []float64
	w, x, y, xx, xy, yy []float64
	at                  []plane.Point
	origin              plane.Point
	length              float64
}

// fitRay is a regression line: a point, the direction of travel, the weight of
// the samples that it rests on.
type fitRay struct {
	at     plane.Point
	along  plane.Vec
	weight float64
}

func newFitSums(tr *fitTrace) fitSums {
	n := len(tr.at)
	f := fitSums{at: tr.at, origin: tr.at[0], length: tr.length, s: make([]float64, 2*n)}
	for _, v := range []*[]float64{&f.w, &f.x, &f.y, &f.xx, &f.xy, &f.yy} {
		*v = make([]float64, 2*n+1)
	}
	for i := 0; i < 2*n; i++ {
		f.s[i] = tr.s[i%n] + float64(i/n)*tr.length
		w, d := tr.weight[i%n], tr.at[i%n].Sub(f.origin)
		f.w[i+1] = f.w[i] + w
		f.x[i+1] = f.x[i] + w*d.X
		f.y[i+1] = f.y[i] + w*d.Y
		f.xx[i+1] = f.xx[i] + w*d.X*d.X
		f.xy[i+1] = f.xy[i] + w*d.X*d.Y
		f.yy[i+1] = f.yy[i] + w*d.Y*d.Y
	}
	return f
}

// span returns the sample numbers [i, j) with arc length in [a, b]; 0 <= a < length
// is arranged, b at most one round later.
func (f fitSums) span(a, b float64) (i, j int) {
	shift := math.Floor(a/f.length) * f.length
	a, b = a-shift, b-shift
	i = sort.SearchFloat64s(f.s, a)
	j = sort.Search(len(f.s), func(k int) bool { return f.s[k] > b })
	return i, j
}

// ray returns the total least squares line through the samples from arc length a
// to b. Fewer than three samples, or no spread, give weight 0.
func (f fitSums) ray(a, b float64) fitRay {
	i, j := f.span(a, b)
	w := f.w[j] - f.w[i]
	if j-i < 3 || w <= 0 {
		return fitRay{}
	}
	mx, my := (f.x[j]-f.x[i])/w, (f.y[j]-f.y[i])/w
	cxx := (f.xx[j]-f.xx[i])/w - mx*mx
	cxy := (f.xy[j]-f.xy[i])/w - mx*my
	cyy := (f.yy[j]-f.yy[i])/w - my*my
	angle := 0.5 * math.Atan2(2*cxy, cxx-cyy)
	sin, cos := math.Sincos(angle)
	along := plane.Vec{X: cos, Y: sin}
	n := len(f.at)
	if along.Dot(f.at[(j-1)%n].Sub(f.at[i%n])) < 0 {
		along = along.Neg()
	}
	return fitRay{f.origin.Add(plane.Vec{X: mx, Y: my}), along, w}
}

// turnAt returns the turn, in radians, between the lines through the window
// before s and the one after it, each beginning gap away from s; ok is false
// where samples are missing.
func (f fitSums) turnAt(s, gap, window float64) (turn float64, ok bool) {
	before := f.ray(s-gap-window, s-gap)
	after := f.ray(s+gap, s+gap+window)
	if before.weight == 0 || after.weight == 0 {
		return 0, false
	}
	return before.along.AngleTo(after.along), true
}

// crossing returns where two lines meet.
func crossing(a, b fitRay) (plane.Point, bool) {
	d := a.along.Cross(b.along)
	if math.Abs(d) < 1e-6 {
		return plane.Point{}, false
	}
	t := b.at.Sub(a.at).Cross(b.along) / d
	return a.at.Add(a.along.Scale(t)), true
}
