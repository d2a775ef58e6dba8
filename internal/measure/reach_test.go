package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"testing"
	"time"

	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// normalErrors returns the distances across the outline between measured and true
// points, after the rigid motion that makes their sum of squares least (linear:
// errors are millimetres on half a metre).
func normalErrors(measured, truth []plane.Point) []float64 {
	n := len(truth)
	rows := make([][3]float64, n)
	e := make([]float64, n)
	for i := range n {
		tangent := truth[(i+1)%n].Sub(truth[(i+n-1)%n]).Unit()
		normal := tangent.TurnRight()
		rows[i] = [3]float64{normal.X, normal.Y, normal.Dot(plane.Vec{X: -truth[i].Y, Y: truth[i].X})}
		e[i] = normal.Dot(measured[i].Sub(truth[i]))
	}
	var a [3][4]float64
	for i := range n {
		for r := range 3 {
			for c := range 3 {
				a[r][c] += rows[i][r] * rows[i][c]
			}
			a[r][3] += rows[i][r] * e[i]
		}
	}
	x := solve3(a)
	for i := range n {
		e[i] -= rows[i][0]*x[0] + rows[i][1]*x[1] + rows[i][2]*x[2]
	}
	return e
}

// solve3 is Gaussian elimination with pivoting.
func solve3(a [3][4]float64) (x [3]float64) {
	for c := range 3 {
		p := c
		for r := c; r < 3; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		a[c], a[p] = a[p], a[c]
		for r := range 3 {
			if r != c {
				k := a[r][c] / a[c][c]
				for j := range 4 {
					a[r][j] -= k * a[c][j]
				}
			}
		}
	}
	for r := range 3 {
		x[r] = a[r][3] / a[r][r]
	}
	return x
}

// tally gathers a cell of the table.
type tally struct {
	rms, worst []float64
	failed     int
	// Shares of the truth inside the stated 95 %: points, whole outlines, widths.
	points, outlines, widths float64
	predicted, found         float64 // mean squares of stated and true error, mm²
	time                     time.Duration
}

// judge counts what the stated band covers.
func (c *tally) judge(b measure.Budget, measured, truth []plane.Point) {
	worst := 0.0
	for i, e := range normalErrors(measured, truth) {
		if math.Abs(e) <= 1.96*b.Point[i] {
			c.points += 1 / float64(len(truth))
		}
		worst = math.Max(worst, math.Abs(e))
		c.predicted += b.Point[i] * b.Point[i] / float64(len(truth))
		c.found += e * e / float64(len(truth))
	}
	if worst <= b.Within {
		c.outlines++
	}
	width := plane.RectFromPoints(truth...).Width()
	if math.Abs(plane.RectFromPoints(measured...).Width()-width) <= b.Width.U {
		c.widths++
	}
}

func quantile(values []float64, q float64) float64 {
	s := append([]float64(nil), values...)
	sort.Float64s(s)
	return s[min(len(s)-1, int(q*float64(len(s))))]
}

func (c tally) String() string {
	return fmt.Sprintf("%.3f / %.2f / %.2f", quantile(c.rms, 0.5), quantile(c.worst, 0.5), quantile(c.worst, 0.95))
}

// run photographs n scenes and measures them.
func run(t *testing.T, w world, targets []target, n int, tune func(*measure.Set)) tally {
	t.Helper()
	var cell tally
	for i := range n {
		rng := rand.New(rand.NewPCG(uint64(i), 7))
		s := photograph(rng, w, targets)
		if tune != nil {
			tune(&s.set)
		}
		begin := time.Now()
		c, err := measure.CalibrateSet(s.set)
		cell.time += time.Since(begin)
		if err != nil {
			t.Logf("scene %d: %v", i, err)
			cell.failed++
			continue
		}
		measured := make([]plane.Point, len(s.outline))
		for k, p := range s.outline {
			measured[k] = c.PlaneFromPhoto(s.truth.see(p.X, p.Y, s.truth.outlineHeight))
		}
		// Bring the plane frame onto the bench first; the linear fit does the rest.
		points := append([]plane.Point(nil), measured...)
		m := plane.BestRigid(measured, s.outline)
		for k := range measured {
			measured[k] = m.Apply(measured[k])
		}
		sum, worst := 0.0, 0.0
		for _, e := range normalErrors(measured, s.outline) {
			sum, worst = sum+e*e, math.Max(worst, math.Abs(e))
		}
		b, err := c.Budget(measure.Outline{Points: points, Closed: true})
		if err != nil {
			t.Fatal(err)
		}
		cell.judge(b, measured, s.outline)
		cell.rms = append(cell.rms, math.Sqrt(sum/float64(len(measured))))
		cell.worst = append(cell.worst, worst)
	}
	cell.time /= time.Duration(n)
	good := float64(n - cell.failed)
	cell.points, cell.outlines, cell.widths = cell.points/good, cell.outlines/good, cell.widths/good
	return cell
}

func several() []target {
	return []target{targetOf(loose(1, -300, 230, 0)), targetOf(loose(2, 300, 230, 10)), targetOf(loose(3, -300, -230, 0)), targetOf(loose(4, 300, -230, -5))}
}

func production(flat ...float64) func(*measure.Set) {
	return func(s *measure.Set) {
		f := s.Candidates[0].FocalPx / math.Hypot(photoWidth, photoHeight) * math.Hypot(36, 24)
		p := measure.PriorsFor(measure.PhoneWithFocal, photo.Lens{Focal35MM: f}, photoWidth, photoHeight)
		p.TemplateHeight, p.TemplateBuckle, p.Line = 0, 0, 0
		p.Flatness = flat
		s.Candidates[0] = p
	}
}

func TestScratch(t *testing.T) {
	bent := func(h float64) world {
		w := realistic()
		w.name, w.cardOutOfFlat = fmt.Sprintf("h %.1f", h), h
		return w
	}
	n := 40
	for _, w := range []world{idealOptics(), bent(0.1), bent(0.3), bent(1)} {
		for _, l := range []struct {
			name string
			t    []target
		}{
			{"A5 beside", []target{a5(320, 0, 0)}},
			{"A5 inside", []target{a5(0, 0, 0)}},
			{"several", several()},
		} {
			for _, f := range [][]float64{nil, {1. / 3}, {1}, {3}, {0.1, 0.3, 1, 3}} {
				tune := production(f...)
				if f == nil {
					tune = nil
				}
				c := run(t, w, l.t, n, tune)
				t.Logf("%s %s: flat %.2v %v  failed %d time %v; cover %.3f %.3f %.3f  rms %.3f %.3f", w.name, l.name, f, c, c.failed, c.time, c.points, c.outlines, c.widths, math.Sqrt(c.predicted/float64(n)), math.Sqrt(c.found/float64(n)))
			}
		}
	}
}
