package fusion

import (
	"math"

	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// settled: the motion is found when a step moves nothing by more, in mm.
const settled = 1e-9

// mostSteps is more than the method of Gauss and Newton has ever needed here: it doubles
// the digits each time once the outlines lie within a millimetre.
const mostSteps = 30

// settle moves a photo's edge onto the sites so that the sum of squares of the distances
// across, each over the variance at its place, is least (Chen and Medioni, "Object
// modelling by registration of multiple range images", Image and Vision Computing 10,
// 1992).
func settle(samples []measure.Sample, m plane.Rigid, sites []site, variance []float64, reach float64) plane.Rigid {
	centre := middle(sites)
	for range mostSteps {
		step := newMotionFit(centre)
		for i, s := range look(samples, m, sites, reach) {
			if !s.missing {
				step.add(sites[i], s.across, 1/sites[i].between(variance))
			}
		}
		shift, turn := step.solve()
		about := plane.RigidFromAngle(turn, plane.Vec{})
		about.Shift = centre.Add(shift).Sub(about.Apply(centre))
		m = about.After(m)
		if shift.Length()+math.Abs(turn)*reachOf(sites, centre) < settled {
			break
		}
	}
	return m
}

func middle(sites []site) plane.Point {
	box := plane.EmptyRect()
	for _, s := range sites {
		box = box.Include(s.at)
	}
	return box.Centre()
}

func reachOf(sites []site, centre plane.Point) float64 {
	most := 0.0
	for _, s := range sites {
		most = math.Max(most, s.at.DistanceTo(centre))
	}
	return most
}

// motionFit finds the small rigid motion that takes distances across the outline away.
type motionFit struct {
	centre plane.Point
	a      [3][3]float64
	b      [3]float64
	size   float64
}

func newMotionFit(centre plane.Point) motionFit { return motionFit{centre: centre} }

// add counts a distance across the outline at a site.
func (f *motionFit) add(s site, across, weight float64) {
	arm := s.at.Sub(f.centre)
	row := [3]float64{s.normal.X, s.normal.Y, s.normal.Dot(arm.TurnLeft())}
	for i := range row {
		for j := range row {
			f.a[i][j] += weight * row[i] * row[j]
		}
		f.b[i] -= weight * row[i] * across
	}
	f.size += weight * arm.LengthSq()
}

// solve returns the motion. A little is added to the turn, which no distance across a
// circle sees; it then stays zero.
func (f *motionFit) solve() (shift plane.Vec, turn float64) {
	a, b := f.a, f.b
	a[2][2] += 1e-9 * f.size
	for c := range 3 {
		for r := range 3 {
			if r != c && a[c][c] > 0 {
				k := a[r][c] / a[c][c]
				for j := range 3 {
					a[r][j] -= k * a[c][j]
				}
				b[r] -= k * b[c]
			}
		}
	}
	var x [3]float64
	for i := range x {
		if a[i][i] > 0 {
			x[i] = b[i] / a[i][i]
		}
	}
	return plane.Vec{X: x[0], Y: x[1]}, x[2]
}
