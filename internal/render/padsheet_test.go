package render

import (
	"bytes"
	"encoding/json"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"fairedge/internal/cutsheet"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"
	"fairedge/internal/sheet"
)

// padSeat is a seat that is its own mirror image: usual sizes (380 to 550 mm wide,
// 2 to 3 in narrower at the back), corners of 40 mm.
func padSeat(t testing.TB) shape.Shape {
	t.Helper()
	const mm = length.Millimetre
	s, err := shapefile.Trapezoid(380*mm, 450*mm, 400*mm, shapefile.AllCorners(40*mm))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func padOf(t testing.TB, recipe string) pad.Pad {
	t.Helper()
	r, err := pad.Named(recipe)
	if err != nil {
		t.Fatal(err)
	}
	p, err := pad.Cut(padSeat(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func cutSheetOf(t testing.TB, p pad.Pad) []sheet.Sheet {
	t.Helper()
	return cutsheet.Sheets(cutsheet.Job{Name: seatLabel().Job, Date: seatLabel().Date, Program: "fairedge 0.1", Pad: p, Pads: 1,
		Needs: p.TakeOff(1, pad.DefaultSpare()), Seat: padSeat(t).Size}, sheet.A4())
}

func padPagesOf(t testing.TB, p pad.Pad) []sheet.Sheet {
	t.Helper()
	pages, err := sheet.PadPages(sheet.PadParts(p, seatLabel()), seatLabel(), sheet.PadPrinting{Paper: sheet.A4(), Tiling: sheet.DefaultTiling(), Strips: true})
	if err != nil {
		t.Fatal(err)
	}
	return pages
}

// The squares of a pad's first page are true to scale, by two independent programs.
func TestPadPagesAreTrueToScale(t *testing.T) {
	t.Parallel()
	pages := padPagesOf(t, padOf(t, "tie-on"))
	pdf := writePDF(t, pages, Meta{})
	for program, r := range map[string]*raster{"poppler": poppler(t, pdf, 1, 300, pages[0]), "MuPDF": mupdf(t, pdf, 1, 300, pages[0])} {
		for _, bar := range []string{"scale-100mm", "scale-100mm-along"} {
			if got := barLength(t, r, pages[0], bar); math.Abs(got-100) > 0.05 {
				t.Errorf("%s draws bar %s %.4f mm long, want 100.00 ± 0.05", program, bar, got)
			}
		}
	}
}

// Each piece's plotter sheet, drawn by three independent programs, has the cut line at
// its size to 0.05 mm.
func TestPadPiecesAreDrawnTrueToScale(t *testing.T) {
	t.Parallel()
	for i, part := range sheet.PadParts(padOf(t, "tie-on"), seatLabel())[:2] {
		s := sheet.PadWhole(part, seatLabel())
		pdf, svg := writePDF(t, []sheet.Sheet{s}, Meta{}), writeSVG(t, s)
		drawers := map[string]func() *raster{
			"poppler": func() *raster { return poppler(t, pdf, 1, 200, s) },
			"MuPDF":   func() *raster { return mupdf(t, pdf, 1, 200, s) },
			"librsvg": func() *raster {
				out := filepath.Join(t.TempDir(), "sheet.png")
				run(t, "rsvg-convert", "--unlimited", "-d", "200", "-p", "200", "-b", "white", "-o", out, svg)
				return readPNG(t, out, 200, s)
			},
		}
		for name, draw := range drawers {
			if i == 1 && name != "poppler" {
				continue // the second plate once
			}
			checkCutWidths(t, name, draw(), s)
		}
	}
}

// checkCutWidths measures the cut line at heights where neither a mark nor a word lies
// near it.
func checkCutWidths(t *testing.T, program string, r *raster, s sheet.Sheet) {
	t.Helper()
	path := stroke(t, s, "cut").Path
	b := path.Bounds()
	measured := 0
	for share := 0.2; share < 0.8; share += 0.04 {
		y := math.Floor((b.Min.Y+share*b.Height())*r.perMM)/r.perMM + 0.5/r.perMM
		left, right := crossing(path, y)
		if isBusy(s, plane.Point{X: left, Y: y}) || isBusy(s, plane.Point{X: right, Y: y}) {
			continue
		}
		var off [2]float64
		for i, x := range []float64{left, right} {
			ink, middle := r.moment(plane.Point{X: x, Y: y}, plane.Vec{X: 1}, 3)
			if ink < 0.5 || ink > 1.2 { // the line is 0.8 mm wide and crossed at a slant
				t.Fatalf("%s: at height %.1f the line has %.2f mm of ink", program, y, ink)
			}
			off[i] = middle
		}
		measured++
		if wide := math.Abs(off[1] - off[0]); wide > 0.05 {
			t.Errorf("%s draws %s %.3f mm too wide or narrow at height %.1f, want at most 0.05", program, s.Title, wide, y)
		}
	}
	if measured < 5 {
		t.Errorf("%s: only %d widths could be measured", program, measured)
	}
}

// isBusy reports whether anything but the cut line lies within 4 mm of the place.
func isBusy(s sheet.Sheet, q plane.Point) bool {
	for _, item := range s.Items {
		line, isStroke := item.(sheet.Stroke)
		if isStroke && (line.ID == "cut" || line.ID == "seam" || line.ID == "foam") {
			continue
		}
		if item.Bounds().Grow(4).Contains(q) {
			return true
		}
	}
	return false
}

// The machine file has one block for each piece and strip, its boundary closed, valid
// and of the piece's area (GEOS), and every line on the layer of its role (ASTM D6673:
// boundary 1, notches 4, mirror 6, grain 7, internal 8, sew 14, text 15).
func TestPadDXFIsReadByAnIndependentReader(t *testing.T) {
	p := padOf(t, "tie-on")
	half, ok := p.Pieces[0].HalfTemplate()
	if !ok {
		t.Fatal("a symmetric plate has no half")
	}
	p.Pieces = append(p.Pieces, half)
	parts := sheet.PadParts(p, seatLabel())
	var out bytes.Buffer
	if err := DXF(&out, sheet.PadPieces(parts)); err != nil {
		t.Fatal(err)
	}
	var told dxfTold
	if err := json.Unmarshal([]byte(run(t, "/usr/bin/python3", "testdata/read_dxf.py", writeFile(t, "pad.dxf", out.Bytes()))), &told); err != nil {
		t.Fatal(err)
	}
	if len(told.Errors) > 0 || len(told.Inserts) != len(parts) {
		t.Errorf("errors %v, %d inserts for %d parts", told.Errors, len(told.Inserts), len(parts))
	}
	for name, c := range map[string]struct {
		piece  pad.Piece
		layers string // those that it has, others not
	}{
		"TOP-PLATE":                  {p.Pieces[0], "1 4 7 8 14"},
		"SECOND-PLATE":               {p.Pieces[1], "1 4 7 8 14"},
		"FOAM-BLANK":                 {p.Pieces[2], "1"},
		"TOP-PLATE-HALF-ON-THE-FOLD": {half, "1 4 6 7 8 14"},
	} {
		var layers []string
		for _, line := range told.Blocks[name].Lines {
			if !slices.Contains(layers, line.Layer) {
				layers = append(layers, line.Layer)
			}
			if line.Layer != "1" {
				continue
			}
			want := c.piece.CutLine
			if want.IsEmpty() {
				want = c.piece.FoamLine
			}
			if c.piece.FoldLine != nil {
				if line.Closed {
					t.Errorf("%s: the boundary is closed along the fold", name)
				}
				continue
			}
			checkDXFOutline(t, name, line.Points, line.Area, want)
			if !line.Closed || !line.Valid {
				t.Errorf("%s: closed %v, valid for GEOS %v", name, line.Closed, line.Valid)
			}
		}
		for _, layer := range strings.Fields("1 4 6 7 8 14") {
			if has, wanted := slices.Contains(layers, layer), slices.Contains(strings.Fields(c.layers), layer); has != wanted {
				t.Errorf("%s: layer %s is there: %v, wanted %v (%v)", name, layer, has, wanted, layers)
			}
		}
		if !slices.Contains(told.Blocks[name].Words, [2]string{"15", seatLabel().Job}) {
			t.Errorf("%s: the job's name is not on layer 15", name)
		}
	}
}

// The documents are sound for qpdf, and the pages of a whole pad stay under 300 kB.
func TestPadDocumentsAreSoundAndSmall(t *testing.T) {
	t.Parallel()
	for _, recipe := range []string{"tie-on", "boxed-zip", "bullnose"} {
		p := padOf(t, recipe)
		whole := 0
		for name, sheets := range map[string][]sheet.Sheet{"pages": padPagesOf(t, p), "cut sheet": cutSheetOf(t, p)} {
			var out bytes.Buffer
			if err := PDF(&out, sheets, Meta{Title: name}); err != nil {
				t.Fatal(err)
			}
			whole += out.Len()
			if told := run(t, "qpdf", "--check", writeFile(t, "pad.pdf", out.Bytes())); !strings.Contains(told, "No syntax or stream encoding errors found") {
				t.Errorf("%s, %s: qpdf --check says:\n%s", recipe, name, told)
			}
			for _, s := range sheets {
				var svg bytes.Buffer
				if err := SVG(&svg, s); err != nil && name == "cut sheet" {
					t.Errorf("%s, %s: %v", recipe, name, err)
				}
			}
		}
		if whole > 300e3 {
			t.Errorf("%s: pages and cut sheet take %d bytes, want at most 300 kB", recipe, whole)
		}
		t.Logf("%s: %d bytes", recipe, whole)
	}
}

// BenchmarkPadOnPaper makes everything that is printed for a pad: top, second plate,
// foam and strips on pages, and the cut sheet, as PDF.
func BenchmarkPadOnPaper(b *testing.B) {
	p := padOf(b, "tie-on")
	size, start := 0, cpuTime(b)
	for b.Loop() {
		var pages, bench bytes.Buffer
		if err := PDF(&pages, padPagesOf(b, p), Meta{}); err != nil {
			b.Fatal(err)
		}
		if err := PDF(&bench, cutSheetOf(b, p), Meta{}); err != nil {
			b.Fatal(err)
		}
		size = pages.Len() + bench.Len()
	}
	b.ReportMetric(float64(size)/1000, "kB")
	b.ReportMetric((cpuTime(b)-start).Seconds()*1000/float64(b.N), "cpu-ms/op")
}

// cpuTime returns what the process has used of all cores: what counts on a machine
// that others use too.
func cpuTime(tb testing.TB) time.Duration {
	tb.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		tb.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// Every millimetre of the bars is ruled, across and along, where it belongs to 0.1 mm
// (programs draw so fine a line on whole pixels). Drawn as one line that runs to and
// fro, half of the divisions are dropped by canvas.
func TestBarsShowEveryMillimetre(t *testing.T) {
	t.Parallel()
	s := sheet.Whole(seatLabel(), seatPlate(t))
	pdf := writePDF(t, []sheet.Sheet{s}, Meta{})
	for program, r := range map[string]*raster{"poppler": poppler(t, pdf, 1, 400, s), "MuPDF": mupdf(t, pdf, 1, 400, s)} {
		for _, id := range []string{"scale-100mm", "scale-100mm-along"} {
			base := stroke(t, s, id).Path.Segment(0)
			along := base.P3.Sub(base.P0).Unit()
			for i := 1; i < 100; i++ {
				// 1.2 mm beside the base line: the shortest divisions are 1.6 mm long.
				q := base.P0.Add(along.Scale(float64(i))).Add(along.TurnLeft().Scale(1.2))
				if ink, off := r.moment(q, along, 0.4); ink < 0.06 || ink > 0.3 || math.Abs(off) > 0.1 {
					t.Errorf("%s: division %d of %s has %.2f mm of ink, %.2f mm off; want 0.13, 0", program, i, id, ink, off)
				}
			}
		}
	}
}
