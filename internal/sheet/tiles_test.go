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

// planned returns the sheet's plan and pages.
func planned(t *testing.T, s sheet.Sheet, paper sheet.Paper, tiling sheet.Tiling) (sheet.Plan, []sheet.Sheet) {
	t.Helper()
	plan, err := sheet.NewPlan(s, paper, tiling)
	if err != nil {
		t.Fatal(err)
	}
	return plan, plan.Pages(s)
}

// onPages returns the pages' pieces of the line, in the whole sheet's frame.
func onPages(plan sheet.Plan, pages []sheet.Sheet, id string) map[string][]curve.Path {
	pieces := map[string][]curve.Path{}
	for i, page := range pages {
		wholeFromPage := plan.PageFromWhole(i).Inverse()
		for _, item := range page.Items {
			if s, ok := item.(sheet.Stroke); ok && (s.ID == id || strings.HasPrefix(s.ID, id+"-part-")) {
				name := plan.Tiles[i].Name()
				pieces[name] = append(pieces[name], s.Path.Transform(wholeFromPage))
			}
		}
	}
	return pieces
}

// Every point of both outlines is on some page, and the pages laid together give
// nothing that is not the outline.
func TestTilesCoverEveryPoint(t *testing.T) {
	for _, paper := range []sheet.Paper{sheet.A4(), sheet.Letter()} {
		for _, tiling := range []sheet.Tiling{sheet.DefaultTiling(), {Overlap: 15, Margin: 12}, {Overlap: 0, Margin: 7}} {
			whole := sheet.Whole(label(), plate(t, seat()))
			plan, pages := planned(t, whole, paper, tiling)
			for _, id := range []string{"fabric", "net"} {
				path := strokeNamed(t, whole, id).Path
				checkSame(t, paper.Name+" "+id, path, onPages(plan, pages, id))
			}
		}
	}
}

func checkSame(t *testing.T, name string, path curve.Path, pieces map[string][]curve.Path) {
	t.Helper()
	for _, q := range path.Flatten(0.05) {
		nearest := math.Inf(1)
		for _, paths := range pieces {
			for _, p := range paths {
				_, d := p.Nearest(q)
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
				if _, d := path.Nearest(q); d > 1e-6 {
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
		strokeNamed(t, page, "page-scale")
		for _, want := range []string{"Pages: A1 A2", "0.0 mm above", fmt.Sprintf("of %d", len(pages))} {
			if !strings.Contains(all, want) {
				t.Errorf("%s does not say %q:\n%s", page.Title, want, all)
			}
		}
	}
	for _, mark := range []string{"A1-A2", "A2-A3", "A1-B1", "B1-B2"} {
		if count[mark] == 0 || count[mark]%2 != 0 {
			t.Errorf("mark %s is written %d times, want twice or four times", mark, count[mark])
		}
	}
}

// A join mark fits its true neighbour alone: whatever the drawing, each mark's name stands
// on two pages and no third, and the pages are those that it names.
func TestJoinMarksFitNoOtherPage(t *testing.T) {
	mark := regexp.MustCompile(`(?m)^([A-Z]+[0-9]+)-([A-Z]+[0-9]+)$`)
	for _, paper := range []sheet.Paper{sheet.A4(), sheet.Letter()} {
		pages, err := sheet.Tiles(sheet.Whole(label(), plate(t, seat()), plate(t, seat())), paper, sheet.DefaultTiling())
		if err != nil {
			t.Fatal(err)
		}
		on := map[string][]string{}
		for _, page := range pages {
			seen := map[string]bool{}
			for _, m := range mark.FindAllStringSubmatch(wordsOf(page), -1) {
				if !seen[m[0]] {
					seen[m[0]] = true
					on[m[0]] = append(on[m[0]], page.Title)
				}
				if named := regexp.MustCompile(`\b(` + m[1] + `|` + m[2] + `)\b`); !named.MatchString(page.Title) {
					t.Errorf("mark %s stands on the page %q, which it does not name", m[0], page.Title)
				}
			}
		}
		for name, titles := range on {
			if len(titles) != 2 {
				t.Errorf("mark %s stands on %v", name, titles)
			}
		}
		if len(on) < 5 {
			t.Errorf("only %d marks were found", len(on))
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
	plan, _ := planned(t, s, sheet.A4(), sheet.DefaultTiling())
	// A window of 277 mm holds 870 mm of height in four rows that overlap by 10; the
	// line runs 184 mm to the side in each, less than the 190 mm of one window.
	if len(plan.Tiles) != 4 {
		t.Errorf("a diagonal is printed on %d pages, want 4", len(plan.Tiles))
	}
}

// The dashes of a clipped line go on where they would be: the phase is the length
// that was cut off.
func TestTilesKeepThePhaseOfDashes(t *testing.T) {
	line := curve.OpenPath(curve.Line(pt(0, 50), pt(500, 50)))
	s := sheet.Sheet{Width: 500, Height: 100, Title: "line", Items: []sheet.Item{sheet.Stroke{ID: "line", Role: sheet.SeamLine, Path: line}}}
	plan, pages := planned(t, s, sheet.A4(), sheet.DefaultTiling())
	if len(pages) < 2 {
		t.Fatalf("500 mm are on %d pages", len(pages))
	}
	for i, page := range pages {
		got := strokeNamed(t, page, "line")
		want := plan.PageFromWhole(i).Inverse().Apply(got.Path.Segment(0).P0).X
		if math.Abs(got.Phase-want) > 0.05 {
			t.Errorf("page %d: phase %.3f mm, want %.3f", i+1, got.Phase, want)
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
		plan, pages := planned(t, s, sheet.A4(), sheet.DefaultTiling())
		checkSame(t, fmt.Sprintf("seed %d", seed), path, onPages(plan, pages, "line"))
	}
}

// Every point inside a filled area with a hole is filled on some page, and no point of
// the hole or outside is.
func TestTilesCutAreas(t *testing.T) {
	outer := curve.Polygon(pt(0, 0), pt(400, 20), pt(380, 500), pt(30, 450))
	hole := curve.Polygon(pt(100, 100), pt(100, 300), pt(300, 300), pt(300, 100))
	s := sheet.Sheet{Width: 500, Height: 600, Title: "area", Items: []sheet.Item{
		sheet.Area{ID: "area", Paths: []curve.Path{outer, hole}},
	}}
	plan, pages := planned(t, s, sheet.A4(), sheet.DefaultTiling())
	for x := 5.0; x < 400; x += 9.7 {
		for y := 5.0; y < 500; y += 9.7 {
			want := outer.Contains(pt(x, y)) && !hole.Contains(pt(x, y))
			if got := filled(plan, pages, pt(x, y)); got != want {
				t.Fatalf("(%.1f, %.1f) is filled: %v, want %v", x, y, got, want)
			}
		}
	}
}

// filled reports whether some page fills the point, given in the whole sheet's frame.
func filled(plan sheet.Plan, pages []sheet.Sheet, q plane.Point) bool {
	for i, page := range pages {
		onPage := plan.PageFromWhole(i).Apply(q)
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
