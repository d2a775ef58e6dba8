package detect

import "fairedge/internal/card"

// CardEvidence is how the search for cards went: for debug pictures and
// machine-readable output.
type CardEvidence struct {
	Searches []CardSearch
	Cards    []CardReading // in the order of the sightings
	// Mirrored names cards that were recognised but seen from behind or in a
	// mirrored picture; they are not among the sightings.
	Mirrored []card.ID
	// Refused are lattices like a card's that could not be read, largest first.
	Refused []CardReading
}

// CardSearch is one pass over the picture at one size.
type CardSearch struct {
	Scale      float64 // photo pixels per searched pixel
	Peaks      int     // places of saddle-like brightness
	Candidates int     // of those, like a mark
	Lattices   int     // chessboards grown from them
}

// CardReading is how well one card, or one thing like a card, was seen.
type CardReading struct {
	Card        card.ID
	Seen, Total int     // marks
	CellPx      float64 // median side of a cell in the photo, px
	BlurPx      float64 // median blur of the edges (standard deviation), px
	Contrast    float64 // median difference of light and dark, grey values
	SigmaPx     float64 // median standard uncertainty of a mark, px
	Ragged      float64 // median distance of a mark from the middle of its neighbours, cells
	DotSpread   float64 // how clearly dots stand out, 0 to about 1
	Agree       int     // cells whose dot is as designed
	Disagree    int     // cells whose dot is not
	Score       float64 // log likelihood ratio of the reading
	Needed      float64 // what Score has to reach
	Mirrored    bool
}
