package render

import (
	"math"
	"strings"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// fieldCorner returns where a card's field has its lower left corner on the sheet:
// cell (0, 0) is dark, so its corner is the corner of the ink.
func fieldCorner(t *testing.T, s sheet.Sheet, d card.Design) plane.Point {
	t.Helper()
	id := "field-" + strings.ReplaceAll(strings.ToLower(d.ID.String()), " ", "-")
	for _, item := range s.Items {
		if item.Identity() == id {
			return item.Bounds().Min
		}
	}
	t.Fatalf("sheet %q has no field %q", s.Title, id)
	return plane.Point{}
}

// The printed cards are the cards that the design describes, cell by cell and dot by
// dot, and every mark lies within 0.05 mm of its place, as MuPDF draws them at 600
// dots per inch.
func TestPrintedCardsAreTheDesign(t *testing.T) {
	t.Parallel()
	for _, paper := range []card.Paper{card.A4, card.Letter} {
		sheets := sheet.Cards(paper)
		pdf := writePDF(t, sheets, Meta{})
		pages := []*raster{mupdf(t, pdf, 1, 600, sheets[0]), mupdf(t, pdf, 2, 600, sheets[1])}
		for _, d := range card.All() {
			if d.ID.Paper != paper {
				continue
			}
			page := 0
			if d.ID.Number == card.Frame {
				page = 1
			}
			shift := fieldCorner(t, sheets[page], d).Sub(d.FieldMin)
			checkInk(t, pages[page], d, shift)
			checkMarks(t, pages[page], d, shift)
		}
	}
}

// checkInk probes every cell at its middle, on two rings inside and outside where a
// dot's rim would be, and 0.3 mm from its corners.
func checkInk(t *testing.T, r *raster, d card.Design, toSheet plane.Vec) {
	t.Helper()
	wrong, probes := 0, 0
	for row := range d.Rows {
		for col := range d.Cols {
			middle := d.CellMin(col, row).Add(plane.Vec{X: card.Pitch / 2, Y: card.Pitch / 2})
			for _, v := range cellProbes() {
				p := middle.Add(v)
				want := 0.0
				if d.IsInk(p) {
					want = 1
				}
				probes++
				if d.HasCell(col, row) && math.Abs(r.at(p.Add(toSheet))-want) > 0.5 {
					wrong++
				}
			}
		}
	}
	if wrong > 0 {
		t.Errorf("%v: %d of %d probes have the wrong tone", d.ID, wrong, probes)
	}
}

func cellProbes() []plane.Vec {
	probes := []plane.Vec{{}}
	for k := range 8 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 4)
		probes = append(probes, plane.Vec{X: 1.1 * cos, Y: 1.1 * sin}, plane.Vec{X: 1.3 * cos, Y: 1.3 * sin})
	}
	for _, x := range []float64{-3.2, 3.2} {
		probes = append(probes, plane.Vec{X: x, Y: x}, plane.Vec{X: x, Y: -x})
	}
	return probes
}

// checkMarks finds each mark by the four edges that meet in it: at 1.5 mm from the
// mark, the ink within ±1 mm across an edge tells where the edge is.
func checkMarks(t *testing.T, r *raster, d card.Design, toSheet plane.Vec) {
	t.Helper()
	worst := 0.0
	for _, m := range d.Marks() {
		mark := d.Mark(m.I, m.J).Add(toSheet)
		dx := (edge(r, mark.Add(plane.Vec{Y: 1.5}), plane.Vec{X: 1}) + edge(r, mark.Add(plane.Vec{Y: -1.5}), plane.Vec{X: 1})) / 2
		dy := (edge(r, mark.Add(plane.Vec{X: 1.5}), plane.Vec{Y: 1}) + edge(r, mark.Add(plane.Vec{X: -1.5}), plane.Vec{Y: 1})) / 2
		worst = math.Max(worst, math.Hypot(dx, dy))
	}
	if worst > 0.05 {
		t.Errorf("%v: a mark lies %.3f mm from its place, want at most 0.05", d.ID, worst)
	}
	t.Logf("%v: %d marks within %.4f mm", d.ID, len(d.Marks()), worst)
}

// edge returns the displacement along the direction from p to the edge near it
// between ink and paper. Summed over whole pixels from p - n to p + n, the ink is
// the stretch from the edge to that end which is dark.
func edge(r *raster, p plane.Point, direction plane.Vec) float64 {
	const reach = 1.0
	n := int(reach * r.perMM)
	ink, _ := r.moment(p, direction, reach)
	// The pixel that holds p: its middle, as a displacement from p.
	var middle float64
	if direction.X != 0 {
		middle = (math.Floor(p.X*r.perMM)+0.5)/r.perMM - p.X
	} else {
		middle = r.heightMM - (math.Floor((r.heightMM-p.Y)*r.perMM)+0.5)/r.perMM - p.Y
	}
	half := (float64(n) + 0.5) / r.perMM
	if r.at(p.Add(direction.Scale(0.5))) > 0.5 { // dark ahead
		return middle + half - ink
	}
	return middle - half + ink
}
