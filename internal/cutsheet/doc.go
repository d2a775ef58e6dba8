// Package cutsheet lays out the sheet that lies on the bench: a picture of each piece
// with its sizes, the strips, what to buy, the order of work with the places of the
// marks, what to check, and the cautions. It makes plain sheets; package render writes
// them.
//
// Everything needed at the bench is set in 9 pt or more, cautions in 7 pt or more, all
// in one colour. What does not fit one page goes on a second; the type never shrinks.
package cutsheet

import (
	"time"

	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/shape"
	"fairedge/internal/sheet"
)

// Job is what one cut sheet tells.
type Job struct {
	Name     string // of the job; may be empty
	Date     time.Time
	Program  string
	Accuracy string   // how sure the shape is; may be empty
	Said     []string // more sentences about the shape
	Pad      pad.Pad
	Pads     int // how many of it
	Needs    []pad.Need
	Seat     shape.Size
	Lay      *Figure // how the pieces lie on the cloth; nil for none
}

// Figure is a drawing made elsewhere that stands on the cut sheet as it is: its items
// lie between (0, 0) and (Width, Height), in mm of paper.
type Figure struct {
	Title         string
	Width, Height float64
	Items         []sheet.Item
	Words         []string // sentences below it
}

// FigureWidth returns how wide a figure may be on the paper, mm.
func FigureWidth(paper sheet.Paper) float64 { return paper.Width.Millimetres() - 2*margin }

// margin is the free border of the paper, mm: what office printers ask for, and room
// for a punched hole.
const margin = 11.0

// The type, mm: 9 pt for the bench, 7 pt and a little for cautions.
const (
	benchType   = 9 * 25.4 / 72
	cautionType = 7.2 * 25.4 / 72
	headType    = 4.4
	leading     = 1.28
)

// twoSizes returns a length as both rulers read it: "486.1 mm (19 1/8 in)".
func twoSizes(l length.Length) string { return l.String() }
