package shapefile

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// namespace names the element that carries the JSON form in an SVG. It is a name, not
// a place to look.
const namespace = "urn:fairedge:shape:1"

// svgMargin is the white around the outline, mm.
const svgMargin = 10.0

// EncodeSVG returns the shape as a drawing that every program shows at true scale: one
// user unit is one millimetre, the outline is one path of true lines and cubics with the
// id "outline", its ticks have ids too. Its metadata carry the JSON form, so that
// DecodeSVG loses nothing. SVG's y axis points down: y there is -y of the seat frame.
func EncodeSVG(d Document) ([]byte, error) {
	data, err := EncodeDocument(d)
	if err != nil {
		return nil, err
	}
	box := d.Shape.Net.Bounds().Grow(svgMargin)
	w, h := exact(box.Width()), exact(box.Height())
	var out bytes.Buffer
	fmt.Fprintf(&out, `<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="%smm" height="%smm" viewBox="%s %s %s %s">
<title>%s</title>
<metadata><shape xmlns="%s">%s</shape></metadata>
`, w, h, exact(box.Min.X), exact(-box.Max.Y), w, h, escaped(titleOf(d)), namespace, escaped(string(data)))
	fmt.Fprintf(&out, `<path id="%s" fill="none" stroke="#000000" stroke-width="0.25" stroke-linejoin="round" d="%s"/>`+"\n", outlineID, pathData(d.Shape.Net))
	for i, t := range d.Shape.Ticks {
		fmt.Fprintf(&out, `<path id="tick-%d" fill="none" stroke="#000000" stroke-width="0.25" d="M%s L%s"/>`+"\n", i+1, downwards(t.From), downwards(t.To))
	}
	out.WriteString("</svg>\n")
	return out.Bytes(), nil
}

func titleOf(d Document) string {
	if d.Name == "" {
		return "Seat outline"
	}
	return d.Name
}

// pathData returns the outline as absolute M, L, C and Z.
func pathData(p curve.Path) string {
	var b strings.Builder
	for i, s := range p.Segments() {
		if i == 0 {
			b.WriteString("M" + downwards(s.P0))
		}
		switch {
		case !s.Straight:
			b.WriteString(" C" + downwards(s.P1) + " " + downwards(s.P2) + " " + downwards(s.P3))
		case i < p.Len()-1: // Z draws the last line
			b.WriteString(" L" + downwards(s.P3))
		}
	}
	return b.String() + " Z"
}

func downwards(p plane.Point) string { return exact(p.X) + " " + exact(-p.Y) }

// exact returns x with as many digits as bring it back bit for bit; no exponent, which
// some readers of SVG do not know.
func exact(x float64) string { return strconv.FormatFloat(x+0, 'f', -1, 64) }

// escaped returns the text safe for XML; characters that XML cannot hold become U+FFFD.
func escaped(s string) string {
	var b bytes.Buffer
	if err := xml.EscapeText(&b, []byte(s)); err != nil {
		return "" // cannot happen: a buffer takes everything
	}
	return b.String()
}

// DecodeSVG reads the shape that EncodeSVG put into a drawing. If its outline has been
// changed since in another program, drawing and data contradict each other, and the
// file is refused: its line can be imported.
func DecodeSVG(data []byte) (Document, error) {
	text, err := embedded(data)
	if err != nil {
		return Document{}, err
	}
	d, err := decodeForm([]byte(text))
	if err != nil {
		return Document{}, err
	}
	return d, checkDrawing(data, d.Shape.Net)
}

// embedded returns the text of the first shape element.
func embedded(data []byte) (string, error) {
	decoder := xml.NewDecoder(bytes.NewReader(data))
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			return "", problem.New(problem.NotAShape, "the drawing carries no shape of fairedge",
				"bring its line in as an outline drawn elsewhere: fairedge shape import")
		}
		if err != nil {
			return "", notXML(err)
		}
		if start, ok := token.(xml.StartElement); ok && start.Name == (xml.Name{Space: namespace, Local: "shape"}) {
			var text string
			if err := decoder.DecodeElement(&text, &start); err != nil {
				return "", notXML(err)
			}
			return text, nil
		}
	}
}

func notXML(err error) error {
	return problem.Newf(problem.NotAShape, "save it anew from its program", "the file is no sound SVG (%v)", err).Because(err)
}
