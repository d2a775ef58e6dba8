package shapefile_test

import (
	"math"
	"strings"
	"testing"

	"fairedge/internal/length"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"
)

// Areas and lengths are closed forms: a corner of radius r between sides that turn by t
// cuts off r² (tan(t/2) - t/2) of area and r (2 tan(t/2) - t) of length.
func TestTypedMeasures(t *testing.T) {
	must := func(s shape.Shape, err error) shape.Shape {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	cut := func(r, turn float64) float64 { return r * r * (math.Tan(turn/2) - turn/2) }
	slope := math.Atan(40 / 410.0) // of the sides of the trapezoid
	for name, c := range map[string]struct {
		s                  shape.Shape
		width, depth, area float64
		edges              int
	}{
		"rectangle":         {must(shapefile.Rectangle(400, 410, shapefile.Corners{})), 400, 410, 164000, 4},
		"rounded":           {must(shapefile.Rectangle(400, 410, shapefile.AllCorners(30))), 400, 410, 164000 - 4*cut(30, math.Pi/2), 8},
		"each corner":       {must(shapefile.Rectangle(400, 410, shapefile.Corners{BackLeft: 10, FrontLeft: 60, FrontRight: 70})), 400, 410, 164000 - cut(10, math.Pi/2) - cut(60, math.Pi/2) - cut(70, math.Pi/2), 7},
		"inches":            {must(shapefile.Rectangle(16*length.Inch, 17*length.Inch, shapefile.AllCorners(length.Inch))), 406.4, 431.8, 406.4*431.8 - 4*cut(25.4, math.Pi/2), 8},
		"trapezoid":         {must(shapefile.Trapezoid(360, 440, 410, shapefile.Corners{})), 440, 410, 164000, 4},
		"rounded trapezoid": {must(shapefile.Trapezoid(360, 440, 410, shapefile.Corners{FrontLeft: 50, FrontRight: 50})), -1, 410, 164000 - 2*cut(50, math.Pi/2+slope), 6},
		"wider back":        {must(shapefile.Trapezoid(440, 360, 410, shapefile.Corners{})), 440, 410, 164000, 4},
		"square to a round": {must(shapefile.Rectangle(400, 400, shapefile.AllCorners(200))), 400, 400, math.Pi * 200 * 200, 1},
		"round":             {must(shapefile.Oval(340, 340)), 340, 340, math.Pi * 170 * 170, 1},
		"small round":       {must(shapefile.Oval(120, 120)), 120, 120, math.Pi * 60 * 60, 1},
		"oval":              {must(shapefile.Oval(500, 300)), 500, 300, math.Pi * 250 * 150, 1},
		"horseshoe":         {must(shapefile.Horseshoe(400, 420, shapefile.Corners{})), 400, 420, 400*220 + math.Pi*200*200/2, 4},
		"D":                 {must(shapefile.Horseshoe(400, 200, shapefile.Corners{})), 400, 200, math.Pi * 200 * 200 / 2, 2},
		"rounded horseshoe": {must(shapefile.Horseshoe(400, 420, shapefile.Corners{BackLeft: 30, BackRight: 30})), 400, 420, 400*220 + math.Pi*200*200/2 - 2*cut(30, math.Pi/2), 6},
	} {
		size := c.s.Size
		if c.width > 0 && math.Abs(size.Width.Millimetres()-c.width) > 1e-3 || math.Abs(size.Depth.Millimetres()-c.depth) > 1e-3 || math.Abs(size.AreaMM2-c.area) > 0.2 {
			t.Errorf("%s: %v by %v, %.2f mm2, want %g, %g, %.2f", name, size.Width, size.Depth, size.AreaMM2, c.width, c.depth, c.area)
		}
		if len(c.s.Edges) != c.edges {
			t.Errorf("%s: %d edges, want %d", name, len(c.s.Edges), c.edges)
		}
		// The back's middle is the origin, and nothing lies behind it.
		spot, d := c.s.Net.Nearest(c.s.Origin())
		if d > 1e-6 || math.Abs(c.s.Net.Bounds().Max.Y) > 1e-3 {
			t.Errorf("%s: the origin is %.2g mm off the outline at %v, whose back is at %.3g", name, d, spot.Point, c.s.Net.Bounds().Max.Y)
		}
	}
}

func TestCornersGoWhereTheyAreSaid(t *testing.T) {
	s, err := shapefile.Rectangle(400, 300, shapefile.Corners{FrontLeft: 100})
	if err != nil {
		t.Fatal(err)
	}
	for corner, in := range map[[2]float64]bool{{-199, -1}: true, {199, -1}: true, {199, -299}: true, {-199, -299}: false} {
		if s.Net.Contains(pt(corner[0], corner[1])) != in {
			t.Errorf("the corner at %v is inside: %v, want %v", corner, !in, in)
		}
	}
}

func TestMeasuresThatMakeNoSeat(t *testing.T) {
	one := func(s shape.Shape, err error) error { return err }
	for name, err := range map[string]error{
		"narrow":          one(shapefile.Rectangle(5, 400, shapefile.Corners{})),
		"long":            one(shapefile.Rectangle(400, 20000, shapefile.Corners{})),
		"not a number":    one(shapefile.Oval(length.Length(math.NaN()), 300)),
		"corners":         one(shapefile.Rectangle(400, 300, shapefile.AllCorners(160))),
		"negative corner": one(shapefile.Rectangle(400, 300, shapefile.Corners{BackLeft: -1})),
		"sharp trapezoid": one(shapefile.Trapezoid(20, 900, 30, shapefile.AllCorners(80))),
		"front corner":    one(shapefile.Horseshoe(400, 420, shapefile.Corners{FrontLeft: 3})),
		"back corner":     one(shapefile.Horseshoe(400, 210, shapefile.Corners{BackLeft: 20, BackRight: 20})),
	} {
		if problem.KindOf(err) != problem.Usage || err == nil {
			t.Errorf("%s: %v, want a sentence on the measures", name, err)
		}
	}
}

func TestListForASpreadsheet(t *testing.T) {
	s, err := shapefile.Rectangle(400, 300, shapefile.Corners{})
	if err != nil {
		t.Fatal(err)
	}
	docs := []shapefile.Document{{Shape: s, Name: `Alder, "chair 2"`, Date: day(2026, 2, 1), Uncertainty: 0.5}, {Shape: s, Name: "=1+1", Provenance: "typed"}}
	data, err := shapefile.CSV(docs, false)
	if err != nil {
		t.Fatal(err)
	}
	want := "name,date,made by,width mm,depth mm,round mm,right within mm,area mm2,pieces,marks\n" +
		`"Alder, ""chair 2""",2026-02-01,,400.00,300.00,1400.00,0.50,120000.00,4,0` + "\n" + `'=1+1,,typed,400.00,300.00,1400.00,,120000.00,4,0` + "\n"
	if string(data) != want {
		t.Errorf("got\n%s\nwant\n%s", data, want)
	}
	data, err = shapefile.CSV(docs[:1], true)
	// 400 mm are 15.748 in, 1400 mm 55.118 in, 120000 mm2 186.000 in2 (25.4 mm to the inch).
	if err != nil || !strings.Contains(string(data), "15.748,11.811,55.118,0.020,186.000,") {
		t.Errorf("in inches: %s, %v", data, err)
	}
}
