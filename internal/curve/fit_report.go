package curve

import (
	"math"

	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// report turns the chain into a path with its evidence.
func (tr *fitTrace) report(c fitChain, noise fitNoise) (Fair, error) {
	fair := Fair{Strays: tr.strays}
	fair.Path, fair.Corners = tr.orientedPath(&c)
	tr.measureResiduals(&c, &fair)
	fair.CorrelationLength = math.Max(tr.spacing, noise.correlated*2*math.Sqrt(math.Pi)*noise.c)
	fair.Uncertainty = math.Sqrt(noise.slow(tr.h) * float64(c.numbers()) / float64(len(tr.blocks)))
	for _, s := range fair.Path.segments {
		fair.Fairness += fairnessOf(s)
	}
	if err := fair.Path.Validate(); err != nil {
		return Fair{}, problem.New(problem.NoOutline, "the measured points do not form a clean outline",
			"trace the edge again").Because(err)
	}
	return fair, nil
}

// orientedPath returns the chain as a path, unmirrored, from the corner, or failing
// corners the joint, with the least x + y; and the pieces that start at corners.
func (tr *fitTrace) orientedPath(c *fitChain) (Path, []int) {
	segments, m := c.segments(), len(c.joints)
	corner := make([]bool, m)
	any := false
	for i, j := range c.joints {
		corner[i] = j.corner
		any = any || j.corner
	}
	if tr.mirrored {
		flip := func(p plane.Point) plane.Point { return plane.Point{X: -p.X, Y: p.Y} }
		segments = ClosedPath(segments...).Map(flip).Reversed().Segments()
		for i, j := range c.joints {
			corner[(m-i)%m] = j.corner
		}
	}
	first, least := 0, math.Inf(1)
	for i, s := range segments {
		if v := s.P0.X + s.P0.Y; v < least && (corner[i] || !any) {
			first, least = i, v
		}
	}
	var corners []int
	for k := range m {
		if corner[(first+k)%m] {
			corners = append(corners, k)
		}
	}
	return ClosedPath(segments...).StartingAt(first), corners
}

// measureResiduals fills RMS, Max and Noise from the seen samples themselves.
func (tr *fitTrace) measureResiduals(c *fitChain, fair *Fair) {
	segments := c.segments()
	var sizes []float64
	sum := 0.0
	for i := range tr.at {
		if !tr.seen[i] {
			continue
		}
		d := tr.distanceAt(i, c, segments)
		sum += d * d
		fair.Max = math.Max(fair.Max, d)
		sizes = append(sizes, d)
	}
	if len(sizes) > 0 {
		fair.RMS = math.Sqrt(sum / float64(len(sizes)))
		fair.Noise = 1.4826 * fitMedian(sizes)
	}
}

// distanceAt returns the distance of sample i to the pieces about its arc length.
func (tr *fitTrace) distanceAt(i int, c *fitChain, segments []Segment) float64 {
	k := 0
	for j := range c.joints {
		a, b := c.stretch(j, tr.length)
		s := tr.s[i]
		if s < a {
			s += tr.length
		}
		if s >= a && s < b {
			k = j
			t := (s - a) / (b - a)
			d := nearDistance(segments[k], tr.at[i], t)
			if t < 0.1 {
				d = math.Min(d, nearDistance(segments[c.prev(k)], tr.at[i], 1))
			}
			if t > 0.9 {
				d = math.Min(d, nearDistance(segments[c.next(k)], tr.at[i], 0))
			}
			return d
		}
	}
	return nearDistance(segments[k], tr.at[i], 0)
}

func nearDistance(s Segment, p plane.Point, t float64) float64 {
	for range 3 {
		t = newtonNearest(s, p, t)
	}
	return s.At(t).DistanceTo(p)
}

// fairnessOf returns the integral of (dκ/ds)² over the segment. With velocity
// v = B', w = v×B”: κ = w/|v|³, so dκ/dt = (v×B”')/|v|³ - 3 w (v·B”)/|v|⁵ and
// (dκ/ds)² ds = (dκ/dt)²/|v| dt. Simpson's rule on 64 steps.
func fairnessOf(s Segment) float64 {
	if s.Straight {
		return 0
	}
	const steps = 64
	jerk := s.SecondDerivative(1).Sub(s.SecondDerivative(0))
	sum := 0.0
	for k := 0; k <= steps; k++ {
		t := float64(k) / steps
		v, acc := s.Derivative(t), s.SecondDerivative(t)
		speed := v.Length()
		if speed == 0 {
			continue
		}
		rate := v.Cross(jerk)/(speed*speed*speed) - 3*v.Cross(acc)*v.Dot(acc)/math.Pow(speed, 5)
		weight := 2.0
		if k%2 == 1 {
			weight = 4
		}
		if k == 0 || k == steps {
			weight = 1
		}
		sum += weight * rate * rate / speed
	}
	return sum / (3 * steps)
}
