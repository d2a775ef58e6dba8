package render

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"math"
	"time"

	"fairedge/internal/curve"
	"fairedge/internal/problem"
	"fairedge/internal/sheet"

	"github.com/tdewolff/canvas"
	"github.com/tdewolff/canvas/renderers/pdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// Meta is what a PDF says of itself. Nothing of the machine or the person is added.
type Meta struct {
	Title   string
	Creator string    // name and version of the program
	Date    time.Time // the day, in its own time zone; zero writes no date
}

// PDF writes the sheets as a document, one page each, 1 mm to 1 mm: the scale is
// right to 1e-7, places to 1e-6 mm. Text stays text in the embedded Go typeface. Cut,
// seam, marks and words of a pattern are layers that a reader can switch. A page of
// more than 5 m has a larger unit (UserUnit, ISO 32000-1, 14.11.4).
func PDF(w io.Writer, sheets []sheet.Sheet, meta Meta) error {
	if len(sheets) == 0 {
		return problem.New(problem.Internal, "there is no page to write", "report this with what you typed")
	}
	for _, s := range sheets {
		if err := checkSheet(s); err != nil {
			return err
		}
	}
	pages := make([]pdfPage, len(sheets))
	var parts []sheet.Sheet
	for i, s := range sheets {
		pages[i] = pageOf(s)
		for _, part := range pages[i].parts {
			parts = append(parts, part.sheet)
		}
	}
	raw, err := canvasPDF(parts)
	if err != nil {
		return err
	}
	settled, err := settle(raw, meta, pages)
	if err != nil {
		return err
	}
	_, err = w.Write(settled)
	return err
}

// canvasPDF returns the document as canvas writes it, uncompressed. Canvas panics
// where other libraries return errors; here that becomes an error.
func canvasPDF(sheets []sheet.Sheet) (document []byte, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = problem.Newf(problem.Internal, "report this with what you typed", "the PDF could not be drawn: %v", fault)
		}
	}()
	faces, err := newTypefaces()
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	first := sheets[0]
	doc := pdf.New(&out, first.Width.Millimetres(), first.Height.Millimetres(), &pdf.Options{SubsetFonts: true})
	for i, s := range sheets {
		if i > 0 {
			doc.NewPage(s.Width.Millimetres(), s.Height.Millimetres())
		}
		for _, item := range s.Items {
			faces.draw(doc, item)
		}
	}
	if err := doc.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// typefaces are the two fonts that every document embeds, and the lines that were set
// in them: the numbers of a bar and the notes stand on every page.
type typefaces struct {
	family *canvas.FontFamily
	lines  map[setting]*canvas.Text
}

// setting is all that a line of type looks like, but for its place.
type setting struct {
	words  string
	size   float64
	bold   bool
	anchor sheet.Anchor
	ink    sheet.Ink
}

func newTypefaces() (typefaces, error) {
	family := canvas.NewFontFamily("Go")
	if err := family.LoadFont(goregular.TTF, 0, canvas.FontRegular); err != nil {
		return typefaces{}, fmt.Errorf("the built-in typeface cannot be read: %w", err)
	}
	if err := family.LoadFont(gobold.TTF, 0, canvas.FontBold); err != nil {
		return typefaces{}, fmt.Errorf("the built-in bold typeface cannot be read: %w", err)
	}
	return typefaces{family, map[setting]*canvas.Text{}}, nil
}

func (f typefaces) draw(doc *pdf.PDF, item sheet.Item) {
	switch item := item.(type) {
	case sheet.Stroke:
		doc.RenderPath(canvasPath(item.Path), strokeStyle(item), canvas.Identity)
	case sheet.Area:
		whole := &canvas.Path{}
		for _, p := range item.Paths {
			whole = whole.Append(canvasPath(p))
		}
		style := canvas.DefaultStyle
		style.Fill = canvas.Paint{Color: rgba(item.Ink)}
		doc.RenderPath(whole, style, canvas.Identity)
	case sheet.Text:
		f.drawText(doc, item)
	}
}

func (f typefaces) drawText(doc *pdf.PDF, t sheet.Text) {
	key := setting{t.Words, t.Size, t.Bold, t.Anchor, t.Ink}
	line, known := f.lines[key]
	if !known {
		line = f.set(t)
		f.lines[key] = line
	}
	doc.RenderText(line, canvas.Identity.Translate(t.At.X, t.At.Y).Rotate(t.Angle))
}

// set returns the line of type.
func (f typefaces) set(t sheet.Text) *canvas.Text {
	weight := canvas.FontRegular
	if t.Bold {
		weight = canvas.FontBold
	}
	const pointsPerMM = 72 / 25.4
	face := f.family.Face(t.Size*pointsPerMM, rgba(t.Ink), weight)
	return canvas.NewTextLine(face, t.Words, canvasAlign(t.Anchor))
}

func canvasAlign(a sheet.Anchor) canvas.TextAlign {
	switch a {
	case sheet.Middle:
		return canvas.Center
	case sheet.End:
		return canvas.Right
	}
	return canvas.Left
}

// canvasPath returns the same lines and cubics as a path of canvas.
func canvasPath(p curve.Path) *canvas.Path {
	out := &canvas.Path{}
	for i, s := range p.Segments() {
		if i == 0 {
			out.MoveTo(s.P0.X, s.P0.Y)
		}
		if s.Straight {
			if !p.IsClosed() || i < p.Len()-1 { // closing draws the last line
				out.LineTo(s.P3.X, s.P3.Y)
			}
			continue
		}
		out.CubeTo(s.P1.X, s.P1.Y, s.P2.X, s.P2.Y, s.P3.X, s.P3.Y)
	}
	if p.IsClosed() {
		out.Close()
	}
	return out
}

// strokeStyle returns the style of a line. Canvas takes dashes as multiples of the
// line width.
func strokeStyle(s sheet.Stroke) canvas.Style {
	look := s.Role.Style()
	style := canvas.DefaultStyle
	style.Fill = canvas.Paint{}
	style.Stroke = canvas.Paint{Color: rgba(look.Ink)}
	style.StrokeWidth = look.Width
	style.StrokeJoiner = canvas.RoundJoin
	if look.Round {
		style.StrokeCapper = canvas.RoundCap
	}
	total := 0.0
	for _, d := range look.Dash {
		style.Dashes = append(style.Dashes, d/look.Width)
		total += d
	}
	if total > 0 {
		style.DashOffset = math.Mod(s.Phase, total) / look.Width
	}
	return style
}

func rgba(ink sheet.Ink) color.RGBA { return color.RGBA{ink.R, ink.G, ink.B, 255} }
