package render

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fairedge/internal/curve"
	"fairedge/internal/problem"
	"fairedge/internal/sheet"
)

// SVG writes the sheet as a drawing whose user unit is the millimetre. Lines and
// cubics stay what they are, written to 1e-6 mm; items carry their names as ids;
// text stays text, fitted to the width that the sheet was laid out with whatever
// typeface the reader has. The y axis points down, as SVG wants it.
func SVG(w io.Writer, s sheet.Sheet) error {
	if err := checkSheet(s); err != nil {
		return err
	}
	if id := repeatedID(s); id != "" {
		return problem.Newf(problem.Internal, "report this with what you typed", "sheet %q has two items called %q", s.Title, id)
	}
	var out bytes.Buffer
	d := svgDrawing{&out, s.Height.Millimetres()}
	width, height := number(s.Width.Millimetres()), number(s.Height.Millimetres())
	fmt.Fprintf(&out, `<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="%smm" height="%smm" viewBox="0 0 %s %s">
<title>%s</title>
`, width, height, width, height, escape(s.Title))
	for _, item := range s.Items {
		d.draw(item)
	}
	out.WriteString("</svg>\n")
	_, err := w.Write(out.Bytes())
	return err
}

func repeatedID(s sheet.Sheet) string {
	seen := map[string]bool{}
	for _, item := range s.Items {
		if id := item.Identity(); id != "" {
			if seen[id] {
				return id
			}
			seen[id] = true
		}
	}
	return ""
}

// svgDrawing writes the items of a sheet of the given height in mm.
type svgDrawing struct {
	out    *bytes.Buffer
	height float64
}

func (d svgDrawing) draw(item sheet.Item) {
	switch item := item.(type) {
	case sheet.Stroke:
		d.stroke(item)
	case sheet.Area:
		d.area(item)
	case sheet.Text:
		d.text(item)
	}
}

func (d svgDrawing) stroke(s sheet.Stroke) {
	look := s.Role.Style()
	fmt.Fprintf(d.out, `<path%s fill="none" stroke="%s" stroke-width="%s" stroke-linejoin="round"`,
		idAttribute(s.ID), hexColour(look.Ink), number(look.Width))
	if look.Round {
		d.out.WriteString(` stroke-linecap="round"`)
	}
	if len(look.Dash) > 0 {
		dashes := make([]string, len(look.Dash))
		for i, l := range look.Dash {
			dashes[i] = number(l)
		}
		fmt.Fprintf(d.out, ` stroke-dasharray="%s"`, strings.Join(dashes, " "))
		if s.Phase != 0 {
			fmt.Fprintf(d.out, ` stroke-dashoffset="%s"`, number(s.Phase))
		}
	}
	fmt.Fprintf(d.out, ` d="%s"/>`+"\n", d.pathData(s.Path))
}

func (d svgDrawing) area(a sheet.Area) {
	data := make([]string, len(a.Paths))
	for i, p := range a.Paths {
		data[i] = d.pathData(p)
	}
	fmt.Fprintf(d.out, `<path%s fill="%s" fill-rule="nonzero" d="%s"/>`+"\n",
		idAttribute(a.ID), hexColour(a.Ink), strings.Join(data, " "))
}

func (d svgDrawing) text(t sheet.Text) {
	x, y := number(t.At.X), number(d.height-t.At.Y)
	weight, anchor, turn := "", "", ""
	if t.Bold {
		weight = ` font-weight="bold"`
	}
	switch t.Anchor {
	case sheet.Middle:
		anchor = ` text-anchor="middle"`
	case sheet.End:
		anchor = ` text-anchor="end"`
	}
	if t.Angle != 0 {
		turn = fmt.Sprintf(` transform="rotate(%s %s %s)"`, number(-t.Angle), x, y)
	}
	fmt.Fprintf(d.out, `<text%s x="%s" y="%s" font-family="Go, 'Lucida Grande', Verdana, sans-serif" font-size="%s"%s%s%s fill="%s" textLength="%s" lengthAdjust="spacingAndGlyphs">%s</text>`+"\n",
		idAttribute(t.ID), x, y, number(t.Size), weight, anchor, turn, hexColour(t.Ink), number(t.Width()), escape(t.Words))
}

// pathData returns the path as SVG path data: M, L, C and Z with absolute places.
func (d svgDrawing) pathData(p curve.Path) string {
	var b strings.Builder
	pair := func(x, y float64) string { return number(x) + " " + number(d.height-y) }
	for i, s := range p.Segments() {
		if i == 0 {
			b.WriteString("M" + pair(s.P0.X, s.P0.Y))
		}
		switch {
		case !s.Straight:
			b.WriteString(" C" + pair(s.P1.X, s.P1.Y) + " " + pair(s.P2.X, s.P2.Y) + " " + pair(s.P3.X, s.P3.Y))
		case !p.IsClosed() || i < p.Len()-1: // Z draws the last line
			b.WriteString(" L" + pair(s.P3.X, s.P3.Y))
		}
	}
	if p.IsClosed() {
		b.WriteString(" Z")
	}
	return b.String()
}

// number returns x to 1e-6, without needless zeros.
func number(x float64) string {
	x = math.Round(x*1e6)/1e6 + 0 // no -0
	return strconv.FormatFloat(x, 'f', -1, 64)
}

func idAttribute(id string) string {
	if id == "" {
		return ""
	}
	return ` id="` + escape(id) + `"`
}

func hexColour(ink sheet.Ink) string { return fmt.Sprintf("#%02x%02x%02x", ink.R, ink.G, ink.B) }

// escape returns the text safe for XML; characters that XML cannot hold become
// U+FFFD.
func escape(s string) string {
	var b bytes.Buffer
	if err := xml.EscapeText(&b, []byte(s)); err != nil {
		return "" // cannot happen: a buffer takes everything
	}
	return b.String()
}
