package cli

import (
	"bytes"
	"fmt"
	"html"
	"strings"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// pathData is an outline as SVG path data; SVG's y points down.
type pathData struct {
	d      string
	bounds plane.Rect
}

func dataOf(p curve.Path) pathData {
	var out strings.Builder
	for i := range p.Len() {
		s := p.Segment(i)
		if i == 0 {
			fmt.Fprintf(&out, "M%.3f %.3f", s.P0.X, -s.P0.Y)
		}
		if s.Straight {
			fmt.Fprintf(&out, "L%.3f %.3f", s.P3.X, -s.P3.Y)
			continue
		}
		fmt.Fprintf(&out, "C%.3f %.3f %.3f %.3f %.3f %.3f", s.P1.X, -s.P1.Y, s.P2.X, -s.P2.Y, s.P3.X, -s.P3.Y)
	}
	return pathData{out.String() + "Z", p.Bounds()}
}

// marksEvery is how far apart along the outline the differences are written, mm:
// nearer than that the numbers cover each other.
const marksEvery = 40.0

// differenceSVG draws outline over outline at true scale (one unit is a
// millimetre), backs on each other: the first black, the second blue, with the
// difference written every 40 mm, red where the second lies outside.
func differenceSVG(o outlinesApart) []byte {
	const margin = 20.0
	second := dataOf(o.AsLaid.Second)
	left := min(o.net.bounds.Min.X, second.bounds.Min.X) - margin
	right := max(o.net.bounds.Max.X, second.bounds.Max.X) + margin
	top := -max(o.net.bounds.Max.Y, second.bounds.Max.Y) - margin
	bottom := -min(o.net.bounds.Min.Y, second.bounds.Min.Y) + margin
	var out bytes.Buffer
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" width="%.3fmm" height="%.3fmm" viewBox="%.3f %.3f %.3f %.3f" font-family="sans-serif">`+"\n",
		right-left, bottom-top, left, top, right-left, bottom-top)
	fmt.Fprintf(&out, `<title>Outlines of %s</title>`+"\n", html.EscapeString(o.title))
	fmt.Fprintf(&out, `<path id="first" d="%s" fill="none" stroke="#000" stroke-width="0.5"/>`+"\n", o.net.d)
	fmt.Fprintf(&out, `<path id="second" d="%s" fill="none" stroke="#0060c0" stroke-width="0.5" stroke-dasharray="3 1.5"/>`+"\n", second.d)
	next := 0.0
	for _, d := range o.AsLaid.Differences {
		if d.Along < next {
			continue
		}
		next = d.Along + marksEvery
		colour := "#0060c0"
		if d.Signed > 0 {
			colour = "#c00000"
		}
		fmt.Fprintf(&out, `<path d="M%.3f %.3fL%.3f %.3f" stroke="%s" stroke-width="0.8"/>`+"\n", d.At.X, -d.At.Y, d.Other.X, -d.Other.Y, colour)
		fmt.Fprintf(&out, `<text x="%.3f" y="%.3f" font-size="4" fill="%s">%+.1f</text>`+"\n", d.At.X+1, -d.At.Y-1, colour, d.Signed)
	}
	fmt.Fprintf(&out, `<text x="%.3f" y="%.3f" font-size="5">first: black; second: blue, dashed; numbers: mm, + where the second lies outside</text>`+"\n", left+3, bottom-5)
	out.WriteString("</svg>\n")
	return out.Bytes()
}
