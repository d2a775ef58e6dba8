package measure_test

import (
	"cmp"
	"flag"
	"fmt"
	"math"
	"os"
	"sort"
	"strings"
	"sync"
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
	firstError error
	// Shares of the truth inside the stated 95 %: points, whole outlines, widths.
	points, outlines, widths float64
	predicted, found         float64 // rms of stated and true error, mm
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

// outcome is one scene measured.
type outcome struct {
	err      error
	budget   measure.Budget
	measured []plane.Point // brought onto the bench; the linear fit does the rest
	truth    []plane.Point
	time     time.Duration
}

// run photographs n scenes and measures them, two at a time.
func run(w world, targets []target, n int, tune func(*measure.Set)) tally {
	outcomes := make([]outcome, n)
	var both sync.WaitGroup
	for worker := range 2 {
		both.Go(func() {
			for i := worker; i < n; i += 2 {
				outcomes[i] = measureScene(w, targets, uint64(i), tune)
			}
		})
	}
	both.Wait()
	var total tally
	for _, o := range outcomes {
		total.add(o)
	}
	good := float64(n - total.failed)
	total.points, total.outlines, total.widths = total.points/good, total.outlines/good, total.widths/good
	total.predicted, total.found = math.Sqrt(total.predicted/good), math.Sqrt(total.found/good)
	total.time /= time.Duration(n)
	return total
}

func measureScene(w world, targets []target, seed uint64, tune func(*measure.Set)) (o outcome) {
	s := photograph(seeded(seed), w, targets)
	if tune != nil {
		tune(&s.set)
	}
	return s.measured()
}

// measured measures the scene and compares it with its truth.
func (s scene) measured() (o outcome) {
	begin := time.Now()
	c, err := measure.CalibrateSet(s.set)
	o.time, o.truth = time.Since(begin), s.outline
	if err != nil {
		o.err = err
		return o
	}
	points := outlineOf(c, s)
	o.budget, o.err = c.Budget(measure.Outline{Points: points, Closed: true})
	m := plane.BestRigid(points, s.outline)
	for _, p := range points {
		o.measured = append(o.measured, m.Apply(p))
	}
	return o
}

func (c *tally) add(o outcome) {
	c.time += o.time
	if o.err != nil {
		c.failed++
		c.firstError = cmp.Or(c.firstError, o.err)
		return
	}
	c.judge(o.budget, o.measured, o.truth)
	e := normalErrors(o.measured, o.truth)
	worst := 0.0
	for _, v := range e {
		worst = math.Max(worst, math.Abs(v))
	}
	c.rms, c.worst = append(c.rms, rmsOf(e)), append(c.worst, worst)
}

func several() []target {
	return []target{
		targetOf(loose(1, -300, 230, 0)), targetOf(loose(2, 300, 230, 10)),
		targetOf(loose(3, -300, -230, 0)), targetOf(loose(4, 300, -230, -5)),
	}
}

// production replaces the priors that the world draws from by those that the
// program has for a phone. The outline in the tests is exact and lies at the stated
// height, so those terms are taken out.
func production(set *measure.Set) {
	focal35 := set.Candidates[0].Lens.F / math.Hypot(photoWidth, photoHeight) * math.Hypot(36, 24)
	lens := photo.Lens{Make: "Apple", Focal35MM: focal35}
	set.Candidates = []measure.Priors{
		measure.PriorsFor(measure.PhoneWithFocal, lens, photoWidth, photoHeight),
		measure.PriorsFor(measure.CameraWithFocal, lens, photoWidth, photoHeight),
		measure.PriorsFor(measure.UnknownPhone, photo.Lens{}, photoWidth, photoHeight),
		measure.PriorsFor(measure.UnknownCamera, photo.Lens{}, photoWidth, photoHeight),
	}
	for i := range set.Candidates {
		p := &set.Candidates[i]
		p.TemplateHeight, p.TemplateBuckle, p.Line = 0, 0, 0
	}
}

// cell is one line of the table: a world, a layout, the priors, and the goals for
// the median rms and the 95th percentile of the worst, mm.
type cell struct {
	world     world
	layout    string
	targets   []target
	priors    string
	tune      func(*measure.Set)
	rms, p95  float64
	inTheFast bool
}

// cells lists the table. The goals are those of the feasibility study (Monte Carlo
// of the same two error models with an independent implementation: A5 beside, A5
// inside, four 60 x 90 mm cards; unknown phone); cells that it does not have are
// held to its nearest one. Its two cards are A6, with twice the field of a loose
// card (it has 0.15 / 0.50 from 0.9 m): two loose cards are held to what it asks of
// several cards at least.
func cells() []cell {
	bent := func(h float64) world {
		w := realistic()
		w.name, w.cardOutOfFlat = fmt.Sprintf("realistic, cards %.1f mm out of flat", h), h
		return w
	}
	protocol := bent(0.3)
	protocol.name, protocol.fill, protocol.tiltHigh = "realistic, from 0.9 m, square on", 0.55, 15
	beside, inside := []target{a5(320, 0, 0)}, []target{a5(0, 0, 0)}
	ourFrame, one := []target{targetOf(frame(0, 0, 0))}, []target{targetOf(loose(1, 290, 0, 0))}
	two := []target{targetOf(loose(1, -290, 0, 0)), targetOf(loose(2, 290, 0, 0))}
	return []cell{
		{idealOptics(), "A5 beside", beside, "exact", nil, 0.10, 0.50, true},
		{idealOptics(), "A5 inside", inside, "exact", nil, 0.08, 0.45, true},
		{idealOptics(), "four loose cards", several(), "exact", nil, 0.05, 0.20, true},
		{idealOptics(), "A5 beside", beside, "program", production, 0.20, 1.0, false},
		{idealOptics(), "A5 inside", inside, "program", production, 0.15, 0.8, false},
		{idealOptics(), "four loose cards", several(), "program", production, 0.10, 0.42, true},
		{realistic(), "A5 beside", beside, "exact", nil, 0.62, 2.9, false},
		{realistic(), "A5 inside", inside, "exact", nil, 0.31, 1.4, false},
		{realistic(), "four loose cards", several(), "exact", nil, 0.25, 1.2, false},
		{realistic(), "A5 beside", beside, "program", production, 0.62, 2.9, true},
		{realistic(), "A5 inside", inside, "program", production, 0.31, 1.4, true},
		{realistic(), "frame inside", ourFrame, "program", production, 0.25, 1.2, false},
		{realistic(), "one loose card beside", one, "program", production, 0.78, 5.0, false},
		{realistic(), "two loose cards", two, "program", production, 0.25, 1.2, false},
		{realistic(), "four loose cards", several(), "program", production, 0.25, 1.2, true},
		{bent(0.1), "A5 beside", beside, "program", production, 0.38, 2.0, false},
		{bent(0.1), "A5 inside", inside, "program", production, 0.21, 1.0, false},
		{bent(0.1), "four loose cards", several(), "program", production, 0.16, 0.5, false},
		{bent(1), "A5 beside", beside, "program", production, 1.16, 6.0, false},
		{bent(1), "A5 inside", inside, "program", production, 0.74, 3.8, false},
		{bent(1), "four loose cards", several(), "program", production, 0.52, 2.0, false},
		{protocol, "A5 beside", beside, "program", production, 0.41, 2.14, false},
		{protocol, "frame inside", ourFrame, "program", production, 0.13, 0.51, false},
		{protocol, "two loose cards", two, "program", production, 0.25, 1.2, false},
		{protocol, "four loose cards", several(), "program", production, 0.15, 0.49, false},
	}
}

// A few scenes of the main cells. The median of 8 scenes scatters by a quarter, so
// the goals are widened by a half; the table proper is below.
func TestReachQuick(t *testing.T) {
	var points, outlines, n float64
	for _, c := range cells() {
		if !c.inTheFast {
			continue
		}
		got := run(c.world, c.targets, 8, c.tune)
		if got.failed > 0 || quantile(got.rms, 0.5) > 1.5*c.rms || quantile(got.worst, 0.95) > 1.5*c.p95 {
			t.Errorf("%s, %s, %s priors: %v mm, %d failed (%v); goal %.2f / - / %.2f", c.world.name, c.layout, c.priors, got, got.failed, got.firstError, c.rms, c.p95)
		}
		points, outlines, n = points+got.points, outlines+got.outlines, n+1
	}
	// 56 scenes, each all right or all wrong at worst: 0.95 scatters by 0.03.
	if points/n < 0.88 || outlines/n < 0.88 {
		t.Errorf("the stated band covers %.3f of the points and %.3f of the outlines, want 0.95", points/n, outlines/n)
	}
}

// The whole table, 120 scenes a cell: FAIREDGE_SLOW=1 runs it against the goals,
// and with -update writes ACCURACY.md.
func TestReachTable(t *testing.T) {
	if os.Getenv("FAIREDGE_SLOW") == "" {
		t.Skip("the whole table takes minutes: set FAIREDGE_SLOW=1")
	}
	const scenes = 120
	var table strings.Builder
	for _, c := range cells() {
		got := run(c.world, c.targets, scenes, c.tune)
		line := fmt.Sprintf("| %s | %s | %s | %v | %.2f / - / %.2f | %.3f | %.3f | %.3f | %.2f / %.2f |\n", c.world.name, c.layout, c.priors, got,
			c.rms, c.p95, got.points, got.outlines, got.widths, got.predicted, got.found)
		t.Log(line)
		table.WriteString(line)
		if got.failed > 0 || quantile(got.rms, 0.5) > c.rms || quantile(got.worst, 0.95) > c.p95 {
			t.Errorf("%s, %s, %s priors: %v mm, %d failed (%v); goal %.2f / - / %.2f", c.world.name, c.layout, c.priors, got, got.failed, got.firstError, c.rms, c.p95)
		}
		if c.priors == "exact" && (got.points < 0.9 || got.points > 0.99) {
			t.Errorf("%s, %s: the stated band covers %.3f of the points, want 0.95", c.world.name, c.layout, got.points)
		}
	}
	if *update {
		text := strings.Replace(accuracyHead, "TABLE\n", table.String(), 1)
		if err := os.WriteFile("ACCURACY.md", []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

var update = flag.Bool("update", false, "write ACCURACY.md")
