package card

import (
	"time"

	"fairedge/internal/uncertainty"
)

// Print is what a ruler said of one print of a set of cards: how long its bars
// are over their nominal length. Printers stretch paper a little, and not alike
// along and across the feed, and no photo can tell. The loose cards of a paper
// are cut from one sheet and share one record; the frame is its own sheet.
//
// Along is the direction of the cards' y axis (the long side of the sheet),
// Across that of their x axis.
type Print struct {
	Paper   Paper
	IsFrame bool

	Along, Across Ratio
	Measured      time.Time // when the ruler was laid on; zero = never
}

// Ratio is a measured length over its nominal length, with its standard
// uncertainty (k = 1).
type Ratio struct{ Value, Uncertainty float64 }

// UnmeasuredBound is how far the size of an unmeasured print may lie from its
// nominal size, as a half-width: common practice holds office printers to half a
// per cent once "fit to page" is off.
const UnmeasuredBound = 0.005

// UnmeasuredPrint returns the record of a print that nobody measured: nominal
// size, evenly probable within ± UnmeasuredBound (JCGM 100:2008, 4.3.7: the
// standard uncertainty of a rectangle is its half-width over √3).
func UnmeasuredPrint(paper Paper, isFrame bool) Print {
	r := Ratio{1, uncertainty.Rectangular(UnmeasuredBound)}
	return Print{Paper: paper, IsFrame: isFrame, Along: r, Across: r}
}

// IsMeasured reports whether a ruler was ever laid on the print.
func (p Print) IsMeasured() bool { return !p.Measured.IsZero() }

// Covers reports whether card id was cut from this print.
func (p Print) Covers(id ID) bool {
	return p.Paper == id.Paper && p.IsFrame == (id.Number == Frame)
}

// RatioFromRuler returns the ratio of a bar of nominal length that a ruler says
// is measured long, read to ± bound (half-width, all in the same unit).
func RatioFromRuler(measured, nominal, bound float64) Ratio {
	return Ratio{measured / nominal, uncertainty.Rectangular(bound / nominal)}
}
