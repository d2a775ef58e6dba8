// Package job strings the stages together: a photo becomes a shape, a shape becomes
// outlines to cut, and outlines become files. Command line and, later, the bench
// page call the same functions.
package job

import (
	"time"

	"fairedge/internal/card"
	"fairedge/internal/curve"
	"fairedge/internal/detect"
	"fairedge/internal/length"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// Reading says how to read the template out of a photo. The zero value lets the
// program find everything out.
type Reading struct {
	Limits         photo.Limits
	Kind           detect.EdgeKind // how the template shows its edge; Auto finds out
	Inside         *photo.Point    // a point inside the wanted outline, upright photo
	Side           measure.Side    // which side of a drawn line is the edge
	Back           Direction       // which way the back faces in the upright photo
	TemplateHeight length.Length   // of the template's surface over the cards'
	Prints         []card.Print    // what rulers read on the cards
	Taped          []TapedLength   // sizes of the template by tape
	Ask            length.Length   // the accuracy wanted all round; zero = any
	// Profiles are the lenses known from photos taken to learn them, oldest first. Lens
	// names the one to use, or NoLens; empty = the newest that the photo's EXIF fits.
	Profiles []measure.LensProfile
	Lens     string
}

// Direction is a side of the upright photo.
type Direction string

// The sides of the photo. Unsaid lets the program find the back.
const (
	Unsaid Direction = ""
	Top    Direction = "top"
	Bottom Direction = "bottom"
	Left   Direction = "left"
	Right  Direction = "right"
)

// vec returns the direction on the bench, whose y axis points to the top of the
// photo; zero when unsaid.
func (d Direction) vec() plane.Vec {
	return map[Direction]plane.Vec{Top: {Y: 1}, Bottom: {Y: -1}, Left: {X: -1}, Right: {X: 1}}[d]
}

// Pattern says what to make of the shape.
type Pattern struct {
	Oversize  length.Length  // foam larger than the template, each side
	Allowance length.Length  // fabric beyond the template, each side
	Hem       *length.Length // another allowance at the back edge, or nil
	Corner    curve.Join
}

// DefaultPattern is the bench's rule for a pad of 1 in foam with 1/2 in seams: foam
// exactly the template, fabric 3/4 in larger all round (common practice).
func DefaultPattern() Pattern {
	return Pattern{Allowance: length.Inch * 3 / 4, Corner: curve.JoinMitre}
}

// Label says what stands on every sheet besides sizes.
type Label struct {
	Name    string // of the job: "Alder, kitchen chair 2"
	Date    time.Time
	Program string // name and version
	Band    bool   // draw the 95 % band in the pictures
}

// Watcher follows a run. Methods are called from one goroutine, in order.
type Watcher interface {
	// Stage is called when a stage begins; name is a word or two for a person.
	Stage(name string)
	// Evidence is called with a stage's result for debug pictures.
	Evidence(e Evidence)
}

// Quiet is the watcher that does nothing.
type Quiet struct{}

// Stage does nothing.
func (Quiet) Stage(string) {}

// Evidence does nothing.
func (Quiet) Evidence(Evidence) {}
