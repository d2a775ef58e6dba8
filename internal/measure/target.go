package measure

import (
	"math"

	"fairedge/internal/card"
	"fairedge/internal/detect"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// Target is a flat thing with marks at known places, as seen in one photo: a
// scale card, or any other board.
type Target struct {
	Name  string
	ID    card.ID // of a scale card; zero for any other board
	Print int     // index of the print it was cut from
	// Centre and Half are the middle and the half size of the field of marks, in
	// the target's frame; they scale its height field.
	Centre plane.Point
	Half   plane.Vec
	Marks  []TargetMark
}

// TargetMark is one mark: where it was drawn, and where it is seen.
type TargetMark struct {
	Drawn plane.Point // target frame, nominal mm
	Seen  photo.Point
	Sigma float64 // standard uncertainty of Seen per axis, px
}

// NewTarget returns a target whose field is the box around its marks.
func NewTarget(name string, marks []TargetMark) Target {
	box := plane.EmptyRect()
	for _, m := range marks {
		box = box.Include(m.Drawn)
	}
	half := plane.Vec{X: math.Max(box.Width()/2, 1), Y: math.Max(box.Height()/2, 1)}
	return Target{Name: name, Centre: box.Centre(), Half: half, Marks: marks}
}

// targetFromSighting looks the marks up in the card's design.
func targetFromSighting(s detect.Sighting, print int) (Target, error) {
	design, err := card.DesignOf(s.Card)
	if err != nil {
		return Target{}, err
	}
	size := plane.Vec{X: float64(design.Cols) * card.Pitch / 2, Y: float64(design.Rows) * card.Pitch / 2}
	t := Target{Name: s.Card.String(), ID: s.Card, Print: print, Centre: design.FieldMin.Add(size), Half: size}
	for _, m := range s.Marks {
		if !design.IsMark(m.At.I, m.At.J) || !isFinite(m.Photo) {
			continue
		}
		t.Marks = append(t.Marks, TargetMark{design.Mark(m.At.I, m.At.J), m.Photo, m.Sigma})
	}
	return t, nil
}

func isFinite(p photo.Point) bool {
	return !math.IsNaN(p.X+p.Y) && !math.IsInf(p.X+p.Y, 0)
}

// seenArea returns the area of the box around a target's marks in the photo, px².
func (t Target) seenArea() float64 {
	minX, minY, maxX, maxY := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, m := range t.Marks {
		minX, maxX = math.Min(minX, m.Seen.X), math.Max(maxX, m.Seen.X)
		minY, maxY = math.Min(minY, m.Seen.Y), math.Max(maxY, m.Seen.Y)
	}
	return math.Max(0, maxX-minX) * math.Max(0, maxY-minY)
}
