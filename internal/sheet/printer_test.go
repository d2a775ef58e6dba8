package sheet_test

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// printed returns the place where a printer with this fault puts a place of the sheet,
// up to a shift.
func printed(p sheet.Printer, q plane.Point) plane.Point {
	return pt(q.X*p.Across, q.Y*p.Along)
}

// What a printer prints of a corrected sheet is as long as the sheet says.
func TestCorrectedSheetsComeOutTrue(t *testing.T) {
	p := sheet.Printer{Name: "studio", Along: 0.9944, Across: 1.0061}
	for _, s := range sheet.Cards(card.A4) {
		corrected := p.Corrected(s, 10)
		for _, id := range []string{"bar-along", "bar-across"} {
			seg := strokeNamed(t, corrected, id).Path.Segment(0)
			if got := printed(p, seg.P0).DistanceTo(printed(p, seg.P3)); math.Abs(got-180) > 1e-9 {
				t.Errorf("%s: %s is printed %.4f mm long, want 180", s.Title, id, got)
			}
		}
		words := wordsOf(corrected)
		for _, want := range []string{`Corrected for printer "studio"`, "-0.56 % along", "+0.61 % across", "every bar must read its full length"} {
			if !strings.Contains(words, want) {
				t.Errorf("%s does not say %q", s.Title, want)
			}
		}
	}
	s := sheet.Cards(card.A4)[0]
	if same := (sheet.Printer{}).Corrected(s, 10); len(same.Items) != len(s.Items) || same.Title != s.Title {
		t.Error("a printer of which nothing is known changes the sheet")
	}
}

// The key page says what a tape reads between the crosses when the pages are joined:
// the distance of the crosses in the whole drawing, found again on the pages.
func TestAssembledDiagonalIsAsLongAsItSays(t *testing.T) {
	pages, err := sheet.Tiled(label(), sheet.A4(), sheet.DefaultTiling(), plate(t, seat()))
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(`from cross to cross: ([\d.]+) mm`).FindStringSubmatch(strings.ReplaceAll(wordsOf(pages[0]), "\n", " "))
	if m == nil {
		t.Fatalf("the key page says nothing of the crosses:\n%s", wordsOf(pages[0]))
	}
	var said float64
	fmt.Sscan(m[1], &said)
	shifts := shiftsByMarks(t, pages[1:])
	var crosses []plane.Point
	for i, page := range pages[1:] {
		for _, item := range page.Items {
			if line, ok := item.(sheet.Stroke); ok && strings.HasPrefix(line.ID, "check-cross") && strings.HasSuffix(line.ID, "-across") {
				crosses = append(crosses, line.Path.Segment(0).At(0.5).Add(shifts[i]))
			}
		}
	}
	if len(crosses) != 2 {
		t.Fatalf("%d crosses are printed, want 2", len(crosses))
	}
	if got := crosses[0].DistanceTo(crosses[1]); math.Abs(got-said) > 0.06 || got < 300 {
		t.Errorf("the crosses lie %.2f mm apart, the page says %.1f", got, said)
	}
}

// shiftsByMarks lays upright pages together by their join marks and returns the shift
// of each, the first staying where it is.
func shiftsByMarks(t *testing.T, pages []sheet.Sheet) []plane.Vec {
	t.Helper()
	shifts := make([]plane.Vec, len(pages))
	lying := map[string]plane.Point{}
	for i, page := range pages {
		marks := map[string]plane.Point{}
		for _, item := range page.Items {
			line, ok := item.(sheet.Stroke)
			switch name := strings.TrimSuffix(line.ID, "-left"); {
			case !ok || !strings.HasPrefix(line.ID, "join-") || strings.HasSuffix(line.ID, "-right"):
			case name != line.ID:
				marks[name] = line.Path.Segment(0).P0.Lerp(strokeNamed(t, page, name+"-right").Path.Segment(0).P0, 0.5)
			default:
				marks[name] = line.Path.Segment(0).P3
			}
		}
		met := i == 0
		for name, q := range marks {
			if at, known := lying[name]; known {
				shifts[i], met = at.Sub(q), true
			}
		}
		if !met {
			t.Fatalf("%s shares no mark with the pages before it", page.Title)
		}
		for name, q := range marks {
			lying[name] = q.Add(shifts[i])
		}
	}
	return shifts
}
