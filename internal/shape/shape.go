// Package shape is the seat outline as people keep it: its edges by name, its
// size, the marks the maker drew, how sure the measurement is.
//
// Seat frame: millimetres, seen from above with the back of the seat at the top.
//
//	          back
//	     +-----o-----+        o  origin: middle of the back edge
//	left |     |     | right  x  to the right
//	      \    v    /         y  towards the back; the seat lies at y <= 0
//	       +-------+
//	         front
//
// Left and right are those of a person who looks at the print with the back at
// the top.
package shape

import (
	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// Shape is one seat outline. Read-only after construction.
type Shape struct {
	Net           curve.Path  // foam outline, seat frame, counter-clockwise
	Edges         []Edge      // all round, in the order of Net
	Back          Back        // which edge is the back, and how that is known
	Ticks         []Tick      // marks that the maker drew across the line
	Size          Size        // of Net
	SeatFromPlane plane.Rigid // how the outline was turned to lie with its back up
}

// Edge is a stretch of the outline between two corners, or between a straight
// line and the curve beside it.
type Edge struct {
	Name     Name
	First    int // its first piece in Net
	Count    int // how many pieces, running on past the last to the first
	Straight bool
	Length   length.Length
}

// Name is what a maker calls an edge. Only the longest edge that faces a way
// carries its name; the others are Unnamed.
type Name string

// The names of edges.
const (
	Unnamed   Name = ""
	BackEdge  Name = "back"
	FrontEdge Name = "front"
	LeftEdge  Name = "left"
	RightEdge Name = "right"
)

// Back says which edge is the back.
type Back struct {
	Edge   int // index into Shape.Edges
	Source BackSource
	Sure   bool // false: another edge is nearly as good a candidate
}

// BackSource says how the back edge was found.
type BackSource string

// The ways of finding the back, the surest first.
const (
	BackSaid      BackSource = "said"       // the person said so
	BackSheetEdge BackSource = "sheet-edge" // the sheet's own straight edge
	BackTick      BackSource = "tick"       // a straight edge with one tick across it
	BackStraight  BackSource = "straight"   // the straight edge that halves the seat best
	BackTop       BackSource = "top"        // no straight edge: the one at the top of the photo
)

// Tick is a mark on the outline.
type Tick struct {
	At       plane.Point // on the outline, seat frame
	From, To plane.Point // the stroke's ends, seat frame
	Edge     int         // index into Shape.Edges
	// FromBackCentre is the distance along the outline from the middle of the back
	// edge, counter-clockwise positive, the shorter way round.
	FromBackCentre length.Length
}

// Size is what a tape would read.
type Size struct {
	Width     length.Length // greatest extent along the back
	Depth     length.Length // greatest extent square to the back
	Perimeter length.Length
	AreaMM2   float64 // square millimetres
}

// Origin returns the middle of the back edge, where the seat frame starts.
func (s Shape) Origin() plane.Point { return plane.Point{} }

// BackToFront returns the direction from the back to the front in the seat frame:
// the axis that a second plate is mirrored about.
func (s Shape) BackToFront() plane.Vec { return plane.Vec{Y: -1} }
