// Package detect finds, in a photo and in pixels, the scale cards and the traced
// edge. It knows nothing of millimetres but what a Bench tells it.
package detect

import (
	"fairedge/internal/card"
	"fairedge/internal/photo"
)

// Sighting is one card found in a photo: which card it is and where those of its
// marks lie that can be seen. Marks are in the order of card.Design.Marks.
type Sighting struct {
	Card  card.ID
	Marks []Mark
}

// Mark is one mark of a card as seen in the photo.
type Mark struct {
	At    card.Lattice // which mark of the card
	Photo photo.Point  // where it lies, sub-pixel
	Sigma float64      // standard uncertainty of Photo per axis, px
}
