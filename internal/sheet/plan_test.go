package sheet_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// seatTruth returns one of the five seat-like outlines that package curve keeps as
// lines, arcs and cubics (made for this project, CC0). Arcs become cubics of at most
// 15 degrees, true to 1e-8 of the radius.
func seatTruth(t testing.TB, name string) curve.Path {
	t.Helper()
	data, err := os.ReadFile("../curve/testdata/seat_curves_truth.json")
	if err != nil {
		t.Fatal(err)
	}
	var file map[string]struct {
		Segments []struct {
			Type      string
			P         [][2]float64
			C         [2]float64
			R, A0, A1 float64
		}
	}
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	var pieces []curve.Segment
	for _, s := range file[name].Segments {
		q := func(i int) plane.Point { return pt(s.P[i][0], s.P[i][1]) }
		switch s.Type {
		case "L":
			pieces = append(pieces, curve.Line(q(0), q(1)))
		case "C":
			pieces = append(pieces, curve.Cubic(q(0), q(1), q(2), q(3)))
		case "A":
			pieces = append(pieces, arc(pt(s.C[0], s.C[1]), s.R, s.A0, s.A1)...)
		}
	}
	if len(pieces) == 0 {
		t.Fatalf("there is no outline %q", name)
	}
	return curve.ClosedPath(pieces...)
}

// arc returns cubics with handles of 4/3 tan(a/4) of the radius.
func arc(centre plane.Point, r, from, to float64) []curve.Segment {
	n := int(math.Ceil(math.Abs(to-from) / (math.Pi / 12)))
	step := (to - from) / float64(n)
	handle := 4.0 / 3 * math.Tan(step/4) * r
	var out []curve.Segment
	for i := range n {
		a, b := from+float64(i)*step, from+float64(i+1)*step
		p := centre.Add(plane.Vec{X: r * math.Cos(a), Y: r * math.Sin(a)})
		q := centre.Add(plane.Vec{X: r * math.Cos(b), Y: r * math.Sin(b)})
		out = append(out, curve.Cubic(p, p.Add(plane.Vec{X: -math.Sin(a), Y: math.Cos(a)}.Scale(handle)),
			q.Add(plane.Vec{X: math.Sin(b), Y: -math.Cos(b)}.Scale(handle)), q))
	}
	return out
}

// grown returns the fabric line 19.05 mm outside the outline.
func grown(t testing.TB, net curve.Path) curve.Path {
	t.Helper()
	border, err := net.CounterClockwise().OffsetOutline(curve.Uniform(19.05), 0.01)
	if err != nil {
		t.Fatal(err)
	}
	return border.Path
}

func drawingOf(path curve.Path) sheet.Sheet {
	return sheet.Sheet{Title: "piece", Items: []sheet.Item{sheet.Stroke{ID: "line", Path: path}}}
}

// The counts of pages were found in a study in another language before this search
// was written: pages of 10 mm margins and 10 mm overlap, rows of upright and turned
// pages mixed and each shifted on its own, every shift tried in small steps. "grid"
// is the better of the plain grids of upright or turned pages there.
func TestFewestPages(t *testing.T) {
	for _, c := range []struct {
		outline          string
		grown            bool
		a4, letter, grid int
	}{
		{"S1_roundrect", false, 6, 6, 6},
		{"S4_saddle", false, 5, 5, 6},
		{"S5_horseshoe", false, 5, 5, 6},
		{"S3_Tcushion", false, 7, 7, 8},
		{"S3_Tcushion", true, 8, 9, 12},
		{"S1_roundrect", true, 6, 6, 6},
		{"S2_bowfront", true, 6, 7, 6},
	} {
		path := seatTruth(t, c.outline)
		if c.grown {
			path = grown(t, path)
		}
		for _, p := range []struct {
			paper sheet.Paper
			want  int
		}{{sheet.A4(), c.a4}, {sheet.Letter(), c.letter}} {
			plan, err := sheet.NewPlan(drawingOf(path), p.paper, sheet.Tiling{Overlap: 10, Margin: 10})
			if err != nil {
				t.Fatal(err)
			}
			b := path.Bounds()
			t.Logf("%s (%.0f x %.0f), %s: %d pages; columns %v, %v", c.outline, b.Width(), b.Height(), p.paper.Name, len(plan.Tiles), plan.Columns, plan.Tiles)
			if len(plan.Tiles) > p.want {
				t.Errorf("%s, grown %v, on %s: %d pages, want at most %d", c.outline, c.grown, p.paper.Name, len(plan.Tiles), p.want)
			}
		}
	}
}

// checkPlan fails when a point of the path, or of its inside, lies on no page, when a
// page shows more than fits on the paper, or when neighbours do not overlap.
func checkPlan(t *testing.T, name string, plan sheet.Plan, path curve.Path) {
	t.Helper()
	w := (plan.Paper.Width - 2*plan.Tiling.Margin).Millimetres()
	h := (plan.Paper.Height - 2*plan.Tiling.Margin).Millimetres()
	overlap := plan.Tiling.Overlap.Millimetres()
	for _, tile := range plan.Tiles {
		across, up := w, h
		if tile.Turned {
			across, up = h, w
		}
		if tile.Shows.Width() > across+1e-6 || tile.Shows.Height() > up+1e-6 {
			t.Fatalf("%s: page %v is larger than %.1f x %.1f mm", name, tile, across, up)
		}
	}
	points := path.Flatten(0.05)
	b := path.Bounds()
	for x := b.Min.X + 1; x < b.Max.X; x += 7.3 {
		for y := b.Min.Y + 1; y < b.Max.Y; y += 7.3 {
			if path.Contains(pt(x, y)) {
				points = append(points, pt(x, y))
			}
		}
	}
	for _, q := range points {
		// Shown by a page whose border is at least half the overlap away, unless what is
		// there is the border of all pages: then a page shows 0.1 mm more all round.
		if !shown(plan, q, 0) {
			t.Fatalf("%s: the point %v is on no page", name, q)
		}
		if !deep(plan, path, q, overlap) {
			t.Fatalf("%s: at the point %v pages do not overlap by %.1f mm", name, q, overlap)
		}
	}
}

func shown(plan sheet.Plan, q plane.Point, inside float64) bool {
	for _, tile := range plan.Tiles {
		if tile.Shows.Grow(-inside).Contains(q) {
			return true
		}
	}
	return false
}

// deep reports whether the disc of the overlap's radius around q, as far as it lies
// in the piece, is on one single page: then nothing near q is cut apart by a seam.
// It looks at 16 places around q, a little inside the radius.
func deep(plan sheet.Plan, path curve.Path, q plane.Point, overlap float64) bool {
	radius := overlap/2 - 0.06 // the flattened line is within 0.05 mm
	for _, tile := range plan.Tiles {
		whole := tile.Shows.Contains(q)
		for k := 0; whole && k < 16; k++ {
			sin, cos := math.Sincos(float64(k) * math.Pi / 8)
			r := q.Add(plane.Vec{X: radius * cos, Y: radius * sin})
			whole = tile.Shows.Contains(r) || !path.Contains(r)
		}
		if whole {
			return true
		}
	}
	return false
}

// Over random shapes, papers and overlaps: every point of line and inside is shown,
// with half the overlap around it on the same page.
func TestPlansCoverRandomShapes(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 11))
	papers := []sheet.Paper{sheet.A4(), sheet.Letter(), {Name: "A3", Width: 297, Height: 420}, {Name: "own", Width: 170, Height: 420}}
	rounds := uint64(12)
	if os.Getenv("FAIREDGE_SLOW") == "1" {
		rounds = 400
	}
	for seed := range rounds {
		path := wavy(seed).Scaled(0.1+1.5*random.Float64(), plane.Point{})
		if !path.IsSimple() {
			path = seatTruth(t, []string{"S2_bowfront", "S3_Tcushion", "S5_horseshoe"}[seed%3]).
				Transform(plane.RigidFromAngle(random.Float64()*2*math.Pi, plane.Vec{})).Scaled(0.3+random.Float64(), plane.Point{})
		}
		tiling := sheet.Tiling{Overlap: length.Length(20 * random.Float64()), Margin: length.Length(4 + 6*random.Float64())}
		plan, err := sheet.NewPlan(drawingOf(path), papers[seed%4], tiling)
		if err != nil {
			t.Fatal(err)
		}
		checkPlan(t, papers[seed%4].Name, plan, path)
	}
}

func BenchmarkNewPlan(b *testing.B) {
	s := drawingOf(grown(b, seatTruth(b, "S3_Tcushion")))
	for b.Loop() {
		if _, err := sheet.NewPlan(s, sheet.A4(), sheet.DefaultTiling()); err != nil {
			b.Fatal(err)
		}
	}
}

// No plain grid of upright or of turned pages, wherever it is laid, is better: the
// oracle counts the cells of 12 x 12 grids that points of line and inside fall into.
// Its windows are 4 mm smaller than the paper's, because it looks at points 3 mm apart.
func TestNoGridNeedsFewerPages(t *testing.T) {
	for seed, name := range []string{"S2_bowfront", "S3_Tcushion", "S5_horseshoe", "S4_saddle"} {
		random := rand.New(rand.NewPCG(uint64(seed), 5))
		path := seatTruth(t, name).Transform(plane.RigidFromAngle(random.Float64(), plane.Vec{})).Scaled(0.7+0.6*random.Float64(), plane.Point{})
		plan, err := sheet.NewPlan(drawingOf(path), sheet.A4(), sheet.DefaultTiling())
		if err != nil {
			t.Fatal(err)
		}
		points := path.Flatten(0.05)
		b := path.Bounds()
		for x := b.Min.X; x < b.Max.X; x += 3 {
			for y := b.Min.Y; y < b.Max.Y; y += 3 {
				if path.Contains(pt(x, y)) {
					points = append(points, pt(x, y))
				}
			}
		}
		least := math.MaxInt
		for _, size := range [][2]float64{{186, 273}, {273, 186}} {
			for k := range 144 {
				shift := pt(float64(k%12)/12*(size[0]-10), float64(k/12)/12*(size[1]-10))
				least = min(least, gridPages(points, size[0]-10, size[1]-10, shift))
			}
		}
		t.Logf("%s: %d pages, the best grid of cells without overlap %d", name, len(plan.Tiles), least)
		if len(plan.Tiles) > least {
			t.Errorf("%s: %d pages where a grid needs %d", name, len(plan.Tiles), least)
		}
	}
}

// gridPages counts the cells that points fall into. A window shows its cell and an
// overlap of 10 mm more.
func gridPages(points []plane.Point, stepX, stepY float64, shift plane.Point) int {
	cells := map[[2]int]bool{}
	for _, q := range points {
		cells[[2]int{int(math.Floor((q.X - shift.X) / stepX)), int(math.Floor((q.Y - shift.Y) / stepY))}] = true
	}
	return len(cells)
}
