package sheet

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// The strip below the pieces, mm: scale bars at the left, words in the middle, the
// meaning of the lines at the right.
const (
	stripBars  = 118.0 // width of the column of scale bars
	stripWords = 150.0
	stripLines = 92.0
	stripTall  = 118.0 // the upright bar of 100 mm and its number
)

// CheckBar is the length of the two metric bars that every outline sheet carries,
// one across and one along, from line to line.
const CheckBar = 100 * length.Millimetre

// caution stands on every sheet of outlines. Wording after published workshop and
// child-safety advice; not a statement of law.
const caution = "Check before cutting: both scale bars, the measured size, the grain or nap of the cloth. " +
	"Cut with the blade moving away from your hand. Glue: ventilate, no flame, follow its label. " +
	"Count pins and needles. Ties are long cords: not for cots, high chairs or small children left alone. " +
	"Use foam and cloth that meet the fire rules where the pad will be used."

// strip is the block of words and bars under the pieces.
type strip struct {
	width, height float64
	heading       []string
	body          []string
	legend        []Role
	notched       bool
}

var (
	stripHeading = Text{Size: 6, Bold: true}
	stripBody    = Text{Size: 3.2}
)

const (
	headingLeading = 7.2
	bodyLeading    = 4.5
	legendLeading  = 7.0
)

func newStrip(label Label, plates []Plate) strip {
	s := strip{width: stripBars + stripWords + stripLines}
	if label.Job != "" {
		s.heading = wrap(stripHeading, stripWords-8, label.Job)
	}
	for _, sentence := range label.sentences(plates) {
		s.body = append(s.body, wrap(stripBody, stripWords-8, sentence)...)
	}
	s.legend, s.notched = legendOf(plates)
	words := headingLeading*float64(len(s.heading)) + bodyLeading*float64(len(s.body))
	s.height = math.Max(stripTall, words+4)
	return s
}

// sentences returns what the strip says, one sentence each, in order.
func (l Label) sentences(plates []Plate) []string {
	var all []string
	switch {
	case !l.Date.IsZero() && l.Program != "":
		all = append(all, l.Date.Format("2 January 2006")+", "+l.Program)
	case !l.Date.IsZero():
		all = append(all, l.Date.Format("2 January 2006"))
	case l.Program != "":
		all = append(all, l.Program)
	}
	for i, p := range plates {
		for _, size := range p.sizes() {
			if len(plates) > 1 {
				size = fmt.Sprintf("Plate %d: %s", i+1, size)
			}
			all = append(all, size+".")
		}
	}
	if l.Accuracy != "" {
		all = append(all, l.Accuracy)
	}
	all = append(all, l.Notes...)
	return append(all, "Print at 100 %, no fit to page.", caution)
}

func legendOf(plates []Plate) (roles []Role, notched bool) {
	foam := false
	for _, p := range plates {
		notched = notched || !p.Fabric.IsEmpty()
		foam = foam || !p.Foam.IsEmpty()
	}
	if notched {
		roles = append(roles, CutLine)
	}
	if foam {
		roles = append(roles, FoamOutline)
	}
	if notched {
		roles = append(roles, GrainLine)
	}
	return roles, notched
}

// draw draws the strip with its lower left corner at the point.
func (s strip) draw(p *pen, corner plane.Point) {
	p.checkBars(corner)
	top := corner.Y + s.height
	x := corner.X + stripBars
	heading := stripHeading
	heading.At = at(x, top-5)
	p.paragraph(heading, headingLeading, s.heading...)
	body := stripBody
	body.At = at(x, top-headingLeading*float64(len(s.heading))-3.5)
	p.paragraph(body, bodyLeading, s.body...)
	s.drawLegend(p, at(x+stripWords, top-4))
}

// checkBars draws 100 mm across, 100 mm along and 4 in across.
func (p *pen) checkBars(corner plane.Point) {
	l := CheckBar.Millimetres()
	along := millimetreBar("scale-100mm-along", corner.Add(plane.Vec{X: 8, Y: 16}), plane.Vec{Y: 1}, CheckBar)
	p.bar(along)
	across := millimetreBar("scale-100mm", corner.Add(plane.Vec{X: 14, Y: 16}), plane.Vec{X: 1}, CheckBar)
	p.bar(across)
	p.bar(bar{
		id: "scale-4in", from: corner.Add(plane.Vec{X: 14, Y: 1}), direction: plane.Vec{X: 1},
		length: 4 * length.Inch.Millimetres(), step: length.Inch.Millimetres() / 8, each: 8, size: 2.4,
		number: func(i int) string { return fmt.Sprint(i / 8) },
	})
	note := Text{At: corner.Add(plane.Vec{X: 14 + l/2, Y: 34}), Size: 3.2, Anchor: Middle}
	p.paragraph(note, 4.5, "Lay a ruler on the bars, line to line:", "100.0 mm across and along, 4 in below.")
}

func (s strip) drawLegend(p *pen, corner plane.Point) {
	sample := 30.0
	y := corner.Y
	for _, role := range s.legend {
		p.stroke("", role, curve.OpenPath(curve.Line(at(corner.X, y), at(corner.X+sample, y))))
		p.text(Text{At: at(corner.X+sample+4, y-1.1), Words: role.String(), Size: 3.2})
		y -= legendLeading
	}
	if !s.notched {
		return
	}
	p.line(Notch, at(corner.X+sample/2, y+2), at(corner.X+sample/2, y-3))
	note := Text{At: at(corner.X+sample+4, y-1.1), Size: 3.2}
	p.paragraph(note, bodyLeading, "middle of the back")
	for _, x := range []float64{0.3, 0.62, 0.7} {
		p.line(Notch, at(corner.X+sample*x, y+2-legendLeading), at(corner.X+sample*x, y-3-legendLeading))
	}
	note.At.Y -= legendLeading
	p.paragraph(note, bodyLeading, "one notch left, two right:", "both plates must match,", "right sides together")
}
