package sheet

import (
	"fmt"
	"math"
	"time"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// Plate is one plate of a pad, seat frame (back up, origin in the middle of the
// back edge of the foam), as it is to lie on the bench: with its right side up.
type Plate struct {
	Foam, Fabric curve.Path // to cut, counter-clockwise; one of them may be empty
	// Mirrored says that this is the second plate, the mirror image of the first:
	// what is left on the seat is right on the drawing.
	Mirrored bool
}

// Label is what stands on a sheet besides lines and sizes. Empty parts are left out.
type Label struct {
	Job      string    // "Alder, kitchen chair 2"
	Date     time.Time // of the job
	Program  string    // name and version
	Accuracy string    // one sentence: how sure the measurement is
	Notes    []string  // a sentence each: allowances, hem, warnings
}

// wholeMargin is the clear paper around a piece, mm: room for the line's width and
// for a printer that cannot print to the border.
const wholeMargin = 15.0

// Whole returns one sheet as large as the plates, side by side, over a strip with
// the job, the scale bars and the meaning of each line. The lines of the first
// plate are called "net" and "fabric", of the next "net-2" and "fabric-2", and so
// on. Without plates it returns an empty sheet of no size.
func Whole(label Label, plates ...Plate) Sheet {
	if len(plates) == 0 {
		return Sheet{}
	}
	strip := newStrip(label, plates, stripWords-20, bodySize)
	p := &pen{}
	inside := p.plates(label, plates, strip.height()+2*wholeMargin, stripBars+stripWords+stripLines)
	strip.draw(p, at(wholeMargin, wholeMargin))
	return Sheet{
		Width:  length.Length(math.Ceil(inside.Max.X + wholeMargin)),
		Height: length.Length(math.Ceil(inside.Max.Y + wholeMargin)),
		Title:  label.title(), Items: p.items,
	}
}

// plates draws the plates side by side, backs in one line, over the height base,
// centred in the least width. It returns the box that they lie in.
func (p *pen) plates(label Label, plates []Plate, base, least float64) plane.Rect {
	across, tallest := -wholeMargin, 0.0
	for _, plate := range plates {
		b := plate.bounds()
		across += wholeMargin + b.Width()
		tallest = math.Max(tallest, b.Height())
	}
	width := math.Max(least, across)
	x := wholeMargin + (width-across)/2
	for i, plate := range plates {
		b := plate.bounds()
		to := plane.Vec{X: x - b.Min.X, Y: base + tallest - b.Max.Y}
		p.plate(plate.moved(to), at(0, 0).Add(to), i, label)
		x += b.Width() + wholeMargin
	}
	return plane.Rect{Min: at(wholeMargin, base), Max: at(wholeMargin+width, base+tallest)}
}

func (l Label) title() string {
	if l.Job == "" {
		return "Seat pad outlines"
	}
	return l.Job + ": seat pad outlines"
}

func (p Plate) bounds() plane.Rect { return p.Foam.Bounds().Union(p.Fabric.Bounds()) }

// inner returns the outline that words must stay inside: the smaller of the two.
func (p Plate) inner() curve.Path {
	if p.Foam.IsEmpty() || !p.Fabric.IsEmpty() && p.Fabric.SignedArea() < p.Foam.SignedArea() {
		return p.Fabric
	}
	return p.Foam
}

func (p Plate) moved(by plane.Vec) Plate {
	move := func(q plane.Point) plane.Point { return q.Add(by) }
	return Plate{p.Foam.Map(move), p.Fabric.Map(move), p.Mirrored}
}

// plate draws plate number i (from 0), whose origin lies at the point.
func (p *pen) plate(plate Plate, origin plane.Point, i int, label Label) {
	suffix := ""
	if i > 0 {
		suffix = fmt.Sprintf("-%d", i+1)
	}
	if !plate.Fabric.IsEmpty() {
		p.stroke("fabric"+suffix, CutLine, plate.Fabric)
		p.notches(plate, origin, suffix)
	}
	if !plate.Foam.IsEmpty() {
		p.stroke("net"+suffix, FoamOutline, plate.Foam)
		p.tick("net-back-centre"+suffix, plate.Foam, nearestSpot(plate.Foam, origin), plate.notchLength())
	}
	p.plateWords(plate, origin, label, "plate"+suffix)
}

func nearestSpot(path curve.Path, q plane.Point) curve.Spot {
	spot, _ := path.Nearest(q)
	return spot
}

// tick draws a short line from the outline inward, square to it.
func (p *pen) tick(id string, path curve.Path, spot curve.Spot, size float64) {
	inward := path.Segment(spot.Piece).OutwardNormal(spot.T).Neg()
	p.stroke(id, Notch, curve.OpenPath(curve.Line(spot.Point, spot.Point.Add(inward.Scale(size)))))
}

// Notches: one tick at the middle of the back, one to the left of it, two to the
// right. Two plates laid right sides together meet notch to notch; a plate that
// was cut flipped does not. Distances along the cut line, mm.
const (
	notchReach   = 60.0 // from the back's middle
	notchGap     = 8.0  // between the two of a pair
	notchLongest = 6.0  // common practice: at most half the allowance
)

// notchLength returns the length of the plate's ticks in mm: on a small plate they
// end short of the word BACK.
func (p Plate) notchLength() float64 { return math.Min(notchLongest, 1.1*p.wordSize()) }

func (p *pen) notches(plate Plate, origin plane.Point, suffix string) {
	path := plate.Fabric
	middle := nearestSpot(path, origin)
	size := plate.notchLength()
	if !plate.Foam.IsEmpty() {
		if _, gap := plate.Foam.Nearest(middle.Point); gap > 1 {
			size = math.Min(size, gap/2)
		}
	}
	const tolerance = 0.01
	around := path.ArcLength(tolerance)
	from := path.LengthTo(middle, tolerance)
	reach := math.Min(notchReach, around/16)
	left := 1.0 // counter-clockwise along the back runs to the left
	if plate.Mirrored {
		left = -1
	}
	for _, n := range []struct {
		id   string
		away float64
	}{
		{"notch-back-centre", 0},
		{"notch-left", reach},
		{"notch-right-1", -reach + notchGap/2},
		{"notch-right-2", -reach - notchGap/2},
	} {
		p.tick(n.id+suffix, path, path.AtLength(from+left*n.away, tolerance), size)
	}
}
