package job

import (
	"fmt"
	"io"

	"fairedge/internal/card"
	"fairedge/internal/length"
	"fairedge/internal/render"
	"fairedge/internal/sheet"
)

// Printing says how pages to tape together are made.
type Printing struct {
	Paper   sheet.Paper // of no width: make none
	Tiling  sheet.Tiling
	Printer sheet.Printer // undo what it does; the zero value leaves all as it is
}

// Printer is how a printer was found to print; the zero value is one of which nothing
// is known.
type Printer = sheet.Printer

// PrintingOn returns the printing for a paper as typed (see sheet.PaperNamed), or for
// "none". A margin or overlap that is not nil replaces the usual one.
func PrintingOn(paper string, margin, overlap *length.Length) (Printing, error) {
	if paper == "none" {
		return Printing{}, nil
	}
	size, err := sheet.PaperNamed(paper)
	if err != nil {
		return Printing{}, err
	}
	p := Printing{Paper: size, Tiling: sheet.TilingFor(size)}
	if margin != nil {
		p.Tiling.Margin = *margin
	}
	if overlap != nil {
		p.Tiling.Overlap = *overlap
	}
	return p, nil
}

// pages returns the plates on pages, corrected for the printer.
func (p Printing) pages(label sheet.Label, plates []sheet.Plate) ([]sheet.Sheet, error) {
	if p.Printer.IsKnown() {
		label.Notes = append(label.Notes[:len(label.Notes):len(label.Notes)], p.Printer.Statement())
	}
	pages, err := sheet.Tiled(label, p.Paper, p.Tiling, plates...)
	for i, page := range pages {
		pages[i] = p.Printer.Corrected(page, p.Tiling.Margin.Millimetres())
	}
	return pages, err
}

// WriteCards writes the scale cards of a paper as PDF, corrected for the printer: a
// page of loose cards and a page with the frame card. Same paper, same bytes.
func WriteCards(w io.Writer, paper card.Paper, printer sheet.Printer, program string) error {
	const cardMargin = 10 // mm: sheets of cards keep as much free
	pages := sheet.Cards(paper)
	for i, page := range pages {
		pages[i] = printer.Corrected(page, cardMargin)
	}
	return render.PDF(w, pages, render.Meta{Title: "Scale cards, " + paper.String(), Creator: program})
}

// pagesName is the file of pages to tape together.
const pagesName = "print-pages.pdf"

func (w *fileWriter) tiles(label sheet.Label, p Printing, plates ...sheet.Plate) {
	if p.Paper.Width == 0 || w.err != nil {
		return
	}
	pages, err := p.pages(label, plates)
	if err != nil {
		w.err = fmt.Errorf("making %s: %w", pagesName, err)
		return
	}
	w.add(pagesName, func(out io.Writer) error { return render.PDF(out, pages, w.meta) })
	says := fmt.Sprintf("to print at 100 %% and tape together: %d pages of %s, after one to read first", len(pages)-1, p.Paper.Name)
	w.guide = append(w.guide, GuideLine{pagesName, says})
}
