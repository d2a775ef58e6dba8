package likeness

import (
	"math"
	"slices"

	"fairedge/internal/plane"
)

// leastMaxRounds bounds how often the distances are measured anew, leastMaxSteps how often
// the weights are changed in between.
const leastMaxRounds, leastMaxSteps = 10, 200

// leastMaxGain is the gain in mm for which another round is worth its time.
const leastMaxGain = 0.004

// apartRow is how one distance changes with a small correction: d + row · step.
type apartRow struct {
	d   float64
	row [4]float64
}

// leastMax moves the outline so that the greatest distance becomes least. At each place the
// distances are linear in a small correction but for second order; the correction that
// makes the greatest of them least is found by least squares whose weights grow with the
// distance that remains (Lawson, "Contributions to the theory of linear least maximum
// approximation", 1961), and halved until it does improve the true distances.
func (r *register) leastMax(m Motion) Motion {
	rows, most := r.rowsAt(m)
	for range leastMaxRounds {
		step, promised := r.lawson(rows, most)
		if promised > most-leastMaxGain {
			break
		}
		improved := false
		for range 6 {
			moved := m.corrected(r.correction(step))
			next, least := r.rowsAt(moved)
			if least < most-leastMaxGain/4 {
				m, rows, most, improved = moved, next, least, true
				break
			}
			for i := range step {
				step[i] /= 2
			}
		}
		if !improved {
			break
		}
	}
	return m
}

// rowsAt returns the distances of the points and corners of both outlines with their
// derivatives, and the greatest.
func (r *register) rowsAt(m Motion) (rows []apartRow, most float64) {
	add := func(q, p plane.Point, u plane.Vec) {
		arm := q.Sub(r.centre)
		d := u.Dot(q.Sub(p))
		rows = append(rows, apartRow{d, [4]float64{u.Dot(arm.TurnLeft()), u.X, u.Y, u.Dot(arm)}})
		most = math.Max(most, math.Abs(d))
	}
	for _, p := range slices.Concat(r.pointsA, r.moved.at) {
		q := m.Apply(p)
		f := r.fixed.nearest(q)
		add(q, f.at, f.towards(q))
	}
	back := m.Inverse()
	for _, p := range slices.Concat(r.pointsB, r.fixed.at) {
		f := r.moved.nearest(back.Apply(p))
		add(m.Apply(f.at), p, m.towards(f, p))
	}
	return rows, most
}

// lawson returns the correction that makes the greatest of the distances least, and that
// distance, if all were linear. Places that are near now do not count.
func (r *register) lawson(rows []apartRow, most float64) (best [4]float64, least float64) {
	var far []apartRow
	for _, w := range rows {
		if math.Abs(w.d) > most/4 {
			far = append(far, w)
		}
	}
	weights := make([]float64, len(far))
	for i := range weights {
		weights[i] = 1 / float64(len(far))
	}
	least = math.Inf(1)
	for range leastMaxSteps {
		var n normal
		for i, w := range far {
			n.addRow(w.row, w.d, weights[i])
		}
		step := r.solve(n)
		var worst, sum, sumSq float64
		for i, w := range far {
			d := math.Abs(w.d + w.row[0]*step[0] + w.row[1]*step[1] + w.row[2]*step[2] + w.row[3]*step[3])
			worst = math.Max(worst, d)
			sumSq += weights[i] * d * d
			weights[i] *= d
			sum += weights[i]
		}
		if worst < least {
			best, least = step, worst
		}
		// No correction makes the greatest less than the least weighted mean.
		if !(sum > 0) || least <= 1.001*math.Sqrt(sumSq) {
			break
		}
		for i := range weights {
			weights[i] /= sum
		}
	}
	return best, least
}
