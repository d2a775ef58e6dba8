package sheet_test

import (
	"math"
	"testing"

	"fairedge/internal/problem"
	"fairedge/internal/sheet"
)

// Sizes from ISO 216 and ANSI/ASME Y14.1 (an inch is 25.4 mm).
func TestPapersAreFoundByName(t *testing.T) {
	for text, want := range map[string][2]float64{
		"a4": {210, 297}, "A3": {297, 420}, "a2": {420, 594}, "a1": {594, 841}, "a0": {841, 1189},
		"letter": {215.9, 279.4}, "legal": {215.9, 355.6}, "tabloid": {279.4, 431.8},
		"ansi-c": {431.8, 558.8}, "ANSI-D": {558.8, 863.6}, "ansi-e": {863.6, 1117.6},
		"300x450mm": {300, 450}, "450mm x 300mm": {300, 450}, "12x18in": {304.8, 457.2},
		"roll-610mm": {610, 0}, "roll 24in": {609.6, 0},
		// 210 x 279.4 lies inside A4 and Letter; less 1/4 in all round it is 197.3 x 266.7.
		"any": {210, 279.4},
	} {
		got, err := sheet.PaperNamed(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if math.Abs(got.Width.Millimetres()-want[0]) > 1e-6 || math.Abs(got.Height.Millimetres()-want[1]) > 1e-6 {
			t.Errorf("%q is %.2f x %.2f mm, want %v", text, got.Width.Millimetres(), got.Height.Millimetres(), want)
		}
	}
	m := sheet.TilingFor(sheet.AnyPaper()).Margin
	if w, h := (sheet.AnyPaper().Width - 2*m).Millimetres(), (sheet.AnyPaper().Height - 2*m).Millimetres(); math.Abs(w-197.3) > 1e-6 || math.Abs(h-266.7) > 1e-6 {
		t.Errorf("pages for A4 and Letter show %.2f x %.2f mm, want 197.3 x 266.7", w, h)
	}
	for _, text := range []string{"", "a9", "roll", "roll-x", "100x100mm", "300x", "x", "9000x300mm", "-300x400mm", "NaNxNaNmm", "roll-9000mm"} {
		if p, err := sheet.PaperNamed(text); problem.KindOf(err) != problem.Usage {
			t.Errorf("%q gives %v, %v; want kind %v", text, p, err, problem.Usage)
		}
	}
}

// A roll's pages are as long as the piece needs; the first page wastes no paper.
func TestRollsTakeAPieceWhole(t *testing.T) {
	roll, err := sheet.PaperNamed("roll-610mm")
	if err != nil {
		t.Fatal(err)
	}
	pages, err := sheet.Tiled(label(), roll, sheet.DefaultTiling(), plate(t, seat()))
	if err != nil {
		t.Fatal(err)
	}
	if len(pages) != 2 || pages[1].Width != 610 || pages[1].Height < 490 || pages[0].Height > 420 {
		t.Errorf("%d pages of %v x %v, want a short key page and one page of 610 mm by the length of the seat", len(pages), pages[1].Width, pages[1].Height)
	}
}

// A piece of 3 x 3 m and one of 20 mm work.
func TestTilesOfVeryLargeAndVerySmallPieces(t *testing.T) {
	for _, size := range []float64{20, 3000} {
		net := seat().Scaled(size/451.2, pt(0, 0)) // the seat is 451.2 mm wide
		pages, err := sheet.Tiled(label(), sheet.A4(), sheet.DefaultTiling(), sheet.Plate{Foam: net})
		if err != nil {
			t.Fatal(err)
		}
		// No fewer pages than the area needs: 190 x 277 mm each.
		if least := int(net.SignedArea()/(190*277)) + 1; len(pages)-1 < least {
			t.Errorf("%.0f mm: %d pages cannot show %.0f mm²", size, len(pages)-1, net.SignedArea())
		}
		for _, page := range pages {
			if page.Width != pages[0].Width || page.Height != pages[0].Height {
				t.Errorf("%.0f mm: %s is %v x %v, the first page %v x %v", size, page.Title, page.Width, page.Height, pages[0].Width, pages[0].Height)
			}
		}
	}
}
