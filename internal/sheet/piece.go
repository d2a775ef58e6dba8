package sheet

import (
	"math"

	"fairedge/internal/plane"
)

// Piece is one part to be cut by a machine: its lines and words, without anything of
// paper. Seat frame of the piece; Place is where it lies among the others.
type Piece struct {
	Name  string // letters, digits and hyphens
	Items []Item // strokes and texts
	Place plane.Vec
}

// Pieces returns the parts of the plates, side by side: the foam and the fabric of
// each plate apart.
func Pieces(label Label, plates ...Plate) []Piece {
	var pieces []Piece
	x := 0.0
	add := func(name string, plate Plate) {
		if b := plate.bounds(); !b.IsEmpty() {
			p := &pen{}
			p.plate(plate, at(0, 0), 0, label)
			pieces = append(pieces, Piece{name, p.items, plane.Vec{X: x - b.Min.X, Y: -b.Max.Y}})
			x += math.Ceil(b.Width() + wholeMargin)
		}
	}
	for _, plate := range plates {
		if plate.Mirrored {
			add("SECOND-PLATE", Plate{Fabric: plate.Fabric, Mirrored: true})
			continue
		}
		add("FOAM", Plate{Foam: plate.Foam})
		add("FABRIC", Plate{Fabric: plate.Fabric})
	}
	return pieces
}
