package detect

import (
	"math"

	"fairedge/internal/plane"
)

// chain is a closed way over the bench, counter-clockwise: the last point joins
// the first. Points are distinct.
type chain []plane.Point

// at returns point i, counted round and round.
func (c chain) at(i int) plane.Point { return c[wrap(i, len(c))] }

func wrap(i, n int) int { return ((i % n) + n) % n }

func (c chain) length() float64 {
	sum := 0.0
	for i, p := range c {
		sum += p.DistanceTo(c.at(i + 1))
	}
	return sum
}

// contains reports whether p lies inside (even-odd rule).
func (c chain) contains(p plane.Point) bool {
	in := false
	for i, a := range c {
		b := c.at(i + 1)
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			in = !in
		}
	}
	return in
}

// smooth returns the chain averaged with a Gaussian window of the given standard
// deviation in points. A circle of radius R shrinks by about s²/2R.
func (c chain) smooth(sigma float64) chain {
	n := int(3*sigma + 0.5)
	if n < 1 || len(c) < 3 {
		return append(chain(nil), c...)
	}
	weights := make([]float64, 2*n+1)
	sum := 0.0
	for k := -n; k <= n; k++ {
		weights[k+n] = math.Exp(-float64(k*k) / (2 * sigma * sigma))
		sum += weights[k+n]
	}
	out := make(chain, len(c))
	for i := range c {
		var x, y float64
		for k, w := range weights {
			p := c.at(i + k - n)
			x += w * p.X
			y += w * p.Y
		}
		out[i] = plane.Point{X: x / sum, Y: y / sum}
	}
	return out
}

// resample returns the chain at equal steps of about step millimetres of its
// length, starting at its first point, and for each new point the place on the
// old chain (index and share).
func (c chain) resample(step float64) (chain, []float64) {
	total := c.length()
	n := max(8, int(math.Round(total/step)))
	out, from := make(chain, 0, n), make([]float64, 0, n)
	i, start := 0, 0.0 // start: length at point i
	span := c.at(0).DistanceTo(c.at(1))
	for k := range n {
		s := total * float64(k) / float64(n)
		for s > start+span && i < len(c)-1 {
			start += span
			i++
			span = c.at(i).DistanceTo(c.at(i + 1))
		}
		t := 0.0
		if span > 0 {
			t = clamp((s-start)/span, 0, 1)
		}
		out = append(out, c.at(i).Lerp(c.at(i+1), t))
		from = append(from, float64(i)+t)
	}
	return out, from
}

// direction returns the unit direction of travel at point i, from the points
// reach places before and after.
func (c chain) direction(i, reach int) plane.Vec {
	return c.at(i + reach).Sub(c.at(i - reach)).Unit()
}
