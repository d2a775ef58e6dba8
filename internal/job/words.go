package job

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fairedge/internal/card"
	"fairedge/internal/measure"
	"fairedge/internal/shape"
)

// AccuracySentence says how sure the outline is, in a maker's words. It is rounded
// up to a tenth of a millimetre, so that it never promises more than was found.
func AccuracySentence(m *Measured) string {
	return fmt.Sprintf("Cut with confidence: within %.1f mm all round (19 of 20)", math.Ceil(m.Budget.Within*10-1e-9)/10)
}

func sideWord(s measure.Side) string {
	switch s {
	case measure.Inner:
		return "inner"
	case measure.Outer:
		return "outer"
	}
	return "centre"
}

// printsUsed returns the print of each sheet that a card in the photo comes from.
func (m *Measured) printsUsed() []card.Print {
	var used []card.Print
	for _, s := range m.Sightings {
		if slices.ContainsFunc(used, func(p card.Print) bool { return p.Covers(s.Card) }) {
			continue
		}
		used = append(used, m.printOf(s.Card))
	}
	return used
}

func (m *Measured) printOf(id card.ID) card.Print {
	print := card.UnmeasuredPrint(id.Paper, id.Number == card.Frame)
	for _, p := range m.Prints {
		if p.Covers(id) {
			print = p
		}
	}
	return print
}

// Warnings lists what a person should know before cutting, most important first.
func Warnings(m *Measured) []string {
	warnings := append([]string{}, m.severalWarnings()...)
	warnings = append(warnings, m.tapeWarnings()...)
	warnings = append(warnings, m.cardsNotFlat()...)
	for _, p := range m.printsUsed() {
		if !p.IsMeasured() && !m.sizeIsChecked() {
			sheet := "loose cards"
			if p.IsFrame {
				sheet = "frame card"
			}
			warnings = append(warnings, fmt.Sprintf(
				"the print of the %s %s was never measured, so all sizes carry ±0.5 %%: lay a ruler on its bars and run fairedge print-check",
				p.Paper, sheet))
		}
	}
	if m.profileContradicted() {
		warnings = append(warnings, fmt.Sprintf(
			"the card marks do not fit the lens profile %q, so it was not used: learn the lens again with fairedge lens, or cut with --lens none if this is another camera",
			m.Profile.Title()))
	}
	if !m.Shape.Back.Sure {
		warnings = append(warnings, "the back edge is a guess: check it in the picture, or say it with --back top, bottom, left or right")
	}
	for _, id := range m.Cards.Mirrored {
		warnings = append(warnings, fmt.Sprintf("%v is seen from behind or in a mirrored picture and was not used", id))
	}
	if n := len(m.Calibration.Evidence.Blunders); n > 0 {
		warnings = append(warnings, fmt.Sprintf("%d card marks were set aside because they do not lie where they should", n))
	}
	if length := m.bridgedLength(); length > 0 {
		warnings = append(warnings, fmt.Sprintf("%.0f mm of the line could not be seen and were carried over along the curve", length))
	}
	return append(warnings, sizeQuestions(m.Shape)...)
}

// notFlat is how far a card may rise or dip at its border before it is named, mm:
// three times what the program expects of cards laid on a bench.
const notFlat = 0.6

// cardsNotFlat names the cards that curl or lift.
func (m *Measured) cardsNotFlat() []string {
	var words []string
	for _, c := range m.Calibration.Cards {
		switch {
		case c.Bend > notFlat:
			words = append(words, fmt.Sprintf("%s curls by about %.1f mm: tape it down", c.Name, c.Bend))
		case c.Tilt > notFlat:
			words = append(words, fmt.Sprintf("%s lies askew, one side about %.1f mm up: lay it flat on the bench", c.Name, 2*c.Tilt))
		case c.Lift > 2*notFlat:
			words = append(words, fmt.Sprintf("%s lies about %.1f mm over the others: lay all cards on one level", c.Name, c.Lift))
		}
	}
	return words
}

// bridgedLength returns how much of the edge was not seen, in mm.
func (m *Measured) bridgedLength() float64 {
	var sum float64
	s := m.Traced.Samples
	for i := range s {
		if s[i].Bridged {
			sum += s[i].At.DistanceTo(s[(i+1)%len(s)].At)
		}
	}
	return sum
}

// usualSeat is the range of a seat's width and depth in mm, from a child's chair to
// a bench end (common practice); outside it the size is questioned, never refused.
var usualSeat = struct{ least, greatest float64 }{250, 800}

func sizeQuestions(s shape.Shape) []string {
	w, d := s.Size.Width.Millimetres(), s.Size.Depth.Millimetres()
	if math.Min(w, d) >= usualSeat.least && math.Max(w, d) <= usualSeat.greatest {
		return nil
	}
	return []string{fmt.Sprintf("%s by %s is unusual for a seat: check it with a tape", s.Size.Width, s.Size.Depth)}
}

// BackWords says which edge was taken for the back and why.
func BackWords(s shape.Shape) string {
	words := map[shape.BackSource]string{
		shape.BackSaid:      "as you said",
		shape.BackSheetEdge: "the sheet's straight edge",
		shape.BackTick:      "the edge with your tick",
		shape.BackStraight:  "the straight edge that halves the seat best",
		shape.BackTop:       "the edge at the top of the photo",
	}[s.Back.Source]
	if !s.Back.Sure {
		words += ", a guess"
	}
	return strings.TrimSpace(words)
}
