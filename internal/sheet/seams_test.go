package sheet_test

import (
	"math"
	"strings"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// bar300 is a strip of 300 x 150 mm: two pages of A4, whose seam may lie anywhere from
// 33 to 267 mm (300 - 277 + 10 and 277 - 10 from the left). Notches stand at the x.
func bar300(notches ...float64) sheet.Sheet {
	s := sheet.Sheet{Title: "strip", Items: []sheet.Item{
		sheet.Stroke{ID: "line", Role: sheet.CutLine, Path: curve.Polygon(pt(0, 0), pt(300, 0), pt(300, 150), pt(0, 150))}}}
	for _, x := range notches {
		s.Items = append(s.Items, sheet.Stroke{Role: sheet.Notch, Path: curve.OpenPath(curve.Line(pt(x, 0), pt(x, 6)))})
	}
	return s
}

func seamOf(t *testing.T, s sheet.Sheet) plane.Rect {
	t.Helper()
	plan, _ := planned(t, s, sheet.A4(), sheet.DefaultTiling())
	if len(plan.Tiles) != 2 {
		t.Fatalf("%d pages, want 2", len(plan.Tiles))
	}
	a, b := plan.Tiles[0].Shows, plan.Tiles[1].Shows
	return plane.Rect{Min: pt(math.Max(a.Min.X, b.Min.X), 0), Max: pt(math.Min(a.Max.X, b.Max.X), 150)}
}

// A seam that may lie anywhere lies where both pages show about as much, and makes way
// for notches that stand there.
func TestSeamsKeepOffNotches(t *testing.T) {
	plain := seamOf(t, bar300())
	if math.Abs(plain.Centre().X-150) > 10 || math.Abs(plain.Width()-10) > 0.1 {
		t.Errorf("the seam lies from %.1f to %.1f, want 10 mm about 150", plain.Min.X, plain.Max.X)
	}
	notches := []float64{140, 150, 160}
	moved := seamOf(t, bar300(notches...))
	for _, x := range notches {
		if moved.Grow(3).Contains(pt(x, 1)) {
			t.Errorf("the seam from %.1f to %.1f meets the notch at %.0f", moved.Min.X, moved.Max.X, x)
		}
	}
	if moved.Min.X < 33-0.1 || moved.Max.X > 267+0.1 {
		t.Errorf("the seam lies from %.1f to %.1f, where it cannot", moved.Min.X, moved.Max.X)
	}
}

// A gate is 0.3 mm wide beside the fine line on either side: what is seen of a shift.
func TestJoinMarksShowAShift(t *testing.T) {
	_, pages := planned(t, bar300(), sheet.A4(), sheet.DefaultTiling())
	width := sheet.ScaleTick.Style().Width
	found := 0
	for _, item := range pages[1].Items {
		left, ok := item.(sheet.Stroke)
		if !ok || !strings.HasPrefix(left.ID, "join-") || !strings.HasSuffix(left.ID, "-left") {
			continue
		}
		found++
		name := strings.TrimSuffix(left.ID, "-left")
		right := strokeNamed(t, pages[1], name+"-right")
		between := left.Path.Segment(0).P0.DistanceTo(right.Path.Segment(0).P0)
		if play := (between - 2*width) / 2; math.Abs(play-0.3) > 0.005 {
			t.Errorf("%s: the fine line has %.3f mm of play, want 0.3", name, play)
		}
		strokeNamed(t, pages[0], name)
	}
	if found == 0 {
		t.Error("the second page has no mark")
	}
}

// Several small pieces share a page.
func TestPiecesShareAPage(t *testing.T) {
	small := plate(t, seat().Scaled(0.25, plane.Point{}))
	pages, err := sheet.Tiled(label(), sheet.A4(), sheet.DefaultTiling(), small, mirrored(small))
	if err != nil {
		t.Fatal(err)
	}
	// Two plates of 151 x 143 mm with 15 mm between them are 317 mm wide; two pages.
	if len(pages) != 3 {
		t.Errorf("two small plates take %d pages and the key page, want 2", len(pages)-1)
	}
}
