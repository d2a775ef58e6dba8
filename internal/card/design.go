// Package card is the printed scale cards: their marks, their identity and what
// a ruler said of their print.
//
// A card is a field of square cells, dark and light in turn. The places where
// four cells meet are the marks: saddle points of brightness, whose position
// neither blur nor exposure moves. Each cell does or does not carry a dot of the
// other tone; the dots are a fixed random pattern that differs from card to
// card, so that any patch of a few cells tells which card it is, which part of
// it, and which way up it lies.
//
// Card frame: millimetres, y up, origin in the middle of the card, seen with its
// writing upright.
package card

import (
	"fmt"

	"fairedge/internal/plane"
)

// Edition is the version of the artwork. A new edition has other dot patterns,
// so old cards are never read as new ones.
const Edition = 1

// Paper is the sheet that a set of cards is printed on.
type Paper int

// The papers that cards are made for.
const (
	A4     Paper = iota + 1 // 210 x 297 mm, ISO 216
	Letter                  // 8.5 x 11 in, ANSI/ASME Y14.1
)

// String returns the paper's name.
func (p Paper) String() string {
	switch p {
	case A4:
		return "A4"
	case Letter:
		return "Letter"
	}
	return fmt.Sprintf("Paper(%d)", int(p))
}

// Frame is the Number of the frame card; loose cards are numbered 1 to LooseCards.
const (
	Frame      = 0
	LooseCards = 4
)

// ID tells one card from every other.
type ID struct {
	Edition int
	Paper   Paper
	Number  int // 1 to LooseCards, or Frame
}

// String returns the name printed on the card: "A4 card 2", "Letter frame".
func (id ID) String() string {
	if id.Number == Frame {
		return id.Paper.String() + " frame"
	}
	return fmt.Sprintf("%s card %d", id.Paper, id.Number)
}

// Pitch is the side of a cell in millimetres: at 0.45 mm per pixel and 45
// degrees of tilt a cell still covers 11 x 15 pixels, and 520 marks come from one
// sheet. DotRadius keeps every dot 3.75 mm away from the nearest mark.
const (
	Pitch     = 7.0
	DotRadius = 1.2
)

// Design is the geometry of one card. Immutable; get one from DesignOf.
type Design struct {
	ID            ID
	Width, Height float64     // of the cut card, mm
	Cols, Rows    int         // cells across and up
	Ring          int         // cells from the border inward that are printed; 0 = all
	FieldMin      plane.Point // lower left corner of the field, card frame, mm
}

// DesignOf returns the geometry of a card, or an error when there is none such.
func DesignOf(id ID) (Design, error) {
	known := id.Edition == Edition && (id.Paper == A4 || id.Paper == Letter) &&
		id.Number >= Frame && id.Number <= LooseCards
	switch {
	case !known:
		return Design{}, fmt.Errorf("there is no card %v of edition %d", id, id.Edition)
	case id.Number == Frame:
		return newDesign(id, 190, 239, 27, 34, 3, 0.5), nil
	}
	return newDesign(id, 88, 118, 11, 14, 0, 14.5), nil
}

// newDesign places the field in the middle across and bottom millimetres above
// the card's lower border, where the writing goes.
func newDesign(id ID, width, height float64, cols, rows, ring int, bottom float64) Design {
	return Design{
		ID: id, Width: width, Height: height, Cols: cols, Rows: rows, Ring: ring,
		FieldMin: plane.Point{X: -float64(cols) * Pitch / 2, Y: -height/2 + bottom},
	}
}

// All returns the designs of every card of this edition, in a fixed order.
func All() []Design {
	var all []Design
	for _, paper := range []Paper{A4, Letter} {
		for number := Frame; number <= LooseCards; number++ {
			d, err := DesignOf(ID{Edition, paper, number})
			if err == nil {
				all = append(all, d)
			}
		}
	}
	return all
}

// HasCell reports whether the cell in column c, row r (counted from the lower
// left, from 0) is printed.
func (d Design) HasCell(c, r int) bool {
	if c < 0 || r < 0 || c >= d.Cols || r >= d.Rows {
		return false
	}
	if d.Ring == 0 {
		return true
	}
	return c < d.Ring || r < d.Ring || c >= d.Cols-d.Ring || r >= d.Rows-d.Ring
}

// IsDark reports whether the ground of cell (c, r) is printed dark.
func (d Design) IsDark(c, r int) bool { return (c+r)%2 == 0 }

// HasDot reports whether cell (c, r) carries a dot of the other tone.
func (d Design) HasDot(c, r int) bool {
	seed := uint64(d.ID.Edition)<<48 | uint64(d.ID.Paper)<<40 | uint64(d.ID.Number)<<32 | uint64(c)<<16 | uint64(r)
	return mix(mix(seed))>>63 == 1
}

// mix is the output function of SplitMix64 (Steele, Lea, Flood, "Fast splittable
// pseudorandom number generators", OOPSLA 2014): a fixed hash whose bits are
// balanced and independent of its input's pattern. It is part of the artwork:
// changing it needs a new Edition.
func mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// CellMin returns the lower left corner of cell (c, r) in the card frame.
func (d Design) CellMin(c, r int) plane.Point {
	return d.FieldMin.Add(plane.Vec{X: float64(c) * Pitch, Y: float64(r) * Pitch})
}

// IsMark reports whether lattice corner (i, j), the lower left corner of cell
// (i, j), is a mark: all four cells around it are printed.
func (d Design) IsMark(i, j int) bool {
	return d.HasCell(i-1, j-1) && d.HasCell(i, j-1) && d.HasCell(i-1, j) && d.HasCell(i, j)
}

// Mark returns the place of lattice corner (i, j) in the card frame.
func (d Design) Mark(i, j int) plane.Point { return d.CellMin(i, j) }

// Lattice is the place of a mark in its card's lattice: I across, J up.
type Lattice struct{ I, J int }

// Marks returns every mark of the card, row by row from the lower left.
func (d Design) Marks() []Lattice {
	var marks []Lattice
	for j := 1; j < d.Rows; j++ {
		for i := 1; i < d.Cols; i++ {
			if d.IsMark(i, j) {
				marks = append(marks, Lattice{i, j})
			}
		}
	}
	return marks
}
