package sheet_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// onPages returns the pages' pieces of the line, in the whole sheet's frame: row and
// column from the page's title, the step from the paper, margins and overlap.
func onPages(t *testing.T, pages []sheet.Sheet, paper sheet.Paper, tiling sheet.Tiling, id string) map[string][]curve.Path {
	t.Helper()
	name := regexp.MustCompile(`page ([A-Z])([0-9]+)$`)
	stepX := (paper.Width - 2*tiling.Margin - tiling.Overlap).Millimetres()
	pieces := map[string][]curve.Path{}
	for _, page := range pages {
		m := name.FindStringSubmatch(page.Title)
		if m == nil {
			t.Fatalf("page %q has no name", page.Title)
		}
		var col int
		fmt.Sscan(m[2], &col)
		stepY := stepDown(page, tiling)
		shift := plane.Vec{X: float64(col-1) * stepX, Y: -float64(m[1][0]-'A') * stepY}
		for _, item := range page.Items {
			if s, ok := item.(sheet.Stroke); ok && (s.ID == id || strings.HasPrefix(s.ID, id+"-part-")) {
				pieces[m[1]+m[2]] = append(pieces[m[1]+m[2]], s.Path.Map(func(p plane.Point) plane.Point { return p.Add(shift) }))
			}
		}
	}
	return pieces
}

// stepDown returns how far the windows of two rows lie apart: the height of the
// page's large box less the overlap.
func stepDown(page sheet.Sheet, tiling sheet.Tiling) float64 {
	tallest := 0.0
	for _, item := range page.Items {
		if s, ok := item.(sheet.Stroke); ok && s.Role == sheet.Thin && s.Path.Len() == 4 {
			tallest = math.Max(tallest, s.Path.Bounds().Height())
		}
	}
	return tallest - tiling.Overlap.Millimetres()
}

// Every point of both outlines is on some page, and the pages laid together give
// nothing that is not the outline. The shift between whole and pages is one for all.
func TestTilesCoverEveryPoint(t *testing.T) {
	for _, paper := range []sheet.Paper{sheet.A4(), sheet.Letter()} {
		for _, tiling := range []sheet.Tiling{sheet.DefaultTiling(), {Overlap: 15, Margin: 12}, {Overlap: 0, Margin: 7}} {
			whole := sheet.Whole(label(), plate(t, seat()))
			pages, err := sheet.Tiles(whole, paper, tiling)
			if err != nil {
				t.Fatal(err)
			}
			for _, id := range []string{"fabric", "net"} {
				path := strokeNamed(t, whole, id).Path
				pieces := onPages(t, pages, paper, tiling, id)
				checkSame(t, paper.Name+" "+id, path, pieces)
			}
		}
	}
}

func checkSame(t *testing.T, name string, path curve.Path, pieces map[string][]curve.Path) {
	t.Helper()
	all := plane.EmptyRect()
	for _, paths := range pieces {
		for _, p := range paths {
			all = all.Union(p.Bounds())
		}
	}
	b := path.Bounds()
	if math.Abs(all.Width()-b.Width()) > 1e-6 || math.Abs(all.Height()-b.Height()) > 1e-6 {
		t.Fatalf("%s: the pages together are %.6f x %.6f mm, want %.6f x %.6f", name, all.Width(), all.Height(), b.Width(), b.Height())
	}
	toPages := all.Min.Sub(b.Min)
	for _, q := range path.Flatten(0.05) {
		nearest := math.Inf(1)
		for _, paths := range pieces {
			for _, p := range paths {
				_, d := p.Nearest(q.Add(toPages))
				nearest = math.Min(nearest, d)
			}
		}
		if nearest > 1e-6 {
			t.Fatalf("%s: the point %v is on no page (nearest %.6f mm)", name, q, nearest)
		}
	}
	for page, paths := range pieces {
		for _, p := range paths {
			for _, q := range p.Flatten(0.05) {
				if _, d := path.Nearest(q.Add(toPages.Neg())); d > 1e-6 {
					t.Fatalf("%s: page %s shows the point %v, %.6f mm off the line", name, page, q, d)
				}
			}
		}
	}
}

// Nothing is drawn outside the margins.
func TestTilesKeepTheirMargins(t *testing.T) {
	pages, err := sheet.Tiled(label(), sheet.Letter(), sheet.DefaultTiling(), plate(t, seat()))
	if err != nil {
		t.Fatal(err)
	}
	for i, page := range pages {
		disjointFrom := page.Bounds().Grow(-10 + 0.5) // half of the thickest line
		for _, item := range page.Items {
			b := item.Bounds()
			if s, ok := item.(sheet.Stroke); ok && s.Role == sheet.Thin && s.Path.Len() == 4 && b.Width() < 9 {
				continue // join marks stand half in the margin
			}
			if !disjointFrom.Contains(b.Min) || !disjointFrom.Contains(b.Max) {
				t.Errorf("page %d: an item at %v lies in the margin: %+v", i, b, item)
			}
		}
	}
}

// Neighbours carry the same mark; every page its name, the scale bar and the list.
func TestTilesNameTheirNeighbours(t *testing.T) {
	pages, err := sheet.Tiles(sheet.Whole(label(), plate(t, seat())), sheet.A4(), sheet.DefaultTiling())
	if err != nil {
		t.Fatal(err)
	}
	count := map[string]int{}
	for _, page := range pages {
		all := wordsOf(page)
		for _, mark := range regexp.MustCompile(`(?m)^[A-Z][0-9]+-[A-Z][0-9]+$`).FindAllString(all, -1) {
			count[mark]++
		}
		strokeNamed(t, page, "page-scale-100mm")
		for _, want := range []string{"Pages: A1 A2", "100 mm", fmt.Sprintf("of %d", len(pages))} {
			if !strings.Contains(strings.ReplaceAll(all, "100.0", "100"), want) {
				t.Errorf("%s does not say %q:\n%s", page.Title, want, all)
			}
		}
	}
	for _, mark := range []string{"A1-A2", "A2-A3", "A1-B1", "B2-C2", "C2-C3"} {
		if count[mark] != 2 {
			t.Errorf("mark %s is on %d pages, want 2", mark, count[mark])
		}
	}
}

// Each line of writing is on one page, whole, and clear of the others.
func TestTilesShowEveryWordOnce(t *testing.T) {
	whole := sheet.Whole(label(), plate(t, seat()))
	pages, err := sheet.Tiles(whole, sheet.A4(), sheet.DefaultTiling())
	if err != nil {
		t.Fatal(err)
	}
	var all string
	for _, page := range pages {
		all += "\n" + wordsOf(page)
	}
	for _, line := range []string{"BACK", "FRONT", "LEFT", "RIGHT", "TOP, this side up", "cut the foam here", "grain"} {
		if n := strings.Count(all, "\n"+line+"\n"); n != 1 {
			t.Errorf("%q is written %d times", line, n)
		}
	}
	tiled, err := sheet.Tiled(label(), sheet.A4(), sheet.DefaultTiling(), plate(t, seat()))
	if err != nil {
		t.Fatal(err)
	}
	for _, page := range tiled[1:] {
		disjoint(t, page, nil)
	}
}

// A diagonal leaves two corners of the paper empty: those pages are not printed.
func TestTilesLeaveOutBlankPages(t *testing.T) {
	line := curve.OpenPath(curve.Line(pt(15, 15), pt(585, 885)))
	s := sheet.Sheet{Width: 600, Height: 900, Title: "line", Items: []sheet.Item{sheet.Stroke{ID: "line", Path: line}}}
	pages, err := sheet.Tiles(s, sheet.A4(), sheet.DefaultTiling())
	if err != nil {
		t.Fatal(err)
	}
	// 570 mm need 4 windows of 190 that overlap by 10, 870 mm need 4 of 260.
	if len(pages) >= 16 || len(pages) < 7 {
		t.Errorf("a diagonal is printed on %d pages of 16", len(pages))
	}
	for _, page := range pages {
		if strings.HasSuffix(page.Title, "page A1") || strings.HasSuffix(page.Title, "page D4") {
			t.Errorf("%s is blank", page.Title)
		}
	}
}

// The dashes of a clipped line go on where they would be: the phase is the length
// that was cut off.
func TestTilesKeepThePhaseOfDashes(t *testing.T) {
	line := curve.OpenPath(curve.Line(pt(0, 50), pt(500, 50)))
	s := sheet.Sheet{Width: 500, Height: 100, Title: "line", Items: []sheet.Item{sheet.Stroke{ID: "line", Role: sheet.SeamLine, Path: line}}}
	pages, err := sheet.Tiles(s, sheet.A4(), sheet.DefaultTiling())
	if err != nil {
		t.Fatal(err)
	}
	first := strokeNamed(t, pages[0], "line").Path.Segment(0)
	for i, page := range pages[1:] {
		got := strokeNamed(t, page, "line")
		// Windows of 190 mm that overlap by 10 lie 180 apart; the first starts before the line.
		want := float64(i+1)*180 - (first.P0.X - 10)
		if math.Abs(got.Phase-want) > 0.05 {
			t.Errorf("page %d: phase %.3f mm, want %.3f", i+2, got.Phase, want)
		}
	}
}

func TestTilesRefuseWhatCannotWork(t *testing.T) {
	s := sheet.Whole(label(), plate(t, seat()))
	for _, c := range []struct {
		name   string
		s      sheet.Sheet
		tiling sheet.Tiling
	}{
		{"huge overlap", s, sheet.Tiling{Overlap: 100, Margin: 10}},
		{"huge margins", s, sheet.Tiling{Overlap: 10, Margin: 60}},
		{"negative overlap", s, sheet.Tiling{Overlap: -1, Margin: 10}},
		{"not a number", s, sheet.Tiling{Overlap: length.Length(math.NaN()), Margin: 10}},
		{"nothing drawn", sheet.Sheet{Width: 100, Height: 100}, sheet.DefaultTiling()},
		{"a hall", sheet.Whole(label(), plate(t, scaled(30))), sheet.DefaultTiling()},
	} {
		if _, err := sheet.Tiles(c.s, sheet.A4(), c.tiling); err == nil {
			t.Errorf("%s: no error", c.name)
		}
	}
	if _, err := sheet.Tiled(label(), sheet.A4(), sheet.DefaultTiling()); err == nil {
		t.Error("no plates: no error")
	}
}

// wavy returns a closed path of cubics that crosses page borders many times: the seed
// makes its 60 radii and handles.
func wavy(seed uint64) curve.Path {
	random := rand.New(rand.NewPCG(seed, 1))
	const n = 60
	points := make([]plane.Point, 3*n)
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(3*n))
		r := 150 + 150*random.Float64()
		points[i] = pt(r*cos, r*sin)
	}
	var pieces []curve.Segment
	for i := range n {
		pieces = append(pieces, curve.Cubic(points[3*i], points[3*i+1], points[3*i+2], points[(3*i+3)%(3*n)]))
	}
	return curve.ClosedPath(pieces...)
}

func TestTilesCutWavyLinesExactly(t *testing.T) {
	for seed := range uint64(4) {
		path := wavy(seed)
		s := sheet.Sheet{Width: 600, Height: 600, Title: "wavy", Items: []sheet.Item{sheet.Stroke{ID: "line", Path: path}}}
		pages, err := sheet.Tiles(s, sheet.A4(), sheet.DefaultTiling())
		if err != nil {
			t.Fatal(err)
		}
		checkSame(t, fmt.Sprintf("seed %d", seed), path, onPages(t, pages, sheet.A4(), sheet.DefaultTiling(), "line"))
	}
}

// Every point inside a filled area with a hole is filled on some page, and no point of
// the hole or outside is.
func TestTilesCutAreas(t *testing.T) {
	outer := curve.Polygon(pt(0, 0), pt(400, 20), pt(380, 500), pt(30, 450))
	hole := curve.Polygon(pt(100, 100), pt(100, 300), pt(300, 300), pt(300, 100))
	s := sheet.Sheet{Width: 500, Height: 600, Title: "area", Items: []sheet.Item{
		sheet.Area{ID: "area", Paths: []curve.Path{outer, hole}},
		sheet.Stroke{ID: "line", Path: outer}, // tells where the pages lie
	}}
	pages, err := sheet.Tiles(s, sheet.A4(), sheet.DefaultTiling())
	if err != nil {
		t.Fatal(err)
	}
	var corner plane.Point // of page A1's window, whole sheet: its margin is 10 mm
	boxes := plane.EmptyRect()
	for _, paths := range onPages(t, pages, sheet.A4(), sheet.DefaultTiling(), "line") {
		for _, p := range paths {
			boxes = boxes.Union(p.Bounds())
		}
	}
	corner = outer.Bounds().Min.Add(plane.Vec{}.Sub(boxes.Min.Sub(plane.Point{})))
	toPages := plane.Point{}.Sub(corner)
	for x := 5.0; x < 400; x += 9.7 {
		for y := 5.0; y < 500; y += 9.7 {
			want := outer.Contains(pt(x, y)) && !hole.Contains(pt(x, y))
			if got := filled(t, pages, pt(x, y).Add(toPages)); got != want {
				t.Fatalf("(%.1f, %.1f) is filled: %v, want %v", x, y, got, want)
			}
		}
	}
}

// filled reports whether some page fills the point, given in page A1's frame.
func filled(t *testing.T, pages []sheet.Sheet, q plane.Point) bool {
	t.Helper()
	tiling := sheet.DefaultTiling()
	for _, page := range pages {
		var col int
		m := regexp.MustCompile(`page ([A-Z])([0-9]+)$`).FindStringSubmatch(page.Title)
		fmt.Sscan(m[2], &col)
		onPage := q.Add(plane.Vec{X: -float64(col-1) * 180, Y: float64(m[1][0]-'A') * stepDown(page, tiling)})
		for _, item := range page.Items {
			if area, ok := item.(sheet.Area); ok && area.ID == "area" {
				winding := 0
				for _, p := range area.Paths {
					winding += p.Winding(onPage)
				}
				if winding != 0 {
					return true
				}
			}
		}
	}
	return false
}
