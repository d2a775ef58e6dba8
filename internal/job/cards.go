package job

import (
	"io"

	"fairedge/internal/card"
	"fairedge/internal/render"
	"fairedge/internal/sheet"
)

// WriteCards writes the scale cards of a paper as PDF: a page of loose cards and a
// page with the frame card. Same paper, same bytes.
func WriteCards(w io.Writer, paper card.Paper, program string) error {
	return render.PDF(w, sheet.Cards(paper), render.Meta{Title: "Scale cards, " + paper.String(), Creator: program})
}
