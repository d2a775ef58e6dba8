package sheet_test

import (
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"
	"fairedge/internal/sheet"
)

const mm = length.Millimetre

// padSeats are seats of the usual kinds, with one without a mirror axis.
func padSeats(t testing.TB) map[string]shape.Shape {
	t.Helper()
	seats := map[string]shape.Shape{}
	keep := func(name string, s shape.Shape, err error) {
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		seats[name] = s
	}
	s, err := shapefile.Rectangle(410*mm, 400*mm, shapefile.Corners{})
	keep("rectangle", s, err)
	s, err = shapefile.Trapezoid(380*mm, 450*mm, 400*mm, shapefile.AllCorners(40*mm))
	keep("rounded trapezoid", s, err)
	s, err = shapefile.Horseshoe(430*mm, 430*mm, shapefile.Corners{})
	keep("horseshoe", s, err)
	s, err = shapefile.Oval(380*mm, 380*mm)
	keep("round", s, err)
	for name, outline := range map[string]curve.Path{
		"notched": curve.Polygon(pt(170, 0), pt(-170, 0), pt(-170, -45), pt(-215, -45), pt(-215, -400), pt(215, -400), pt(215, -45), pt(170, -45)),
		"uneven":  seat(),
	} {
		s, err := shape.FromOutline(outline, outline.Corners(0.5), nil, shape.BackHint{Said: plane.Vec{Y: 1}})
		keep(name, s, err)
	}
	return seats
}

// everyPad calls f for every built-in recipe on every seat that it can be made for;
// without FAIREDGE_SLOW=1 for the first on every seat, and for every one on one seat.
func everyPad(t *testing.T, f func(t *testing.T, p pad.Pad)) {
	made, slow := 0, os.Getenv("FAIREDGE_SLOW") == "1"
	for name, s := range padSeats(t) {
		for i, r := range pad.BuiltIn() {
			if !slow && i > 0 && name != "uneven" {
				continue
			}
			p, err := pad.Cut(s, r)
			var told *problem.Error
			if errors.As(err, &told) && told.Kind == problem.Usage {
				continue // a wrapped front on a round seat
			}
			if err != nil {
				t.Fatalf("%s on %s: %v", r.Name, name, err)
			}
			made++
			t.Run(r.Name+" on "+name, func(t *testing.T) { f(t, p) })
		}
	}
	if made < 13 || slow && made < 45 {
		t.Errorf("only %d pads could be made", made)
	}
}

// The lines of a part are those of the piece, unmoved; its words are clear of every
// line, of one another, and inside the piece.
func TestPadPartsKeepLinesAndClearWords(t *testing.T) {
	everyPad(t, func(t *testing.T, p pad.Pad) {
		parts := sheet.PadParts(p, label())
		if len(parts) != len(p.Pieces)+len(p.Strips) {
			t.Fatalf("%d parts for %d pieces and %d strips", len(parts), len(p.Pieces), len(p.Strips))
		}
		for i, part := range parts {
			s := sheet.Sheet{Title: part.Name, Width: 5000, Height: 5000, Items: part.Items}
			if i < len(p.Pieces) {
				for id, want := range map[string]curve.Path{"cut": p.Pieces[i].CutLine, "seam": p.Pieces[i].SeamLine, "foam": p.Pieces[i].FoamLine} {
					if !want.IsEmpty() && !samePath(strokeNamed(t, s, id).Path, want) {
						t.Errorf("%s: the line %q is not that of the piece", part.Name, id)
					}
				}
			}
			checkWords(t, s, part)
		}
	})
}

func samePath(a, b curve.Path) bool {
	if a.Len() != b.Len() || a.IsClosed() != b.IsClosed() {
		return false
	}
	for i := range a.Len() {
		if a.Segment(i) != b.Segment(i) {
			return false
		}
	}
	return true
}

// checkWords looks for words that meet a line or one another.
func checkWords(t *testing.T, s sheet.Sheet, part sheet.PadPart) {
	t.Helper()
	var texts []plane.Rect
	var words []string
	for _, item := range s.Items {
		if text, ok := item.(sheet.Text); ok {
			texts, words = append(texts, text.Bounds()), append(words, text.Words)
		}
	}
	for i := range texts {
		for k := range i {
			if meet(texts[i], texts[k]) {
				t.Errorf("%s: %q and %q overlap", part.Name, words[i], words[k])
			}
		}
		if b := part.Bounds().Grow(0.5); !b.Contains(texts[i].Min) || !b.Contains(texts[i].Max) {
			t.Errorf("%s: %q leaves the piece", part.Name, words[i])
		}
	}
	for _, item := range s.Items {
		line, ok := item.(sheet.Stroke)
		if !ok {
			continue
		}
		for _, q := range pointsOf(line.Path) {
			for i, box := range texts {
				if box.Contains(q) {
					t.Fatalf("%s: %q lies on a line (%v) at %v", part.Name, words[i], line.Role, q)
				}
			}
		}
	}
}

// pointsOf returns points of the path at most half a millimetre apart.
func pointsOf(path curve.Path) []plane.Point {
	ring := path.Flatten(0.1)
	if path.IsClosed() {
		ring = append(ring, ring[0])
	}
	var all []plane.Point
	for i := 1; i < len(ring); i++ {
		n := int(ring[i-1].DistanceTo(ring[i])/0.5) + 1
		for k := range n + 1 {
			all = append(all, ring[i-1].Lerp(ring[i], float64(k)/float64(n)))
		}
	}
	return all
}

// What a maker must not lose stands on every plate: which side is up, which way it
// lies, how many, the allowance and the sizes in both units (usual content of pattern
// labels, common practice).
func TestPlatesSayWhatTheyMust(t *testing.T) {
	p := cutPad(t, "rounded trapezoid", "tie-on")
	parts := sheet.PadParts(p, label())
	for i, name := range []string{"Top plate", "Second plate"} {
		s := sheet.Sheet{Title: name, Items: parts[i].Items}
		all := strings.ReplaceAll(wordsOf(s), "\n", " ")
		w, d := p.Pieces[i].Sizes()
		for _, want := range []string{"BACK", "FRONT", "LEFT", "RIGHT", "grain", "cut 1", "right side up",
			"12.7 mm (1/2 in)", fmt.Sprintf("%.1f x %.1f mm", w.Millimetres(), d.Millimetres()), d.Imperial(),
			"Alder, kitchen chair 2 of 4", "4 March 2026", "fairedge 0.1", "1 back centre", "tie 1", "opening ends"} {
			if !strings.Contains(all, want) {
				t.Errorf("%s does not say %q: %s", name, want, all)
			}
		}
		left, right := textNamed(t, s, "LEFT").At.X, textNamed(t, s, "RIGHT").At.X
		if mirrored := i == 1; (left > right) != mirrored {
			t.Errorf("%s has LEFT at x = %.0f and RIGHT at %.0f", name, left, right)
		}
	}
	if !strings.Contains(wordsOf(sheet.Sheet{Items: parts[0].Items}), "TOP\n") || !strings.Contains(wordsOf(sheet.Sheet{Items: parts[1].Items}), "BOTTOM\n") {
		t.Error("the plates do not say TOP and BOTTOM")
	}
}

func textNamed(t *testing.T, s sheet.Sheet, words string) sheet.Text {
	t.Helper()
	for _, item := range s.Items {
		if text, ok := item.(sheet.Text); ok && text.Words == words {
			return text
		}
	}
	t.Fatalf("%s does not say %q", s.Title, words)
	return sheet.Text{}
}

func cutPad(t testing.TB, seat, recipe string) pad.Pad {
	t.Helper()
	r, err := pad.Named(recipe)
	if err != nil {
		t.Fatal(err)
	}
	p, err := pad.Cut(padSeats(t)[seat], r)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Nothing that is drawn on a plate as a sign or a relief reaches over the seam line
// into the pad by more than its own size, and no clip touches the stitching.
func TestNoClipCrossesTheSeam(t *testing.T) {
	for _, recipe := range []string{"tie-on", "boxed-zip", "round"} {
		for name := range padSeats(t) {
			p := cutPad(t, name, recipe)
			seam := p.Pieces[0].SeamLine
			for _, item := range sheet.PadParts(p, label())[0].Items {
				line, ok := item.(sheet.Stroke)
				if !ok || line.Role != sheet.Notch {
					continue
				}
				for _, q := range pointsOf(line.Path) {
					if seam.Contains(q) {
						t.Fatalf("%s on %s: a notch or clip at %v lies inside the seam line", recipe, name, q)
					}
				}
			}
		}
	}
}

// All pages of a pad have one size and names of their own; every piece is on them, at
// its own size; words lie clear of one another.
func TestPadPagesShowEveryPiece(t *testing.T) {
	everyPad(t, func(t *testing.T, p pad.Pad) {
		how := sheet.PadPrinting{Paper: sheet.AnyPaper(), Tiling: sheet.TilingFor(sheet.AnyPaper())}
		parts := sheet.PadParts(p, label())
		pages, err := sheet.PadPages(parts, label(), how)
		if err != nil {
			t.Fatal(err)
		}
		names := map[string]bool{}
		drawn := map[string]float64{}
		for i, page := range pages {
			if page.Width != how.Paper.Width || page.Height != how.Paper.Height {
				t.Errorf("page %d is %v x %v", i, page.Width, page.Height)
			}
			_, name, _ := strings.Cut(page.Title, ", page ")
			if names[name] {
				t.Errorf("two pages are called %q", name)
			}
			names[name] = true
			for _, item := range page.Items {
				if line, ok := item.(sheet.Stroke); ok {
					id, _, _ := strings.Cut(line.ID, "-part-")
					drawn[id] += line.Path.ArcLength(0.01)
				}
			}
			disjoint(t, page, nil)
		}
		cut, foam := 0.0, 0.0
		for _, piece := range p.Pieces {
			cut += piece.CutLine.ArcLength(0.01)
			if piece.Material == pad.FoamMaterial {
				foam += piece.FoamLine.ArcLength(0.01)
			}
		}
		if drawn["cut"] < cut-0.01 || drawn["foam"] < foam-0.01 {
			t.Errorf("the pages show %.2f mm of cut line and %.2f mm of foam, the pieces have %.2f and %.2f", drawn["cut"], drawn["foam"], cut, foam)
		}
	})
}

// A strip longer than a page is printed only when asked for; one that fits shares a
// page.
func TestLongStripsArePrintedOnRequest(t *testing.T) {
	p := cutPad(t, "notched", "boxed-zip")
	parts := sheet.PadParts(p, label())
	how := sheet.PadPrinting{Paper: sheet.A4(), Tiling: sheet.DefaultTiling()}
	for _, all := range []bool{false, true} {
		how.Strips = all
		pages, err := sheet.PadPages(parts, label(), how)
		if err != nil {
			t.Fatal(err)
		}
		titles := ""
		for _, page := range pages {
			titles += page.Title + "\n"
		}
		if strings.Contains(titles, "Band") != all {
			t.Errorf("asked for strips: %v; the pages are\n%s", all, titles)
		}
		if !strings.Contains(titles, "Facing for an inner corner") {
			t.Errorf("the facings are not printed:\n%s", titles)
		}
	}
}

// A half template is open along its fold, which is marked as one; twice its area is
// the whole piece's (to the fitting tolerance of the outline).
func TestHalfTemplatesLieOnAFold(t *testing.T) {
	p := cutPad(t, "rectangle", "tie-on")
	half, ok := p.Pieces[0].HalfTemplate()
	if !ok {
		t.Fatal("a rectangle has no half")
	}
	p.Pieces = []pad.Piece{half}
	part := sheet.PadParts(p, label())[0]
	s := sheet.Sheet{Title: part.Name, Items: part.Items}
	if cut := strokeNamed(t, s, "cut").Path; cut.IsClosed() || math.Abs(cut.Segment(0).P0.X) > 1e-9 || math.Abs(cut.Segment(cut.Len()-1).P3.X) > 1e-9 {
		t.Error("the cut line of the half does not begin and end on the fold")
	}
	if fold := strokeNamed(t, s, "fold"); fold.Role != sheet.FoldLine {
		t.Errorf("the fold is drawn as %v", fold.Role)
	}
	for _, item := range part.Items {
		if line, ok := item.(sheet.Stroke); ok && line.Role != sheet.Sign && line.Path.Bounds().Max.X > 1e-6 {
			t.Errorf("a line (%v) reaches over the fold to x = %.2f", line.Role, line.Path.Bounds().Max.X)
		}
	}
	checkWords(t, s, part)
}

func BenchmarkPadPages(b *testing.B) {
	p := cutPad(b, "rounded trapezoid", "tie-on")
	how := sheet.PadPrinting{Paper: sheet.AnyPaper(), Tiling: sheet.TilingFor(sheet.AnyPaper())}
	for b.Loop() {
		if _, err := sheet.PadPages(sheet.PadParts(p, label()), label(), how); err != nil {
			b.Fatal(err)
		}
	}
}

// The drawing of the halves shows the outline as traced, and the same folded over the
// axis lies off it by as much as is said.
func TestHalvesAreDrawn(t *testing.T) {
	seat := padSeats(t)["uneven"]
	y := pad.MeasureSymmetry(seat)
	s := sheet.PadHalves(seat.Net, y, label())
	traced, folded := strokeNamed(t, s, "traced").Path, strokeNamed(t, s, "folded").Path
	worst := 0.0
	for _, q := range pointsOf(folded) {
		_, d := traced.Nearest(q)
		worst = math.Max(worst, d)
	}
	if math.Abs(worst-y.Max) > 0.1 {
		t.Errorf("the lines are %.2f mm apart, the sheet says %.2f", worst, y.Max)
	}
	if all := wordsOf(s); !strings.Contains(all, fmt.Sprintf("%.1f mm apart here", y.Max)) {
		t.Errorf("the sheet does not say how far apart the halves are:\n%s", all)
	}
	disjoint(t, s, nil)
}
