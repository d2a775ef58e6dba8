package job_test

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// deviation is how far a measured outline lies from the true one after the rigid
// motion (no scale) that fits them best: both ways, since a missed notch is far
// from the truth only one way round.
type deviation struct{ RMS, Max float64 }

// deviationOf compares two outlines wherever they lie, as long as they are turned
// alike within about 45 degrees.
func deviationOf(measured, truth curve.Path) deviation {
	truthFromMeasured := align(measured, truth)
	moved := measured.Transform(truthFromMeasured)
	sumSq, n, worst := 0.0, 0, 0.0
	for _, way := range []struct{ from, to curve.Path }{{moved, truth}, {truth, moved}} {
		for _, p := range every(way.from, 2) {
			_, d := way.to.Nearest(p)
			sumSq, n, worst = sumSq+d*d, n+1, math.Max(worst, d)
		}
	}
	return deviation{math.Sqrt(sumSq / float64(n)), worst}
}

// align finds the motion by turns: pair each point with the nearest of the truth,
// move rigidly, pair again (Besl and McKay, "A method for registration of 3-D
// shapes", IEEE PAMI 14, 1992).
func align(measured, truth curve.Path) plane.Rigid {
	points := every(measured, 4)
	m := plane.RigidFromAngle(0, truth.Bounds().Centre().Sub(measured.Bounds().Centre()))
	for range 60 {
		moved, nearest := make([]plane.Point, len(points)), make([]plane.Point, len(points))
		for i, p := range points {
			moved[i] = m.Apply(p)
			spot, _ := truth.Nearest(moved[i])
			nearest[i] = spot.Point
		}
		m = plane.BestRigid(moved, nearest).After(m)
	}
	return m
}

// every returns points along the outline, spacing mm apart.
func every(p curve.Path, spacing float64) []plane.Point {
	around := p.ArcLength(0.01)
	at := make([]float64, int(around/spacing))
	for i := range at {
		at[i] = around * float64(i) / float64(len(at))
	}
	points := make([]plane.Point, len(at))
	for i, spot := range p.AtLengths(at, 0.01) {
		points[i] = spot.Point
	}
	return points
}
