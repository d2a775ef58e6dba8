package sheet

import (
	"fairedge/internal/card"
	"fairedge/internal/length"
)

// Paper is a size of paper, upright.
type Paper struct {
	Name          string
	Width, Height length.Length
}

// A4 returns the paper of 210 x 297 mm (ISO 216).
func A4() Paper { return Paper{"A4", 210 * length.Millimetre, 297 * length.Millimetre} }

// Letter returns the paper of 8 1/2 x 11 in (ANSI/ASME Y14.1).
func Letter() Paper { return Paper{"Letter", 8.5 * length.Inch, 11 * length.Inch} }

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
