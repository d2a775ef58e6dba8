package render

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fairedge/internal/problem"
	"fairedge/internal/sheet"
)

// DXFTolerance is how far, in mm, the polylines of a DXF file stay from the outlines.
const DXFTolerance = 0.01

// dxfLayers are the layers of a pattern by role, after ASTM D6673 (pattern data
// interchange).
var dxfLayers = []int{layerBoundary, layerNotches, layerMirror, layerGrain, layerInternal, layerSew, layerText}

const (
	layerBoundary = 1
	layerNotches  = 4
	layerMirror   = 6
	layerGrain    = 7
	layerInternal = 8
	layerSew      = 14
	layerText     = 15
)

// DXF writes the pieces as an ASCII drawing interchange file of release 12, which
// every cutting machine and drawing program reads: millimetres, one block for each
// piece, polylines within DXFTolerance of the outlines, layers by role. Same input,
// same bytes.
func DXF(w io.Writer, pieces []sheet.Piece) error {
	if len(pieces) == 0 {
		return problem.New(problem.Internal, "there is no piece to write", "report this with what you typed")
	}
	for _, p := range pieces {
		for _, item := range p.Items {
			if !isFinite(item) {
				return problem.Newf(problem.Internal, "report this with the photo", "piece %q has a coordinate that is not a number", p.Name)
			}
		}
	}
	d := &dxf{}
	d.header()
	d.tables()
	d.section("BLOCKS", func() {
		for _, p := range pieces {
			d.block(p)
		}
	})
	d.section("ENTITIES", func() {
		for _, p := range pieces {
			d.tag(0, "INSERT")
			d.tag(8, layerBoundary)
			d.tag(2, p.Name)
			d.place(10, p.Place.X, p.Place.Y)
		}
	})
	d.tag(0, "EOF")
	_, err := w.Write(d.out.Bytes())
	return err
}

// dxf writes tags: a code on one line, its value on the next.
type dxf struct{ out bytes.Buffer }

func (d *dxf) tag(code int, value any) { fmt.Fprintf(&d.out, "%3d\n%v\n", code, value) }

// place writes a point under the codes n, n+10 and n+20, to 1e-5 mm.
func (d *dxf) place(n int, x, y float64) {
	d.tag(n, dxfNumber(x))
	d.tag(n+10, dxfNumber(y))
	d.tag(n+20, "0.0")
}

func dxfNumber(x float64) string {
	s := strconv.FormatFloat(math.Round(x*1e5)/1e5+0, 'f', -1, 64)
	if !strings.Contains(s, ".") {
		s += ".0"
	}
	return s
}

func (d *dxf) section(name string, body func()) {
	d.tag(0, "SECTION")
	d.tag(2, name)
	body()
	d.tag(0, "ENDSEC")
}

// header says release 12 and millimetres. Units came with a later release; readers of
// release 12 pass them over.
func (d *dxf) header() {
	d.tag(999, fmt.Sprintf("millimetres; polylines within %g mm of the outlines; layers after ASTM D6673", DXFTolerance))
	d.section("HEADER", func() {
		d.tag(9, "$ACADVER")
		d.tag(1, "AC1009")
		d.tag(9, "$INSUNITS")
		d.tag(70, 4)
		d.tag(9, "$MEASUREMENT")
		d.tag(70, 1)
	})
}

func (d *dxf) tables() {
	table := func(name string, count int, body func()) {
		d.tag(0, "TABLE")
		d.tag(2, name)
		d.tag(70, count)
		body()
		d.tag(0, "ENDTAB")
	}
	d.section("TABLES", func() {
		table("LTYPE", 1, func() {
			d.tag(0, "LTYPE")
			d.tag(2, "CONTINUOUS")
			d.tag(70, 0)
			d.tag(3, "Solid line")
			d.tag(72, 65)
			d.tag(73, 0)
			d.tag(40, "0.0")
		})
		table("LAYER", len(dxfLayers)+1, func() {
			d.layer("0", 7)
			for i, l := range dxfLayers {
				d.layer(strconv.Itoa(l), i+1)
			}
		})
		table("STYLE", 1, func() {
			d.tag(0, "STYLE")
			d.tag(2, "STANDARD")
			d.tag(70, 0)
			d.tag(40, "0.0")
			d.tag(41, "1.0")
			d.tag(50, "0.0")
			d.tag(71, 0)
			d.tag(42, "3.0")
			d.tag(3, "txt")
			d.tag(4, "")
		})
	})
}

func (d *dxf) layer(name string, colour int) {
	d.tag(0, "LAYER")
	d.tag(2, name)
	d.tag(70, 0)
	d.tag(62, colour)
	d.tag(6, "CONTINUOUS")
}

func (d *dxf) block(p sheet.Piece) {
	d.tag(0, "BLOCK")
	d.tag(8, layerBoundary)
	d.tag(2, p.Name)
	d.tag(70, 0)
	d.place(10, 0, 0)
	d.tag(3, p.Name)
	for _, item := range p.Items {
		switch item := item.(type) {
		case sheet.Stroke:
			d.polyline(item)
		case sheet.Text:
			d.text(item)
		}
	}
	d.tag(0, "ENDBLK")
	d.tag(8, layerBoundary)
}

func dxfLayer(r sheet.Role) int {
	switch r {
	case sheet.CutLine, sheet.FoamOutline:
		return layerBoundary
	case sheet.Notch:
		return layerNotches
	case sheet.CentreLine, sheet.FoldLine:
		return layerMirror
	case sheet.GrainLine:
		return layerGrain
	case sheet.SeamLine:
		return layerSew
	}
	return layerInternal
}

func (d *dxf) polyline(s sheet.Stroke) {
	layer := dxfLayer(s.Role)
	closed := 0
	if s.Path.IsClosed() {
		closed = 1
	}
	d.tag(0, "POLYLINE")
	d.tag(8, layer)
	d.tag(66, 1)
	d.place(10, 0, 0)
	d.tag(70, closed)
	for _, q := range s.Path.Flatten(0.95 * DXFTolerance) { // the rest is for the rounding
		d.tag(0, "VERTEX")
		d.tag(8, layer)
		d.place(10, q.X, q.Y)
	}
	d.tag(0, "SEQEND")
	d.tag(8, layer)
}

// capital is the height of a capital letter of the Go typeface over its size: DXF
// measures type by its capitals.
const capital = 0.72

func (d *dxf) text(t sheet.Text) {
	d.tag(0, "TEXT")
	d.tag(8, layerText)
	d.place(10, t.At.X, t.At.Y)
	d.tag(40, dxfNumber(capital*t.Size))
	d.tag(1, dxfWords(t.Words))
	d.tag(50, dxfNumber(t.Angle))
	if t.Anchor != sheet.Start {
		d.tag(72, int(t.Anchor)) // 1 middle, 2 end: our order
		d.place(11, t.At.X, t.At.Y)
	}
}

// dxfWords returns the words in ASCII: other letters as \U+XXXX, which readers turn
// back; nothing that could end the line.
func dxfWords(words string) string {
	var b strings.Builder
	for _, r := range words {
		switch {
		case r >= ' ' && r < 127:
			b.WriteRune(r)
		case r < ' ' || r == 127:
			b.WriteByte(' ')
		case r > 0xFFFF:
			b.WriteByte('?')
		default:
			fmt.Fprintf(&b, "\\U+%04X", r)
		}
	}
	return b.String()
}
