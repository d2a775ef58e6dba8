package sheet

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// The strip below the pieces, mm: scale bars at the left, words in the middle, the
// meaning of the lines at the right.
const (
	stripBars  = 118.0 // width of the column of scale bars
	stripWords = 168.0
	stripLines = 96.0
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

// strip is the block of words and bars that goes with the pieces.
type strip struct {
	size    float64 // of the body's type, mm
	heading []string
	body    []string
	legend  []Role
	notched bool
	marks   []pad.MarkKind // of a pad, explained below the lines
}

// The type of the strip: the body's size, and leadings and heading in shares of it.
const (
	bodySize       = 4.0
	headingShare   = 2.0
	headingLeading = 2.4
	bodyLeading    = 1.35
	legendLeading  = 2.0
)

func newStrip(label Label, plates []Plate, wordsWidth, size float64) strip {
	s := strip{size: size}
	if label.Job != "" {
		s.heading = wrap(s.headingText(), wordsWidth, label.Job)
	}
	for _, sentence := range label.sentences(plates) {
		s.body = append(s.body, wrap(s.bodyText(), wordsWidth, sentence)...)
	}
	s.legend, s.notched = legendOf(plates)
	return s
}

func (s strip) headingText() Text { return Text{Size: headingShare * s.size, Bold: true, Block: "job"} }
func (s strip) bodyText() Text    { return Text{Size: s.size, Block: "job"} }

// wordsHeight returns the height of heading and body, mm.
func (s strip) wordsHeight() float64 {
	return s.size * (headingLeading*float64(len(s.heading)) + bodyLeading*float64(len(s.body)) + 0.6)
}

// legendHeight returns the height of the meanings of the lines, mm.
func (s strip) legendHeight() float64 {
	rows := float64(len(s.legend))
	if s.notched {
		rows += 3.4
	}
	return s.size*legendLeading*rows + s.marksHeight()
}

// height returns the height of the strip with its three columns side by side, mm.
func (s strip) height() float64 {
	return math.Max(stripTall, math.Max(s.wordsHeight(), s.legendHeight()))
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
	top := corner.Y + s.height()
	p.checkBars(corner)
	s.drawWords(p, at(corner.X+stripBars, top))
	s.drawLegend(p, at(corner.X+stripBars+stripWords, top))
}

// drawWords writes heading and body with their upper left corner at the point.
func (s strip) drawWords(p *pen, corner plane.Point) {
	heading := s.headingText()
	heading.At = corner.Add(plane.Vec{Y: -0.78 * heading.Size})
	p.paragraph(heading, headingLeading*s.size, s.heading...)
	body := s.bodyText()
	body.At = corner.Add(plane.Vec{Y: -s.size * (headingLeading*float64(len(s.heading)) + 0.9)})
	p.paragraph(body, bodyLeading*s.size, s.body...)
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
	note := Text{At: corner.Add(plane.Vec{X: 14 + l/2, Y: 34}), Size: 4, Anchor: Middle}
	p.paragraph(note, 1.35*note.Size, "Lay a ruler on the bars, line to line:", "100.0 mm across and along, 4 in below.")
}

// drawLegend draws a sample of every line and says what it means, with the upper
// left corner at the point.
func (s strip) drawLegend(p *pen, corner plane.Point) {
	const sample = 30.0
	step := legendLeading * s.size
	y := corner.Y - step/2
	words := Text{Size: s.size}
	label := func(lines ...string) {
		words.At = at(corner.X+sample+4, y-0.35*s.size)
		p.paragraph(words, bodyLeading*s.size, lines...)
		y -= step
	}
	for _, role := range s.legend {
		p.stroke("", role, curve.OpenPath(curve.Line(at(corner.X, y), at(corner.X+sample, y))))
		label(role.String())
	}
	s.drawMarks(p, at(corner.X, y+step/2))
	if !s.notched {
		return
	}
	p.notchSample(at(corner.X, y), 0.5*sample)
	label("middle of the back")
	p.notchSample(at(corner.X, y), 0.25*sample, 0.68*sample, 0.76*sample)
	label("one notch left, two right: both", "plates must match when they", "lie right sides together")
}

func (p *pen) notchSample(from plane.Point, places ...float64) {
	for _, x := range places {
		p.line(Notch, from.Add(plane.Vec{X: x, Y: 2.5}), from.Add(plane.Vec{X: x, Y: -2.5}))
	}
}
