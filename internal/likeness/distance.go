package likeness

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// Difference is how far two outlines are apart at a place, for drawing.
type Difference struct {
	At     plane.Point // on the outline that lies still
	Other  plane.Point // the point of the other one nearest to it
	Signed float64     // their distance, mm; positive where the other lies outside
	Along  float64     // the way from the start of the outline that lies still, mm
}

// lookSpacing is the distance in mm of the places that are looked at when outlines are
// measured against each other; the corners of both are looked at as well, and the
// surroundings of the greatest difference.
const lookSpacing = 2.0

// measured is what two outlines in one frame are apart.
type measured struct {
	rms, max   float64
	maxAt      plane.Point // on the one that lies still
	maxOutside bool
}

// measure measures other against still, both in one frame, along both.
func measure(other, still curve.Path, otherChords, stillChords *chords) measured {
	var out measured
	var sum float64
	for _, way := range []struct {
		from, to  *chords
		fromStill bool
	}{{stillChords, otherChords, true}, {otherChords, stillChords, false}} {
		meanSq, worst := distances(way.from, way.to)
		sum += meanSq / 2
		if f := way.to.nearest(worst); f.dist > out.max {
			out.max, out.maxAt = f.dist, worst
			if !way.fromStill {
				out.maxAt = f.at
				out.maxOutside = !still.Contains(worst)
			} else {
				out.maxOutside = other.Contains(worst)
			}
		}
	}
	out.rms = math.Sqrt(sum)
	return out
}

// distances returns the mean squared distance of the points of one outline from the other,
// and the point that lies farthest from it.
func distances(from, to *chords) (meanSq float64, worst plane.Point) {
	_, around := evenly(from.at, 1)
	n := min(max(int(around/lookSpacing), 128), 8192)
	points, _ := evenly(from.at, n)
	most := -1.0
	look := func(p plane.Point) float64 {
		d := to.nearest(p).dist
		if d > most {
			most, worst = d, p
		}
		return d
	}
	for _, p := range points {
		d := look(p)
		meanSq += d * d / float64(n)
	}
	for _, p := range from.at {
		look(p)
	}
	// Between two places the distance grows by no more than half their gap; look closely
	// round the greatest one.
	for step := around / float64(n); step > 1e-3; step /= 2 {
		for _, p := range from.beside(worst, step) {
			look(p)
		}
	}
	return meanSq, worst
}

// beside returns the points of the outline nearest to those that lie step to each side of p
// along its chord.
func (c *chords) beside(p plane.Point, step float64) []plane.Point {
	along := c.nearest(p).outward.TurnLeft()
	return []plane.Point{c.nearest(p.Add(along.Scale(step))).at, c.nearest(p.Add(along.Scale(-step))).at}
}

// report measures the outlines at the motion.
func (r *register) report(moved, fixed curve.Path, m Motion) Registration {
	other := m.Path(moved)
	d := measure(other, fixed, newChords(other, flatness), r.fixed)
	return Registration{m, d.rms, d.max, d.maxAt, d.maxOutside}
}
