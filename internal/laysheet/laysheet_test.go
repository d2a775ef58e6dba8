package laysheet_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"fairedge/internal/cloth"
	"fairedge/internal/laysheet"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/render"
	"fairedge/internal/shapefile"
	"fairedge/internal/sheet"
)

const (
	mm   = length.Millimetre
	inch = length.Inch
)

// set lays pads for a usual dining chair: 15 in at the back, 18 in in front, 16 in deep.
func set(t testing.TB, pads int, change func(*cloth.Cloth, *cloth.Options)) (*cloth.Laid, []*cloth.FoamLaid) {
	t.Helper()
	s, err := shapefile.Trapezoid(15*inch, 18*inch, 16*inch, shapefile.AllCorners(1.5*inch))
	if err != nil {
		t.Fatal(err)
	}
	r, err := pad.Named("tie-on")
	if err != nil {
		t.Fatal(err)
	}
	p, err := pad.Cut(s, r)
	if err != nil {
		t.Fatal(err)
	}
	c, o := cloth.DefaultCloth(), cloth.DefaultOptions()
	o.Params.Work = 30_000
	change(&c, &o)
	orders := []cloth.Order{{Pad: p, Pads: pads}}
	l, err := cloth.Lay(context.Background(), c, orders, o)
	if err != nil {
		t.Fatal(err)
	}
	foam, err := cloth.LayFoam(context.Background(), cloth.DefaultFoam(), orders, o)
	if err != nil {
		t.Fatal(err)
	}
	return l, foam
}

func heading(paper sheet.Paper) laysheet.Heading {
	return laysheet.Heading{Job: "Alder chairs", Date: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), Program: "fairedge", Paper: paper}
}

// cases are lays of every kind, on both papers.
func cases() map[string]func(*cloth.Cloth, *cloth.Options) {
	return map[string]func(*cloth.Cloth, *cloth.Options){
		"plain":      func(*cloth.Cloth, *cloth.Options) {},
		"fold":       func(c *cloth.Cloth, _ *cloth.Options) { c.Fold = true },
		"nap":        func(c *cloth.Cloth, _ *cloth.Options) { c.Way = cloth.OneNap },
		"railroaded": func(c *cloth.Cloth, _ *cloth.Options) { c.Railroad, c.Way = true, cloth.OneDesign },
		"half drop": func(c *cloth.Cloth, _ *cloth.Options) {
			c.Repeat = cloth.Repeat{Along: 640 * mm, Across: 320 * mm, HalfDrop: true}
		},
		"too short": func(_ *cloth.Cloth, o *cloth.Options) { o.Have = 600 * mm },
		"wide":      func(c *cloth.Cloth, _ *cloth.Options) { c.Width = 3 * length.Metre },
	}
}

// TestPagesAreWhole: every item lies on its page inside the margin, every word is of a
// legible size, every piece has its number in the picture or in the list.
func TestPagesAreWhole(t *testing.T) {
	for name, change := range cases() {
		l, foam := set(t, 4, change)
		for _, paper := range []sheet.Paper{sheet.A4(), sheet.Letter()} {
			pages := laysheet.Pages(l, foam, heading(paper))
			if len(pages) < 3 {
				t.Fatalf("%s: %d pages, want a picture, a list and the foam", name, len(pages))
			}
			words := map[string]bool{}
			for i, page := range pages {
				inside := page.Bounds().Grow(-5)
				for _, item := range page.Items {
					b := item.Bounds()
					if b.Min.X < inside.Min.X || b.Min.Y < inside.Min.Y || b.Max.X > inside.Max.X || b.Max.Y > inside.Max.Y {
						t.Errorf("%s, page %d: %+v leaves the page", name, i+1, item)
					}
					if text, ok := item.(sheet.Text); ok {
						words[text.Words] = true
						if text.Size < 1.2 {
							t.Errorf("%s, page %d: %q is %.2f mm high", name, i+1, text.Words, text.Size)
						}
					}
				}
				var out bytes.Buffer
				if err := render.SVG(&out, page); err != nil {
					t.Errorf("%s, page %d: %v", name, i+1, err)
				}
			}
			for _, p := range l.Pieces {
				if !l.Parts[p.Part].Strip && !words[fmt.Sprint(p.Number)] {
					t.Errorf("%s: piece %d has no number", name, p.Number)
				}
			}
			if !words[fmt.Sprintf("Page %d of %d", len(pages), len(pages))] {
				t.Errorf("%s: pages are not numbered", name)
			}
		}
	}
}

// TestTheScaleIsTrue: the drawn width of the cloth times the stated scale is its width, and
// every plate's outline is drawn at that scale in its place.
func TestTheScaleIsTrue(t *testing.T) {
	l, _ := set(t, 2, func(*cloth.Cloth, *cloth.Options) {})
	page := laysheet.Pages(l, nil, heading(sheet.A4()))[0]
	scale := statedScale(t, page)
	grown := plane.EmptyRect()
	var areas []plane.Rect
	for _, item := range page.Items {
		a, ok := item.(sheet.Area)
		if !ok {
			continue
		}
		b := a.Bounds()
		if b.Width() > 10 && b.Height() > 10 {
			areas = append(areas, b)
		}
		if b.Height() > 50 && b.Width() < 5 { // a selvedge
			grown = grown.Union(b)
		}
	}
	if got := grown.Width() * scale; math.Abs(got-l.Cloth.Width.Millimetres()) > 1e-6 {
		t.Errorf("the cloth is drawn %.6f mm wide at 1 : %g, want %v", got, scale, l.Cloth.Width)
	}
	for _, p := range l.Pieces {
		want := plane.RectFromPoints(l.Outline(p)...)
		if l.Parts[p.Part].Strip {
			continue
		}
		found := false
		for _, b := range areas {
			x := (b.Min.X - grown.Min.X) * scale
			y := (b.Min.Y-grown.Min.Y)*scale - l.Cloth.Squaring.Millimetres()
			found = found || math.Hypot(x-want.Min.X, y-want.Min.Y) < 1e-6 && math.Abs(b.Width()*scale-want.Width()) < 1e-6
		}
		if !found {
			t.Errorf("piece %d is not drawn at its place", p.Number)
		}
	}
}

func statedScale(t *testing.T, page sheet.Sheet) float64 {
	for _, item := range page.Items {
		if text, ok := item.(sheet.Text); ok && strings.HasPrefix(text.Words, "Scale 1 : ") {
			var n float64
			if _, err := fmt.Sscanf(text.Words, "Scale 1 : %g", &n); err == nil {
				return n
			}
		}
	}
	t.Fatal("the page states no scale")
	return 0
}

// TestTheListIsComplete: the list has each piece's places as the lay says them, in mm and
// inches.
func TestTheListIsComplete(t *testing.T) {
	l, _ := set(t, 3, func(c *cloth.Cloth, _ *cloth.Options) { c.Way = cloth.OneNap })
	words := map[string]int{}
	for _, page := range laysheet.Pages(l, nil, heading(sheet.A4())) {
		for _, item := range page.Items {
			if text, ok := item.(sheet.Text); ok && strings.Contains(page.Title, "places to chalk") {
				words[text.Words]++
			}
		}
	}
	for _, p := range l.Pieces {
		if l.Parts[p.Part].Strip {
			continue
		}
		for _, at := range []length.Length{p.First.Along, p.First.Across, p.Second.Along, p.Second.Across} {
			if words[fmt.Sprintf("%.0f mm", math.Round(at.Millimetres()))] == 0 || words[at.Imperial()] == 0 {
				t.Errorf("piece %d: %v is not in the list", p.Number, at)
			}
		}
	}
}

// TestFigure: a figure keeps to its box.
func TestFigure(t *testing.T) {
	l, _ := set(t, 2, func(*cloth.Cloth, *cloth.Options) {})
	items, size, scale := laysheet.Figure(l, 180, 90)
	if len(items) == 0 || size.X > 180 || size.Y > 90 || scale < 10 {
		t.Fatalf("%d items, %v at 1 : %g", len(items), size, scale)
	}
	for _, item := range items {
		if b := item.Bounds(); b.Min.X < 0 || b.Min.Y < 0 || b.Max.X > size.X+1 || b.Max.Y > size.Y+1 {
			t.Errorf("%+v leaves the figure", item)
		}
	}
	if items, _, _ := laysheet.Figure(nil, 100, 100); items != nil {
		t.Error("nothing laid, something drawn")
	}
	if _, ok := laysheet.Picture(&cloth.Laid{}, heading(sheet.A4())); ok {
		t.Error("nothing laid, a picture made")
	}
}
