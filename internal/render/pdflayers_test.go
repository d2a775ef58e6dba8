package render

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

// The document has one optional content group for each layer in use; cards have none.
func TestPDFLayersCanBeSwitched(t *testing.T) {
	s := sheet.Whole(seatLabel(), seatPlate(t))
	pdf := writePDF(t, []sheet.Sheet{s}, Meta{})
	shown := run(t, "qpdf", "--qdf", "--object-streams=disable", pdf, "-")
	groups := regexp.MustCompile(`/Type /OCG`).FindAllString(shown, -1)
	if len(groups) != 3 { // cutting lines, marks, words; the seat has no seam
		t.Errorf("there are %d layers, want 3", len(groups))
	}
	if !strings.Contains(shown, "/PrintScaling /None") {
		t.Error("readers are not asked to print without scaling")
	}
	cards := run(t, "qpdf", "--qdf", "--object-streams=disable", writePDF(t, sheet.Cards(card.A4), Meta{}), "-")
	if strings.Contains(cards, "/OCG") {
		t.Error("cards have layers")
	}
}

// Without the layer of the cutting lines an independent program does not draw them.
func TestPDFLayerOffIsNotDrawn(t *testing.T) {
	s := sheet.Whole(seatLabel(), seatPlate(t))
	pdf := writePDF(t, []sheet.Sheet{s}, Meta{})
	q := stroke(t, s, "fabric").Path.Segment(0).At(0.1) // clear of the notches
	if on := poppler(t, pdf, 1, 72, s).at(q); on < 0.5 {
		t.Fatalf("the cut line's darkness is %.2f with all layers", on)
	}
	shown := run(t, "qpdf", "--qdf", "--object-streams=disable", pdf, "-")
	first := regexp.MustCompile(`/ON \[\s*(\d+ 0 R)`)
	if !first.MatchString(shown) {
		t.Fatal("no layer is on")
	}
	off := first.ReplaceAllString(shown, "/OFF [ $1 ] /ON [")
	file := writeFile(t, "off.pdf", []byte(off))
	fixed := file + ".fixed.pdf"
	runLenient(t, "qpdf", file, fixed)
	if dark := poppler(t, fixed, 1, 72, s).at(q); dark > 0.1 {
		t.Errorf("the cut line's darkness is %.2f with its layer off", dark)
	}
}

// A sheet of 7.5 m: both readers see its true size, by the larger unit.
func TestPDFLargerThanFiveMetres(t *testing.T) {
	s := square(700, 7500)
	pdf := writePDF(t, []sheet.Sheet{s}, Meta{})
	if out := run(t, "qpdf", "--check", pdf); !strings.Contains(out, "No syntax or stream encoding errors found") {
		t.Errorf("qpdf --check says:\n%s", out)
	}
	shown := run(t, "qpdf", "--qdf", "--object-streams=disable", pdf, "-")
	m := regexp.MustCompile(`/UserUnit (\d+)`).FindStringSubmatch(shown)
	if m == nil || m[1] != "2" {
		t.Fatalf("the unit is %v, want 2", m)
	}
	box := regexp.MustCompile(`/MediaBox \[\s*0\s*0\s*([\d.]+)\s*([\d.]+)`).FindStringSubmatch(shown)
	var w, h float64
	fmt.Sscan(box[1], &w)
	fmt.Sscan(box[2], &h)
	if h > 14400 || math.Abs(2*w*25.4/72-700) > 0.01 || math.Abs(2*h*25.4/72-7500) > 0.01 {
		t.Errorf("the page is %.3f x %.3f units of 2/72 in, want 700 x 7500 mm", w, h)
	}
	// MuPDF draws by the unit: 7500 mm at 36 dpi are 10630 px.
	r := mupdf(t, pdf, 1, 36, s)
	if got := float64(r.height) / 36 * 25.4; math.Abs(got-7500) > 1 {
		t.Errorf("MuPDF draws %.1f mm, want 7500", got)
	}
	if dark := r.at(plane.Point{X: 40, Y: 20}); dark < 0.3 {
		t.Errorf("the line at the foot has darkness %.2f", dark)
	}
}
