package sheet_test

import (
	"strings"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// Both papers leave 10 mm free on every side: more than any printer that was looked
// up needs.
func TestCardsKeepTheMargins(t *testing.T) {
	for _, paper := range []card.Paper{card.A4, card.Letter} {
		sheets := sheet.Cards(paper)
		if len(sheets) != 2 {
			t.Fatalf("%v: %d pages, want 2", paper, len(sheets))
		}
		for _, s := range sheets {
			free := s.Bounds().Grow(-10 + 0.13) // the end lines' half width may stand out
			for _, item := range s.Items {
				if b := item.Bounds(); !free.Contains(b.Min) || !free.Contains(b.Max) {
					t.Errorf("%s: an item at %v leaves the free area %v: %+v", s.Title, b, free, item)
				}
			}
		}
	}
	if got := sheet.Cards(card.Paper(99)); got != nil {
		t.Errorf("there are cards for an unknown paper: %v", got)
	}
}

// disjoint fails for every two texts whose boxes overlap, and every text whose box
// meets one of the forbidden boxes.
func disjoint(t *testing.T, s sheet.Sheet, forbidden []plane.Rect) {
	t.Helper()
	var texts []sheet.Text
	for _, item := range s.Items {
		if text, ok := item.(sheet.Text); ok {
			texts = append(texts, text)
		}
	}
	for i, a := range texts {
		for _, b := range texts[i+1:] {
			if meet(a.Bounds(), b.Bounds()) {
				t.Errorf("%s: %q and %q overlap", s.Title, a.Words, b.Words)
			}
		}
		for _, f := range forbidden {
			if meet(a.Bounds(), f) {
				t.Errorf("%s: %q runs into the box %v", s.Title, a.Words, f)
			}
		}
		if b := a.Bounds(); !s.Bounds().Contains(b.Min) || !s.Bounds().Contains(b.Max) {
			t.Errorf("%s: %q leaves the paper: %v", s.Title, a.Words, b)
		}
	}
}

func meet(a, b plane.Rect) bool {
	return a.Min.X < b.Max.X && b.Min.X < a.Max.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y
}

// No word lies on another, nor nearer than 3 mm to a printed field: marks need clear
// ground around them.
func TestCardWritingKeepsClear(t *testing.T) {
	for _, paper := range []card.Paper{card.A4, card.Letter} {
		for page, s := range sheet.Cards(paper) {
			var fields []plane.Rect
			for _, item := range s.Items {
				area, ok := item.(sheet.Area)
				if !ok || area.ID == "" {
					continue
				}
				if page == 0 {
					fields = append(fields, area.Bounds().Grow(3))
					continue
				}
				for _, cell := range area.Paths { // the frame has a free middle
					fields = append(fields, cell.Bounds().Grow(1.5))
				}
			}
			if len(fields) == 0 {
				t.Fatalf("%s has no field", s.Title)
			}
			disjoint(t, s, fields)
		}
	}
}

func TestCardsSayWhatTheyAre(t *testing.T) {
	for _, paper := range []card.Paper{card.A4, card.Letter} {
		sheets := sheet.Cards(paper)
		for page, wanted := range [][]string{
			{paper.String() + " card 1 of 4", paper.String() + " card 4 of 4", "edition 1", "this side up", "along", "across",
				"Print at 100 %", "no fit to page", "180.0 mm (7 3/32 in)", "print-check --paper " + strings.ToLower(paper.String())},
			{paper.String() + " frame", "edition 1", "this side up", "along", "across", "Print at 100 %", "180.0 mm (7 3/32 in)", "--sheet frame"},
		} {
			var all strings.Builder
			for _, item := range sheets[page].Items {
				if text, ok := item.(sheet.Text); ok {
					all.WriteString(text.Words + " ")
				}
			}
			for _, w := range wanted {
				if !strings.Contains(all.String(), w) {
					t.Errorf("%s does not say %q", sheets[page].Title, w)
				}
			}
		}
	}
}

// Printed in black only: a colour printer makes black of three inks that need not
// meet.
func TestCardsAreBlack(t *testing.T) {
	for _, s := range sheet.Cards(card.A4) {
		for _, item := range s.Items {
			ink := sheet.Ink{}
			switch item := item.(type) {
			case sheet.Stroke:
				ink = item.Role.Style().Ink
			case sheet.Area:
				ink = item.Ink
			case sheet.Text:
				ink = item.Ink
			}
			if ink != (sheet.Ink{}) {
				t.Errorf("%s: an item is printed in %v", s.Title, ink)
			}
		}
	}
}
