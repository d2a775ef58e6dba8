package likeness

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// Registration is how one outline lies on another where both are nearest.
type Registration struct {
	FixedFromMoved Motion
	// RMS and Max are the distances of all points of each outline to the other one, mm: the
	// root mean square along both, and the greatest (the Hausdorff distance of the two
	// lines). Both are right within 0.01 mm.
	RMS, Max float64
	// MaxAt is where on the outline that lies still the greatest distance stands, in its own
	// frame; MaxOutside tells that the moved one lies outside of it there.
	MaxAt      plane.Point
	MaxOutside bool
}

// starts is how many ways of lying are tried for each side of the moved outline: a
// rectangle has two good ones, a square four, an equilateral star as many as it has tips.
const starts = 4

// coarseStride is how many points are passed over while it is open which start is best.
const coarseStride = 5

// registerSpacing is the distance in mm of the points whose distances are made least.
// Wider: short differences count by chance; closer: slower.
const registerSpacing = 6.0

// Register lays moved on fixed so that the root mean square distance of each outline from
// the other, taken along both, is least: it starts from the best alignments of their
// harmonics, and improves each by the method of Gauss and Newton on the distances of points
// from the other line (Chen and Medioni, "Object modelling by registration of multiple
// range images", Image and Vision Computing 10, 1992). The outline is called
// turned over only if it then lies clearly nearer.
func Register(moved, fixed curve.Path, o Options) (Registration, error) {
	a, meanA, err := describe(moved)
	if err != nil {
		return Registration{}, fmt.Errorf("the outline to move: %w", err)
	}
	b, meanB, err := describe(fixed)
	if err != nil {
		return Registration{}, fmt.Errorf("the outline to lay it on: %w", err)
	}
	r := newRegister(moved, fixed, o)
	var best [2]Motion // as it is, turned over
	least := [2]float64{math.Inf(1), math.Inf(1)}
	for _, al := range newAligner().alignments(&a, &b, o, starts) {
		side := 0
		if al.flipped {
			side = 1
		}
		if m, sum := r.improve(al.motion(meanA, meanB), coarseStride); sum < least[side] {
			best[side], least[side] = m, sum
		}
	}
	for side := range best {
		if !math.IsInf(least[side], 1) {
			best[side], least[side] = r.improve(best[side], 1)
		}
	}
	m := best[0]
	if math.Sqrt(least[1]) < clearlyBetter*math.Sqrt(least[0])-0.01 {
		m = best[1]
	}
	if o.LeastMax {
		m = r.leastMax(m)
	}
	return r.report(moved, fixed, m), nil
}

// clearlyBetter is how much nearer, as a share of the RMS, a turned-over outline must lie
// to be called turned over. Nearer to 1: a seat that is the same on both sides is called
// turned over by the chance of a waver; smaller: one that differs little is not.
const clearlyBetter = 0.9

// motion returns the alignment as a motion that carries one mean to the other.
func (a alignment) motion(moved, fixed plane.Point) Motion {
	m := Motion{Flipped: a.flipped, Scale: a.scale, Rigid: plane.RigidFromAngle(a.turn, plane.Vec{})}
	m.Rigid.Shift = fixed.Sub(m.Apply(moved))
	return m
}

// register holds what laying one outline on another needs.
type register struct {
	scaled         bool
	moved, fixed   *chords
	pointsA        []plane.Point // of the moved outline
	pointsB        []plane.Point // of the fixed one
	weightA        []float64     // what a point of each counts for; all together 1
	weightB        []float64
	centre         plane.Point
	greatestExtent float64
}

func newRegister(moved, fixed curve.Path, o Options) *register {
	r := &register{scaled: o.Scale, moved: newChords(moved, flatness), fixed: newChords(fixed, flatness)}
	r.pointsA, r.weightA = spaced(r.moved.at)
	r.pointsB, r.weightB = spaced(r.fixed.at)
	r.centre = r.fixed.box.Centre()
	r.greatestExtent = math.Hypot(r.fixed.box.Width(), r.fixed.box.Height())
	return r
}

// spaced returns points along the polyline, and the weight of each: half over their
// number, so that both outlines count the same.
func spaced(corners []plane.Point) ([]plane.Point, []float64) {
	_, around := evenly(corners, 1)
	n := min(max(int(around/registerSpacing), 64), 1024)
	points, _ := evenly(corners, n)
	weights := make([]float64, n)
	for i := range weights {
		weights[i] = 0.5 / float64(n)
	}
	return points, weights
}

// normal is the normal equations of a small correction: turn about the centre, shift,
// enlargement.
type normal struct {
	m   [4][4]float64
	v   [4]float64
	sum float64 // of weighted squared distances, mm²
}

// add adds the distance of q from p along the unit vector u, where q moves with the
// correction.
func (n *normal) add(q, p plane.Point, u plane.Vec, centre plane.Point, weight float64) {
	arm := q.Sub(centre)
	row := [4]float64{u.Dot(arm.TurnLeft()), u.X, u.Y, u.Dot(arm)}
	n.addRow(row, u.Dot(q.Sub(p)), weight)
}

func (n *normal) addRow(row [4]float64, d, weight float64) {
	for i := range row {
		for k := range row {
			n.m[i][k] += weight * row[i] * row[k]
		}
		n.v[i] -= weight * row[i] * d
	}
	n.sum += weight * d * d
}

// equations returns the normal equations at the motion, from every stride-th point.
func (r *register) equations(m Motion, stride int) normal {
	var n normal
	for i := 0; i < len(r.pointsA); i += stride {
		p := r.pointsA[i]
		q := m.Apply(p)
		f := r.fixed.nearest(q)
		n.add(q, f.at, f.towards(q), r.centre, r.weightA[i])
	}
	back := m.Inverse()
	for i := 0; i < len(r.pointsB); i += stride {
		p := r.pointsB[i]
		f := r.moved.nearest(back.Apply(p))
		q := m.Apply(f.at)
		// The foot moves with the outline; its distance from p is what counts.
		n.add(q, p, m.towards(f, p), r.centre, r.weightB[i])
	}
	return n
}

// towards returns the direction from the foot to q; square to the outline where they
// touch.
func (f foot) towards(q plane.Point) plane.Vec {
	if f.dist < 1e-6 {
		return f.outward
	}
	return q.Sub(f.at).Unit()
}

// towards returns the direction from p to the image of the foot of p.
func (m Motion) towards(f foot, p plane.Point) plane.Vec {
	if f.dist < 1e-6 {
		return m.ApplyVec(f.outward).Unit()
	}
	return m.Apply(f.at).Sub(p).Unit()
}

// mostSteps bounds the steps of one descent. Most end after five.
const mostSteps = 30

// improve moves the outline downhill and returns where it ends, with the mean squared
// distance of every stride-th point there, but for a factor. A step that does not improve is halved.
func (r *register) improve(m Motion, stride int) (Motion, float64) {
	n := r.equations(m, stride)
	for range mostSteps {
		step := r.solve(n)
		moved, next, improved := m, n, false
		for range 6 {
			moved = m.corrected(r.correction(step))
			if next = r.equations(moved, stride); next.sum < n.sum {
				improved = true
				break
			}
			for i := range step {
				step[i] /= 2
			}
		}
		if !improved {
			break
		}
		gain := n.sum - next.sum
		m, n = moved, next
		if gain < 1e-8*n.sum+1e-14 {
			break
		}
	}
	return m, n.sum
}

// correction returns the small motion of a step about the centre.
func (r *register) correction(step [4]float64) Motion {
	c := Motion{Scale: math.Exp(step[3]), Rigid: plane.RigidFromAngle(step[0], plane.Vec{})}
	moved := c.Apply(r.centre)
	c.Rigid.Shift = r.centre.Add(plane.Vec{X: step[1], Y: step[2]}).Sub(moved)
	return c
}

// solve returns the step of the normal equations, by elimination. What the distances do
// not feel, such as turning a circle, is held by a touch of damping.
func (r *register) solve(n normal) [4]float64 {
	size := 4
	if !r.scaled {
		size = 3
	}
	reach := r.greatestExtent / 2
	for i := range size {
		unit := 1.0
		if i == 0 || i == 3 {
			unit = reach * reach
		}
		n.m[i][i] += 1e-9 * unit
	}
	var x [4]float64
	for i := range size {
		for k := i + 1; k < size; k++ {
			f := n.m[k][i] / n.m[i][i]
			for j := i; j < size; j++ {
				n.m[k][j] -= f * n.m[i][j]
			}
			n.v[k] -= f * n.v[i]
		}
	}
	for i := size - 1; i >= 0; i-- {
		s := n.v[i]
		for j := i + 1; j < size; j++ {
			s -= n.m[i][j] * x[j]
		}
		x[i] = s / n.m[i][i]
	}
	return x
}
