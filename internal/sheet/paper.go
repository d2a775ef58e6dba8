package sheet

import (
	"fmt"
	"strings"

	"fairedge/internal/card"
	"fairedge/internal/length"
	"fairedge/internal/problem"
)

// Paper is a size of paper, upright. A roll has no height: its pages become as long as
// the drawing needs.
type Paper struct {
	Name          string
	Width, Height length.Length
}

// A4 returns the paper of 210 x 297 mm (ISO 216).
func A4() Paper { return Paper{"A4", 210 * length.Millimetre, 297 * length.Millimetre} }

// Letter returns the paper of 8 1/2 x 11 in (ANSI/ASME Y14.1).
func Letter() Paper { return Paper{"Letter", 8.5 * length.Inch, 11 * length.Inch} }

// AnyPaper returns the page that lies inside A4 and inside Letter: as wide as A4, as
// high as Letter. Printed at 100 % it comes out whole on either, for files that may
// travel. Within its margins of 1/4 in it shows 197.3 x 266.7 mm.
func AnyPaper() Paper {
	return Paper{"A4 or Letter", A4().Width, Letter().Height}
}

// anyMargin is the margin of AnyPaper: what office printers ask for at most.
const anyMargin = length.Inch / 4

// namedPapers lists the papers that have names, as typed. ISO 216; ANSI/ASME Y14.1.
func namedPapers() []Paper {
	mm, inch := length.Millimetre, length.Inch
	return []Paper{
		A4(), Letter(),
		{"A3", 297 * mm, 420 * mm}, {"A2", 420 * mm, 594 * mm}, {"A1", 594 * mm, 841 * mm}, {"A0", 841 * mm, 1189 * mm},
		{"Legal", 8.5 * inch, 14 * inch}, {"Tabloid", 11 * inch, 17 * inch},
		{"ANSI-C", 17 * inch, 22 * inch}, {"ANSI-D", 22 * inch, 34 * inch}, {"ANSI-E", 34 * inch, 44 * inch},
	}
}

// The least and greatest side of a paper that can be told: a drawing must have room on
// it, and no machine takes more.
const (
	leastSide    = 140 * length.Millimetre
	greatestSide = 5000 * length.Millimetre
)

// PaperNamed returns the paper that was typed: "any", a name (a4, letter, tabloid,
// ansi-d ...), a size ("300x450mm", "12x18in") or a roll ("roll 610mm", "roll-24in").
func PaperNamed(text string) (Paper, error) {
	name := strings.ToLower(strings.TrimSpace(text))
	if name == "any" {
		return AnyPaper(), nil
	}
	for _, p := range namedPapers() {
		if strings.EqualFold(p.Name, name) {
			return p, nil
		}
	}
	unknown := problem.Newf(problem.Usage,
		"use any, a4, letter, a3, a2, a1, a0, legal, tabloid, ansi-c, ansi-d, ansi-e, a size like 300x450mm, or a roll like roll-610mm",
		"there is no paper %q", text)
	if width, isRoll := strings.CutPrefix(name, "roll"); isRoll {
		w, err := length.Parse(strings.TrimLeft(width, " -:"))
		if err != nil {
			return Paper{}, unknown
		}
		return checkedPaper(Paper{Name: "roll of " + w.Metric(), Width: w})
	}
	across, up, found := strings.Cut(name, "x")
	if !found {
		return Paper{}, unknown
	}
	if strings.Trim(across, "0123456789. ") == "" { // "12x18in": one unit for both
		across += strings.TrimLeft(up, "0123456789./ ")
	}
	w, err1 := length.Parse(across)
	h, err2 := length.Parse(up)
	if err1 != nil || err2 != nil {
		return Paper{}, unknown
	}
	return checkedPaper(Paper{Name: fmt.Sprintf("%.0f x %.0f mm", min(w, h).Millimetres(), max(w, h).Millimetres()), Width: min(w, h), Height: max(w, h)})
}

func checkedPaper(p Paper) (Paper, error) {
	height := p.Height
	if height == 0 {
		height = p.Width
	}
	if !(p.Width >= leastSide && height >= leastSide && p.Width <= greatestSide && height <= greatestSide) {
		return Paper{}, problem.Newf(problem.Usage, "each side must be from 140 mm to 5 m", "no piece can be printed on paper of %s", p.Name)
	}
	return p, nil
}

// TilingFor returns the overlap and the margin that suit a paper when nothing else is
// said.
func TilingFor(p Paper) Tiling {
	t := DefaultTiling()
	if p == AnyPaper() {
		t.Margin = anyMargin
	}
	return t
}

// PaperFor returns the size of a paper that cards are made for.
func PaperFor(p card.Paper) (size Paper, known bool) {
	switch p {
	case card.A4:
		return A4(), true
	case card.Letter:
		return Letter(), true
	}
	return Paper{}, false
}
