package measure_test

import (
	"math"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// exactly calibrates an exact scene with priors that leave nothing uncertain but
// what tune lets go.
func exactly(t *testing.T, tune func(*measure.Set)) (*measure.Calibration, scene) {
	t.Helper()
	w := idealOptics()
	w.K1, w.K2, w.F, w.PP, w.Noise, w.TiltHigh = 0, 0, 0, 0, 0, 1
	s := photograph(seeded(1), w, several())
	for i := range s.Set.Targets {
		for k := range s.Set.Targets[i].Marks {
			s.Set.Targets[i].Marks[k].Sigma = 1e-4
		}
	}
	tune(&s.Set)
	c, err := measure.CalibrateSet(s.Set)
	if err != nil {
		t.Fatal(err)
	}
	return c, s
}

func budget(t *testing.T, c *measure.Calibration, o measure.Outline) measure.Budget {
	t.Helper()
	b, err := c.Budget(o)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// An unmeasured print is a pure size factor of standard uncertainty 0.5 %/√3: each
// size is uncertain by that share of itself, the area by twice that.
func TestBudgetOfPrintScale(t *testing.T) {
	c, s := exactly(t, func(set *measure.Set) { set.Prints = []card.Print{card.UnmeasuredPrint(card.A4, false)} })
	b := budget(t, c, measure.Outline{Points: outlineOf(c, s), Closed: true})
	share := 0.005 / math.Sqrt(3)
	for _, q := range []struct {
		name string
		got  measure.Quantity
		want float64
	}{
		{"width", b.Width, 2 * share * b.Width.Value},
		{"depth", b.Depth, 2 * share * b.Depth.Value},
		{"perimeter", b.Perimeter, 2 * share * b.Perimeter.Value},
		{"area", b.Area, 4 * share * b.Area.Value},
	} {
		if math.Abs(q.got.U-q.want) > 0.01*q.want {
			t.Errorf("U of the %s = %.3f, want %.3f", q.name, q.got.U, q.want)
		}
	}
	if row := rowOf(t, b, "size of the card's print"); math.Abs(row.Width-b.Width.U/2) > 0.01*row.Width {
		t.Errorf("the print's row has %.3f mm of width, want all of %.3f", row.Width, b.Width.U/2)
	}
}

func rowOf(t *testing.T, b measure.Budget, source string) measure.BudgetRow {
	t.Helper()
	for _, r := range b.Rows {
		if r.Source == source {
			return r
		}
	}
	t.Fatalf("no row %q", source)
	return measure.BudgetRow{}
}

// A template 1 mm higher than told looks larger by 1 mm over the camera's distance
// (similar triangles), with the camera square above.
func TestBudgetOfTemplateHeight(t *testing.T) {
	c, s := exactly(t, func(set *measure.Set) { set.Candidates[0].TemplateHeight = 1 })
	b := budget(t, c, measure.Outline{Points: outlineOf(c, s), Closed: true})
	want := b.Width.Value / c.Distance()
	if row := rowOf(t, b, "height of the template over the cards"); math.Abs(row.Width-want) > 0.03*want {
		t.Errorf("width uncertain by %.3f mm for 1 mm of height, want %.3f", row.Width, want)
	}
}

// A buckle moves a point by its height times (distance from the camera's foot) over
// the camera's height, and only the part across the outline counts: less than the
// radius over the height, more than a third of it on a seat.
func TestBudgetOfBuckle(t *testing.T) {
	c, s := exactly(t, func(set *measure.Set) { set.Candidates[0].TemplateBuckle = 1 })
	b := budget(t, c, measure.Outline{Points: outlineOf(c, s), Closed: true})
	most := 300 / c.Distance()
	if row := rowOf(t, b, "template not lying flat"); row.Shape > most || row.Shape < most/3 {
		t.Errorf("1 mm of buckle gives %.3f mm, want %.3f to %.3f", row.Shape, most/3, most)
	}
}

// Independent errors of one size σ at n points: the greatest of them stays below
// q σ with probability 0.95 where (2Φ(q) - 1)^n = 0.95.
func TestBudgetOfIndependentErrors(t *testing.T) {
	c, s := exactly(t, func(*measure.Set) {})
	points := outlineOf(c, s)
	o := measure.Outline{Points: points, Closed: true, Sigma: make([]float64, len(points))}
	for i := range o.Sigma {
		o.Sigma[i] = 0.1
	}
	b := budget(t, c, o)
	for i, p := range b.Point {
		if math.Abs(p-0.1) > 0.002 {
			t.Fatalf("point %d is uncertain by %.4f mm, want 0.1", i, p)
		}
	}
	q := 0.0
	for n := float64(len(points)); math.Pow(math.Erf(q/math.Sqrt2), n) < 0.95; q += 0.001 {
	}
	if math.Abs(b.Within-0.1*q) > 0.05*0.1*q { // 1000 draws
		t.Errorf("within %.4f mm, want %.4f", b.Within, 0.1*q)
	}
	if want := 2 * 0.1 * math.Sqrt2; math.Abs(b.Width.U-want) > 0.01 {
		t.Errorf("U of the width = %.3f, want that of two points, %.3f", b.Width.U, want)
	}
}

// The rows add up in squares to the band, and where the outline starts does not
// matter.
func TestBudgetAddsUp(t *testing.T) {
	s := photograph(seeded(2), realistic(), several())
	production(&s.Set)
	s.Set.Prints = []card.Print{card.UnmeasuredPrint(card.A4, false)}
	s.Set.Candidates[0].TemplateHeight, s.Set.Candidates[0].TemplateBuckle, s.Set.Candidates[0].Line = 0.1, 0.2, 0.05
	c, err := measure.CalibrateSet(s.Set)
	if err != nil {
		t.Fatal(err)
	}
	points := outlineOf(c, s)
	b := budget(t, c, measure.Outline{Points: points, Closed: true})
	rows, band := 0.0, 0.0
	for _, r := range b.Rows {
		rows += r.Shape * r.Shape
		if r.Type != "A" && r.Type != "B" || r.Shape < 0 {
			t.Errorf("row %+v", r)
		}
	}
	for _, p := range b.Point {
		band += p * p / float64(len(points))
	}
	if math.Abs(rows-band) > 1e-6*band {
		t.Errorf("the rows add up to %.5f mm, the band to %.5f", math.Sqrt(rows), math.Sqrt(band))
	}
	turned := append(append([]plane.Point(nil), points[50:]...), points[:50]...)
	again := budget(t, c, measure.Outline{Points: turned, Closed: true})
	for i := range turned {
		if want := b.Point[(i+50)%len(points)]; math.Abs(again.Point[i]-want) > 1e-3*want {
			t.Errorf("point %d: %.5f mm, started elsewhere %.5f", i, want, again.Point[i])
			break
		}
	}
	if math.Abs(again.Area.Value-b.Area.Value) > 1e-6 || math.Abs(again.Perimeter.U-b.Perimeter.U) > 1e-3*b.Perimeter.U {
		t.Errorf("sizes change with the start: %v %v, %v %v", again.Area, b.Area, again.Perimeter, b.Perimeter)
	}
}

// A circle seen from above turns in itself; its sizes have closed forms.
func TestBudgetOfACircle(t *testing.T) {
	c, _ := exactly(t, func(*measure.Set) {})
	const n, r = 360, 150.0
	var circle []plane.Point
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		circle = append(circle, plane.Point{X: 200 + r*cos, Y: -200 + r*sin})
	}
	b := budget(t, c, measure.Outline{Points: circle, Closed: true})
	polygon := n / 2 * r * r * math.Sin(2*math.Pi/n)
	if math.Abs(b.Area.Value-polygon) > 1e-6 || math.Abs(b.Perimeter.Value-2*n*r*math.Sin(math.Pi/n)) > 1e-6 || math.Abs(b.Width.Value-2*r) > 1e-9 {
		t.Errorf("area %v perimeter %v width %v", b.Area, b.Perimeter, b.Width)
	}
	if math.IsNaN(b.Within) || b.Within > 0.01 {
		t.Errorf("within %v mm, want next to nothing", b.Within)
	}
	open := budget(t, c, measure.Outline{Points: circle[:n/2]})
	if open.Area != (measure.Quantity{}) || math.Abs(open.Perimeter.Value-math.Pi*r) > 3 {
		t.Errorf("half a circle, open: area %v, length %v", open.Area, open.Perimeter)
	}
}

func TestBudgetRefusesWhatIsNoOutline(t *testing.T) {
	c, _ := exactly(t, func(*measure.Set) {})
	for _, o := range []measure.Outline{
		{},
		{Points: []plane.Point{{X: 0}, {X: 1}}},
		{Points: []plane.Point{{X: 0}, {X: 1}, {X: math.NaN()}}},
		{Points: []plane.Point{{X: 0}, {X: 1}, {Y: 1}}, Sigma: []float64{1}},
	} {
		if b, err := c.Budget(o); err == nil {
			t.Errorf("Budget(%v) = %v", o, b)
		}
	}
}
