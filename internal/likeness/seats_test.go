package likeness_test

import (
	"math"
	"math/rand/v2"

	"fairedge/internal/curve"
	"fairedge/internal/likeness"
	"fairedge/internal/plane"
)

func pt(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

// seat describes a seat by what a maker would measure, mm: back, front, depth, the bow of
// front and of each side, the radii of front and back corners, how far the front is pushed
// to the right.
type seat struct{ back, front, depth, frontBow, leftBow, rightBow, frontRadius, backRadius, push float64 }

func randomSeat(rng *rand.Rand) seat {
	in := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	s := seat{back: in(300, 460), depth: in(330, 480), frontBow: in(0, 60), leftBow: in(-8, 20), frontRadius: in(10, 90), backRadius: in(5, 60)}
	s.front, s.rightBow = s.back+in(0, 100), s.leftBow
	if rng.IntN(4) == 0 { // one in four is not the same on both sides
		s.rightBow, s.push = in(-8, 20), in(-15, 15)
	}
	return s
}

// outline draws the seat: bowed edges between rounded corners, counter-clockwise.
func (s seat) outline() curve.Path {
	corner := []plane.Point{pt(s.back/2, 0), pt(-s.back/2, 0), pt(-s.front/2+s.push, -s.depth), pt(s.front/2+s.push, -s.depth)}
	radius := []float64{s.backRadius, s.backRadius, s.frontRadius, s.frontRadius}
	bow := []float64{0, s.leftBow, s.frontBow, s.rightBow} // of the edge from corner i to the next
	var segments []curve.Segment
	for i := range corner {
		before, next := corner[(i+3)%4], corner[(i+1)%4]
		from := corner[i].Lerp(before, radius[i]/corner[i].DistanceTo(before))
		to := corner[i].Lerp(next, radius[i]/corner[i].DistanceTo(next))
		segments = append(segments, curve.Cubic(from, from.Lerp(corner[i], 0.5523), to.Lerp(corner[i], 0.5523), to))
		end := next.Lerp(corner[i], radius[(i+1)%4]/corner[i].DistanceTo(next))
		out := end.Sub(to).TurnRight().Unit().Scale(bow[i] * 4 / 3)
		if bow[i] == 0 {
			segments = append(segments, curve.Line(to, end))
		} else {
			segments = append(segments, curve.Cubic(to, to.Lerp(end, 0.25).Add(out), to.Lerp(end, 0.75).Add(out), end))
		}
	}
	return curve.ClosedPath(segments...)
}

// wavered returns the outline as a hand that wavers by sigma mm rms would trace it: moved
// along its normals by a sum of waves down to 25 mm, weaker the shorter they are, as a
// polygon of points 4 mm apart.
func wavered(rng *rand.Rand, p curve.Path, sigma float64) curve.Path {
	around := p.ArcLength(0.01)
	n := int(around / 4)
	at := make([]float64, n)
	for i := range at {
		at[i] = around * float64(i) / float64(n)
	}
	spots := p.AtLengths(at, 0.01)
	waves := int(around / 25)
	offset, sum := make([]float64, n), 0.0
	for k := 2; k <= waves; k++ {
		size, phase := math.Exp(-float64(k)/float64(waves)*3)*rng.NormFloat64(), 2*math.Pi*rng.Float64()
		for i := range offset {
			offset[i] += size * math.Cos(2*math.Pi*float64(k*i)/float64(n)+phase)
		}
	}
	for _, d := range offset {
		sum += d * d
	}
	points := make([]plane.Point, n)
	for i, s := range spots {
		points[i] = s.Point.Add(p.Segment(s.Piece).OutwardNormal(s.T).Scale(offset[i] * sigma / math.Sqrt(sum/float64(n))))
	}
	return curve.Polygon(points...)
}

// anyMotion is a motion as a photo or another drawing would bring.
func anyMotion(rng *rand.Rand, o likeness.Options) likeness.Motion {
	m := likeness.Motion{Scale: 1, Rigid: plane.RigidFromAngle(2*math.Pi*rng.Float64(), plane.Vec{X: 800 * (rng.Float64() - 0.5), Y: 800 * (rng.Float64() - 0.5)})}
	m.Flipped = o.Flip && rng.IntN(2) == 0
	if o.Scale {
		m.Scale = math.Exp(rng.Float64() - 0.5)
	}
	return m
}

func mustSign(p curve.Path) likeness.Signature {
	s, err := likeness.SignatureOf(p)
	if err != nil {
		panic(err)
	}
	return s
}
