package render

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"fairedge/internal/card"
	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// barLength measures a bar on a raster: the distance between the middles of its end
// lines, which alone reach 3.8 mm from the base line.
func barLength(t *testing.T, r *raster, s sheet.Sheet, id string) float64 {
	t.Helper()
	bar := stroke(t, s, id).Path.Segment(0)
	along := bar.P3.Sub(bar.P0).Unit()
	aside := along.TurnLeft().Scale(3.8)
	var ends [2]float64
	for i, end := range []plane.Point{bar.P0, bar.P3} {
		ink, middle := r.moment(end.Add(aside), along, 1.5)
		if ink < 0.15 || ink > 0.4 { // the end lines are 0.25 mm wide
			t.Fatalf("bar %s: an end line has %.3f mm of ink, want 0.25", id, ink)
		}
		ends[i] = middle
	}
	return bar.P0.DistanceTo(bar.P3) + ends[1] - ends[0]
}

// The bars on paper are as long as they say, by two independent programs, along and
// across. 0.05 mm is a tenth of what a ruler shows.
func TestBarsAreTrueToScale(t *testing.T) {
	t.Parallel()
	tiles, err := sheet.Tiled(seatLabel(), sheet.Letter(), sheet.DefaultTiling(), seatPlate(t))
	if err != nil {
		t.Fatal(err)
	}
	whole := []sheet.Sheet{sheet.Whole(seatLabel(), seatPlate(t))}
	for _, c := range []struct {
		name   string
		sheets []sheet.Sheet
		page   int
		dpi    float64
		bars   map[string]float64 // by name, mm
	}{
		{"A4 loose cards", sheet.Cards(card.A4), 1, 600, map[string]float64{"bar-across": 180, "bar-along": 180}},
		{"Letter frame", sheet.Cards(card.Letter), 2, 600, map[string]float64{"bar-across": 180, "bar-along": 180}},
		{"key page", tiles, 1, 300, map[string]float64{"scale-100mm": 100, "scale-100mm-along": 100}},
		{"tile", tiles, 3, 600, map[string]float64{"page-scale": 180}},
		{"whole", whole, 1, 300, map[string]float64{"scale-100mm": 100, "scale-100mm-along": 100, "scale-4in": 101.6}},
	} {
		t.Run(c.name, func(t *testing.T) {
			pdf, s := writePDF(t, c.sheets, Meta{}), c.sheets[c.page-1]
			rasters := map[string]*raster{"poppler": poppler(t, pdf, c.page, c.dpi, s), "MuPDF": mupdf(t, pdf, c.page, c.dpi, s)}
			for program, r := range rasters {
				for bar, want := range c.bars {
					if got := barLength(t, r, s, bar); math.Abs(got-want) > 0.05 {
						t.Errorf("%s draws bar %s %.4f mm long, want %.2f ± 0.05", program, bar, got, want)
					} else {
						t.Logf("%s: %s %.4f mm", program, bar, got)
					}
				}
			}
		})
	}
}

// A printer prints lengths times its fault: what two independent programs draw of a
// corrected sheet, times the fault, is what the bars say.
func TestCorrectedBarsAreTrueAfterPrinting(t *testing.T) {
	t.Parallel()
	printer := sheet.Printer{Name: "studio", Along: 0.9944, Across: 1.0061}
	corrected := printer.Corrected(sheet.Cards(card.A4)[0], 10)
	pdf := writePDF(t, []sheet.Sheet{corrected}, Meta{})
	for program, r := range map[string]*raster{"poppler": poppler(t, pdf, 1, 600, corrected), "MuPDF": mupdf(t, pdf, 1, 600, corrected)} {
		for bar, fault := range map[string]float64{"bar-along": printer.Along, "bar-across": printer.Across} {
			if got := fault * barLength(t, r, corrected, bar); math.Abs(got-180) > 0.05 {
				t.Errorf("%s: %s is printed %.3f mm long, want 180", program, bar, got)
			}
		}
	}
}

// Page sizes by pdfinfo: A4 is 210 x 297 mm (ISO 216), Letter 8.5 x 11 in.
func TestPagesHaveTheSizeOfThePaper(t *testing.T) {
	for _, c := range []struct {
		sheets        []sheet.Sheet
		width, height float64
	}{
		{sheet.Cards(card.A4), 210, 297},
		{sheet.Cards(card.Letter), 215.9, 279.4},
		{[]sheet.Sheet{square(1234.5, 2345.6)}, 1234.5, 2345.6},
	} {
		pdf := writePDF(t, c.sheets, Meta{})
		info := run(t, "pdfinfo", "-f", "1", "-l", fmt.Sprint(len(c.sheets)), pdf)
		sizes := regexp.MustCompile(`Page +\d+ size: +([\d.]+) x ([\d.]+) pts`).FindAllStringSubmatch(info, -1)
		if len(sizes) != len(c.sheets) {
			t.Fatalf("pdfinfo tells %d pages, want %d:\n%s", len(sizes), len(c.sheets), info)
		}
		for _, m := range sizes {
			var w, h float64
			fmt.Sscan(m[1], &w)
			fmt.Sscan(m[2], &h)
			w, h = w*25.4/72, h*25.4/72
			if math.Abs(w-c.width) > 0.05 || math.Abs(h-c.height) > 0.05 {
				t.Errorf("page is %.3f x %.3f mm, want %v x %v", w, h, c.width, c.height)
			}
		}
	}
}

func square(w, h float64) sheet.Sheet {
	path := curve.Polygon(plane.Point{X: 20, Y: 20}, plane.Point{X: 60, Y: 20}, plane.Point{X: 60, Y: 60})
	return sheet.Sheet{Width: length.Length(w), Height: length.Length(h), Title: "square",
		Items: []sheet.Item{sheet.Stroke{ID: "fabric", Path: path}}}
}

func TestPDFIsSound(t *testing.T) {
	t.Parallel()
	tiles, err := sheet.Tiled(seatLabel(), sheet.A4(), sheet.DefaultTiling(), seatPlate(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, sheets := range [][]sheet.Sheet{sheet.Cards(card.A4), tiles, {sheet.Whole(seatLabel(), seatPlate(t))}} {
		pdf := writePDF(t, sheets, Meta{Title: "Å test", Creator: "fairedge", Date: seatLabel().Date})
		if out := run(t, "qpdf", "--check", pdf); !strings.Contains(out, "No syntax or stream encoding errors found") {
			t.Errorf("qpdf --check says:\n%s", out)
		}
		fonts := run(t, "pdffonts", pdf)
		for _, line := range strings.Split(strings.TrimSpace(fonts), "\n")[2:] {
			if !strings.Contains(line, " yes yes yes ") {
				t.Errorf("a font is not embedded, subset and readable: %s", line)
			}
		}
	}
}

func TestPDFTellsOnlyWhatItIsTold(t *testing.T) {
	pdf := writePDF(t, sheet.Cards(card.A4), Meta{Title: "Å test (1)", Creator: "fairedge 0.1",
		Date: time.Date(2026, time.March, 4, 0, 0, 0, 0, time.UTC)})
	info := run(t, "pdfinfo", "-rawdates", pdf)
	for _, want := range []string{"Title:           Å test (1)\n", "Creator:         fairedge 0.1\n", "CreationDate:    D:20260304\n"} {
		if !strings.Contains(info, want) {
			t.Errorf("pdfinfo lacks %q:\n%s", want, info)
		}
	}
	for _, unwanted := range []string{"Author:", "ModDate:", "Producer:"} {
		if strings.Contains(info, unwanted) {
			t.Errorf("the PDF tells %q:\n%s", unwanted, info)
		}
	}
}

// Every word of a sheet can be searched and copied.
func TestPDFTextIsText(t *testing.T) {
	t.Parallel()
	tiles, err := sheet.Tiled(seatLabel(), sheet.A4(), sheet.DefaultTiling(), seatPlate(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, sheets := range [][]sheet.Sheet{sheet.Cards(card.Letter), tiles, {sheet.Whole(seatLabel(), seatPlate(t))}} {
		pdf := writePDF(t, sheets, Meta{})
		for i, s := range sheets {
			text := run(t, "pdftotext", "-raw", "-f", fmt.Sprint(i+1), "-l", fmt.Sprint(i+1), pdf, "-")
			read := map[string]bool{}
			for _, word := range strings.Fields(text) {
				read[word] = true
			}
			for _, item := range s.Items {
				line, ok := item.(sheet.Text)
				if !ok || line.Size < 2.3 { // the bars' small numbers run into one another
					continue
				}
				for _, word := range strings.Fields(line.Words) {
					if !read[word] {
						t.Errorf("page %q: pdftotext does not find %q of %q", s.Title, word, line.Words)
					}
				}
			}
		}
	}
}

// The stamps that the library sets have a resolution of a second.
func TestPDFIsTheSameASecondLater(t *testing.T) {
	write := func() []byte {
		var out bytes.Buffer
		sheets := append(sheet.Cards(card.A4), sheet.Whole(seatLabel(), seatPlate(t)))
		if err := PDF(&out, sheets, Meta{Title: "same", Date: seatLabel().Date}); err != nil {
			t.Fatal(err)
		}
		return out.Bytes()
	}
	first := write()
	time.Sleep(1100 * time.Millisecond)
	if !bytes.Equal(first, write()) {
		t.Error("the same sheets give another file a second later")
	}
}

// The width that sheets are laid out with is the width that the file has, by
// pdftotext's boxes.
func TestTextIsAsWideAsLaidOut(t *testing.T) {
	for _, bold := range []bool{false, true} {
		line := sheet.Text{At: plane.Point{X: 10, Y: 20}, Words: "AVAToWaffle,17/32±", Size: 9, Bold: bold}
		pdf := writePDF(t, []sheet.Sheet{{Width: 200, Height: 40, Items: []sheet.Item{line}}}, Meta{})
		out := run(t, "pdftotext", "-bbox", pdf, "-")
		m := regexp.MustCompile(`xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)"`).FindStringSubmatch(out)
		if m == nil {
			t.Fatalf("pdftotext -bbox gives no box:\n%s", out)
		}
		var from, to float64
		fmt.Sscan(m[1], &from)
		fmt.Sscan(m[2], &to)
		if got, want := (to-from)*25.4/72, line.Width(); math.Abs(got-want) > 0.01*want {
			t.Errorf("bold %v: the words are %.2f mm wide, laid out as %.2f", bold, got, want)
		}
	}
}

type brokenWriter struct{}

var errBroken = errors.New("the disk is full")

func (brokenWriter) Write([]byte) (int, error) { return 0, errBroken }

func TestBadSheetsAndWritersGiveErrors(t *testing.T) {
	nan := square(100, 100)
	nan.Items = append(nan.Items, sheet.Text{Words: "x", Size: 3, At: plane.Point{X: math.NaN()}})
	loose := square(100, 100)
	loose.Items = append(loose.Items, sheet.Stroke{Path: curve.OpenPath()})
	for name, s := range map[string]sheet.Sheet{"no size": {}, "too large": square(60000, 100), "not a number": nan, "empty stroke": loose} {
		if err := PDF(&bytes.Buffer{}, []sheet.Sheet{s}, Meta{}); err == nil {
			t.Errorf("%s: PDF gives no error", name)
		}
		if err := SVG(&bytes.Buffer{}, s); err == nil {
			t.Errorf("%s: SVG gives no error", name)
		}
	}
	if err := PDF(&bytes.Buffer{}, nil, Meta{}); err == nil {
		t.Error("PDF of no pages gives no error")
	}
	if err := PDF(brokenWriter{}, sheet.Cards(card.A4), Meta{}); !errors.Is(err, errBroken) {
		t.Errorf("PDF on a full disk gives %v", err)
	}
	if err := SVG(brokenWriter{}, square(100, 100)); !errors.Is(err, errBroken) {
		t.Errorf("SVG on a full disk gives %v", err)
	}
}

// A pad of a T-shaped seat on eight pages of A4, as a file: the goal is 150 ms and 300 kB.
func BenchmarkPagesOfAPad(b *testing.B) {
	border, err := tCushion().CounterClockwise().OffsetOutline(curve.Uniform(19.05), 0.01)
	if err != nil {
		b.Fatal(err)
	}
	plate := sheet.Plate{Foam: tCushion().CounterClockwise(), Fabric: border.Path}
	size := 0
	for b.Loop() {
		pages, err := sheet.Tiled(seatLabel(), sheet.A4(), sheet.DefaultTiling(), plate)
		if err != nil {
			b.Fatal(err)
		}
		var out bytes.Buffer
		if err := PDF(&out, pages, Meta{}); err != nil {
			b.Fatal(err)
		}
		size = out.Len()
	}
	b.ReportMetric(float64(size), "bytes")
}

// The file of a pad's pages stays below 300 kB, and so does a sheet of 3 x 3 m.
func TestFilesAreSmall(t *testing.T) {
	tiles, err := sheet.Tiled(seatLabel(), sheet.A4(), sheet.DefaultTiling(), seatPlate(t))
	if err != nil {
		t.Fatal(err)
	}
	big := seatPlate(t)
	big = sheet.Plate{Foam: big.Foam.Scaled(6.6, plane.Point{}), Fabric: big.Fabric.Scaled(6.6, plane.Point{})}
	for name, sheets := range map[string][]sheet.Sheet{"pages": tiles, "3 m": {sheet.Whole(seatLabel(), big)}} {
		var out bytes.Buffer
		if err := PDF(&out, sheets, Meta{}); err != nil {
			t.Fatal(err)
		}
		if out.Len() > 300_000 {
			t.Errorf("%s: %d bytes", name, out.Len())
		}
		t.Logf("%s: %d bytes", name, out.Len())
	}
}
