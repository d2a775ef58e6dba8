// Package sheet lays cards and pieces on paper at true scale, as plain values: it
// knows where every line and word goes and draws nothing. Package render writes
// sheets to files.
//
// Sheet frame: millimetres, y up, origin in the lower left corner of the paper.
//
//	y
//	^  +-----------+ Height
//	|  |           |
//	|  |           |
//	+--+-----------+--> x
//	0,0            Width
package sheet

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// Sheet is one page. Items are drawn in order, later ones over earlier ones.
type Sheet struct {
	Width, Height length.Length
	Title         string
	Items         []Item
	// Notes are sentences that every page repeats when the sheet is cut into pages.
	Notes []string
}

// Bounds returns the paper.
func (s Sheet) Bounds() plane.Rect {
	return plane.Rect{Max: plane.Point{X: s.Width.Millimetres(), Y: s.Height.Millimetres()}}
}

// Item is something drawn on a sheet: a Stroke, an Area or a Text.
type Item interface {
	// Identity returns the item's name on its sheet, or "" when it has none.
	Identity() string
	// Bounds returns a box that holds the item, half the line width included.
	Bounds() plane.Rect
}

// Stroke is a line of a given meaning along a path.
type Stroke struct {
	ID   string
	Path curve.Path
	Role Role
	// Phase is how far into its dashes the line starts, in mm: the length of the
	// line that was cut away before the start of Path.
	Phase float64
}

// Area is filled paper. Paths are closed; where they run clockwise inside a
// counter-clockwise one they leave a hole (non-zero winding rule).
type Area struct {
	ID    string
	Paths []curve.Path
	Ink   Ink
}

// Text is one line of writing. It stays real text in every file.
type Text struct {
	ID     string
	At     plane.Point // on the base line
	Words  string
	Size   float64 // of the type (em), mm; capitals are about 0.7 of it
	Angle  float64 // degrees, counter-clockwise from the x axis
	Anchor Anchor
	Bold   bool
	Ink    Ink
	// Block names the paragraph that the line belongs to, or is empty. Lines of one
	// block keep together when a sheet is cut into pages.
	Block string
}

// Anchor says which part of a text stands at its place.
type Anchor int

// The places on a line of text.
const (
	Start Anchor = iota
	Middle
	End
)

// Ink is a colour of print, 0 to 255 each. The zero value is black.
type Ink struct{ R, G, B uint8 }

// Identity returns the stroke's name.
func (s Stroke) Identity() string { return s.ID }

// Identity returns the area's name.
func (a Area) Identity() string { return a.ID }

// Identity returns the text's name.
func (t Text) Identity() string { return t.ID }

// Bounds returns the box of the line at its width.
func (s Stroke) Bounds() plane.Rect { return s.Path.Bounds().Grow(s.Role.Style().Width / 2) }

// Bounds returns the box of the outlines.
func (a Area) Bounds() plane.Rect {
	r := plane.EmptyRect()
	for _, p := range a.Paths {
		r = r.Union(p.Bounds())
	}
	return r
}

// How far the Go typeface reaches over and under the base line, as shares of its
// size: the dollar sign 0.80, g 0.21 (measured on its glyphs, regular and bold).
// Accented capitals reach 0.95.
const (
	ascent  = 0.81
	descent = 0.21
)

// Bounds returns the box around the four corners of the line of writing, in the
// Go typeface.
func (t Text) Bounds() plane.Rect {
	w := t.Width()
	turn := plane.RigidFromAngle(t.Angle*math.Pi/180, plane.Vec{})
	x0 := -w * t.Anchor.share()
	r := plane.EmptyRect()
	for _, v := range []plane.Vec{
		{X: x0, Y: -descent * t.Size}, {X: x0 + w, Y: -descent * t.Size},
		{X: x0, Y: ascent * t.Size}, {X: x0 + w, Y: ascent * t.Size},
	} {
		r = r.Include(t.At.Add(turn.ApplyVec(v)))
	}
	return r
}

// share returns which part of the text's width lies before its place.
func (a Anchor) share() float64 {
	switch a {
	case Middle:
		return 0.5
	case End:
		return 1
	}
	return 0
}
