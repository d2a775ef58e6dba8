package cutsheet_test

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"strings"
	"syscall"
	"testing"
	"time"

	"fairedge/internal/curve"
	"fairedge/internal/cutsheet"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"
	"fairedge/internal/sheet"
)

const mm = length.Millimetre

func seats(t testing.TB) map[string]shape.Shape {
	t.Helper()
	all := map[string]shape.Shape{}
	keep := func(name string, s shape.Shape, err error) {
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		all[name] = s
	}
	s, err := shapefile.Trapezoid(380*mm, 450*mm, 400*mm, shapefile.AllCorners(40*mm))
	keep("trapezoid", s, err)
	s, err = shapefile.Horseshoe(430*mm, 430*mm, shapefile.Corners{})
	keep("horseshoe", s, err)
	s, err = shapefile.Oval(380*mm, 380*mm)
	keep("round", s, err)
	s, err = shapefile.Rectangle(1200*mm, 400*mm, shapefile.Corners{})
	keep("bench", s, err)
	pt := func(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }
	outline := curve.Polygon(pt(170, 0), pt(-170, 0), pt(-170, -45), pt(-215, -45), pt(-215, -400), pt(215, -400), pt(215, -45), pt(170, -45))
	s, err = shape.FromOutline(outline, outline.Corners(0.5), nil, shape.BackHint{Said: plane.Vec{Y: 1}})
	keep("notched", s, err)
	return all
}

func jobOf(s shape.Shape, p pad.Pad, pads int) cutsheet.Job {
	return cutsheet.Job{Name: "Alder, kitchen chair 2 of 4", Date: time.Date(2026, time.March, 4, 0, 0, 0, 0, time.UTC), Program: "fairedge 0.1",
		Accuracy: "The outline is right within 1.0 mm all round (19 of 20).", Said: []string{"Both halves were made alike."},
		Pad: p, Pads: pads, Needs: p.TakeOff(pads, pad.DefaultSpare()), Seat: s.Size}
}

// everySheet calls f with the pages for every recipe, seat and office paper.
func everySheet(t *testing.T, f func(t *testing.T, j cutsheet.Job, pages []sheet.Sheet)) {
	made := 0
	for name, s := range seats(t) {
		for _, r := range pad.BuiltIn() {
			p, err := pad.Cut(s, r)
			var told *problem.Error
			if errors.As(err, &told) && told.Kind == problem.Usage {
				continue
			}
			if err != nil {
				t.Fatalf("%s on %s: %v", r.Name, name, err)
			}
			for _, paper := range []sheet.Paper{sheet.A4(), sheet.Letter(), sheet.AnyPaper()} {
				made++
				j := jobOf(s, p, 1+made%3)
				t.Run(fmt.Sprintf("%s on %s, %s", r.Name, name, paper.Name), func(t *testing.T) { f(t, j, cutsheet.Sheets(j, paper)) })
			}
		}
	}
	if made < 90 {
		t.Errorf("only %d cut sheets could be made", made)
	}
}

func texts(s sheet.Sheet) []sheet.Text {
	var all []sheet.Text
	for _, item := range s.Items {
		if text, ok := item.(sheet.Text); ok {
			all = append(all, text)
		}
	}
	return all
}

// Words stay on the paper and clear of one another; nothing is set smaller than 7 pt,
// and only cautions, footers and scales smaller than 9 pt.
func TestCutSheetsAreLegible(t *testing.T) {
	const point = 25.4 / 72
	everySheet(t, func(t *testing.T, j cutsheet.Job, pages []sheet.Sheet) {
		if len(pages) > 3 {
			t.Errorf("%d pages", len(pages))
		}
		for _, page := range pages {
			all := texts(page)
			free := page.Bounds().Grow(-10)
			for i, a := range all {
				if b := a.Bounds(); !free.Contains(b.Min) || !free.Contains(b.Max) {
					t.Errorf("%q comes nearer than 10 mm to the border: %v", a.Words, b)
				}
				for _, b := range all[:i] {
					if p, q := a.Bounds(), b.Bounds(); p.Min.X < q.Max.X && q.Min.X < p.Max.X && p.Min.Y < q.Max.Y && q.Min.Y < p.Max.Y {
						t.Errorf("%q and %q overlap", a.Words, b.Words)
					}
				}
				caution := a.Size < 9*point-1e-9 && (strings.Contains(strings.Join(j.Pad.Cautions, " "), a.Words) ||
					strings.HasPrefix(a.Words, "pictures 1 : ") || strings.HasPrefix(a.Words, "cut sheet, page") || strings.HasPrefix(a.Words, j.Name))
				if a.Size < 7*point || a.Size < 9*point-1e-9 && !caution {
					t.Errorf("%q is set in %.1f pt", a.Words, a.Size/point)
				}
			}
		}
	})
}

// Everything that is needed at the bench is there: each size in both units, each step,
// each caution and each question, whole.
func TestCutSheetsSayAll(t *testing.T) {
	everySheet(t, func(t *testing.T, j cutsheet.Job, pages []sheet.Sheet) {
		var words []string
		for _, page := range pages {
			for _, text := range texts(page) {
				words = append(words, text.Words)
			}
		}
		all := strings.Join(words, " ")
		want := append(append([]string{j.Name, j.Pad.Recipe.Title, j.Seat.Width.String(), j.Accuracy, "4 March 2026", "fairedge 0.1"}, j.Said...), j.Pad.Order...)
		want = append(want, strings.Join(j.Pad.Cautions, " "))
		for _, piece := range j.Pad.Pieces {
			w, _ := piece.Sizes()
			want = append(want, piece.Name, w.String())
		}
		for _, s := range j.Pad.Strips {
			want = append(want, fmt.Sprintf("%s: cut %d", s.Name, s.Count), fmt.Sprintf("%s x %s", s.Length, s.Width))
		}
		for _, w := range want {
			if !strings.Contains(all, w) {
				t.Errorf("the cut sheet does not say %q", w)
			}
		}
		for _, q := range j.Pad.Questions {
			if !strings.Contains(all, q[1:]) {
				t.Errorf("the cut sheet does not ask %q", q)
			}
		}
	})
}

// The pictures are to scale: each has the outline of its piece, reduced as the sheet
// says.
func TestPicturesAreToScale(t *testing.T) {
	everySheet(t, func(t *testing.T, j cutsheet.Job, pages []sheet.Sheet) {
		k := 0.0
		for _, page := range pages {
			for _, text := range texts(page) {
				if _, err := fmt.Sscanf(text.Words, "pictures 1 : %f", &k); err == nil {
					break
				}
			}
		}
		if k < 1 {
			t.Fatal("the scale of the pictures is not said")
		}
		for _, piece := range j.Pad.Pieces {
			line, role := piece.CutLine, sheet.CutLine
			if line.IsEmpty() {
				line, role = piece.FoamLine, sheet.FoamOutline
			}
			if !drawn(pages, role, line.Bounds().Width()/k, line.Bounds().Height()/k) {
				t.Errorf("%s is not drawn at 1 : %.0f", piece.Name, k)
			}
		}
	})
}

// drawn reports whether a closed line of that role and size is on a page, to 1e-6 mm.
func drawn(pages []sheet.Sheet, role sheet.Role, w, h float64) bool {
	for _, page := range pages {
		for _, item := range page.Items {
			if s, ok := item.(sheet.Stroke); ok && s.Role == role {
				if b := s.Path.Bounds(); math.Abs(b.Width()-w) < 1e-6 && math.Abs(b.Height()-h) < 1e-6 {
					return true
				}
			}
		}
	}
	return false
}

// The numbers in the picture are those of the list, and the strips' places count from
// the left cut end: the place along the seam less the strip's start, plus the allowance.
func TestStripMarksCountFromTheCutEnd(t *testing.T) {
	s := seats(t)["trapezoid"]
	r, err := pad.Named("boxed-zip")
	if err != nil {
		t.Fatal(err)
	}
	p, err := pad.Cut(s, r)
	if err != nil {
		t.Fatal(err)
	}
	piece, _ := sheet.Numbered(p)
	places := sheet.SeamPlaces(piece)
	checked := 0
	for _, strip := range p.Strips {
		for _, k := range strip.Marks {
			n := sheet.StripNumber(p, strip, k)
			if n == 0 {
				continue
			}
			along := math.Mod(strip.From+k.At.X+p.SeamLength.Millimetres(), p.SeamLength.Millimetres())
			if d := math.Abs(places[n-1].Along - along); math.Min(d, p.SeamLength.Millimetres()-d) > 0.5 {
				t.Errorf("%s: a mark at %.1f mm of the seam has the number of one at %.1f", strip.Name, along, places[n-1].Along)
			}
			checked++
		}
	}
	if checked < 20 {
		t.Errorf("only %d marks of strips have numbers", checked)
	}
}

func TestSameJobSameSheets(t *testing.T) {
	s := seats(t)["horseshoe"]
	p, err := pad.Cut(s, pad.BuiltIn()[0])
	if err != nil {
		t.Fatal(err)
	}
	a, b := cutsheet.Sheets(jobOf(s, p, 2), sheet.A4()), cutsheet.Sheets(jobOf(s, p, 2), sheet.A4())
	if !reflect.DeepEqual(a, b) {
		t.Error("two cut sheets of one job differ")
	}
}

// A lay drawn elsewhere stands on the sheet at its own size.
func TestLayStandsOnTheSheet(t *testing.T) {
	s := seats(t)["trapezoid"]
	p, err := pad.Cut(s, pad.BuiltIn()[0])
	if err != nil {
		t.Fatal(err)
	}
	j := jobOf(s, p, 1)
	box := curve.Polygon(plane.Point{}, plane.Point{X: 150}, plane.Point{X: 150, Y: 60}, plane.Point{Y: 60})
	j.Lay = &cutsheet.Figure{Title: "Lay on cloth 1372 mm wide", Width: 150, Height: 60, Items: []sheet.Item{sheet.Stroke{Path: box, Role: sheet.TrimGuide}}, Words: []string{"Buy 0.6 m."}}
	if w := cutsheet.FigureWidth(sheet.A4()); w < 180 {
		t.Errorf("a figure may be only %.0f mm wide", w)
	}
	pages := cutsheet.Sheets(j, sheet.A4())
	if !drawn(pages, sheet.TrimGuide, 150, 60) {
		t.Error("the lay is not drawn at its size")
	}
	all := ""
	for _, page := range pages {
		for _, text := range texts(page) {
			all += text.Words + "\n"
		}
	}
	if !strings.Contains(all, "Lay on cloth 1372 mm wide\n") || !strings.Contains(all, "Buy 0.6 m.\n") {
		t.Error("the lay's words are missing")
	}
}

// BenchmarkCutSheet makes pieces, marks and cut sheet of a boxed cushion.
func BenchmarkCutSheet(b *testing.B) {
	s := seats(b)["trapezoid"]
	r, err := pad.Named("boxed-zip")
	if err != nil {
		b.Fatal(err)
	}
	start := cpuTime(b)
	for b.Loop() {
		p, err := pad.Cut(s, r)
		if err != nil {
			b.Fatal(err)
		}
		cutsheet.Sheets(jobOf(s, p, 1), sheet.A4())
	}
	b.ReportMetric((cpuTime(b)-start).Seconds()*1000/float64(b.N), "cpu-ms/op")
}

// cpuTime returns what the process has used of all cores.
func cpuTime(tb testing.TB) time.Duration {
	tb.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		tb.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
