package render

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/sheet"
)

// HPGLTolerance is how far, in mm, the lines of an HPGL file stay from the outlines: half
// a plotter unit each way, and what flattening takes.
const HPGLTolerance = 0.03

// hpglPerMM is the plotter unit of the Hewlett-Packard Graphics Language: 0.025 mm.
const hpglPerMM = 40

// hpglMargin is the clear strip, mm, at the start of the cloth or paper.
const hpglMargin = 10

// The pens of an HPGL file: words and inside lines first, then the seam, the notches,
// and the cut lines last, so that nothing has moved when they are drawn.
const (
	penInside = iota + 1
	penSeam
	penNotches
	penCut
)

// HPGL writes the pieces for a pen or knife plotter that takes the Hewlett-Packard
// Graphics Language, 1 mm to 1 mm, lines within HPGLTolerance. x runs along the machine.
// Same input, same bytes.
func HPGL(w io.Writer, pieces []sheet.Piece) error {
	box := plane.EmptyRect()
	for _, p := range pieces {
		for _, item := range p.Items {
			if !isFinite(item) {
				return problem.Newf(problem.Internal, "report this with the photo", "piece %q has a coordinate that is not a number", p.Name)
			}
			if s, isStroke := item.(sheet.Stroke); isStroke {
				b := s.Path.Bounds()
				box = box.Include(b.Min.Add(p.Place)).Include(b.Max.Add(p.Place))
			}
		}
	}
	if box.IsEmpty() {
		return problem.New(problem.Internal, "there is no piece to write", "report this with what you typed")
	}
	h := &hpgl{origin: plane.Vec{X: hpglMargin - box.Min.X, Y: hpglMargin - box.Min.Y}}
	h.out.WriteString("IN;\n")
	for pen := penInside; pen <= penCut; pen++ {
		fmt.Fprintf(&h.out, "SP%d;\n", pen)
		for _, p := range pieces {
			h.piece(p, pen)
		}
	}
	h.out.WriteString("PU;SP0;\n")
	_, err := w.Write(h.out.Bytes())
	return err
}

func hpglPen(r sheet.Role) int {
	switch r {
	case sheet.CutLine, sheet.FoamOutline:
		return penCut
	case sheet.SeamLine:
		return penSeam
	case sheet.Notch:
		return penNotches
	}
	return penInside
}

type hpgl struct {
	out    bytes.Buffer
	origin plane.Vec // of the pieces' frame, mm from the machine's
}

func (h *hpgl) piece(p sheet.Piece, pen int) {
	for _, item := range p.Items {
		switch item := item.(type) {
		case sheet.Stroke:
			if hpglPen(item.Role) == pen {
				h.line(item.Path, p.Place)
			}
		case sheet.Text:
			if pen == penInside {
				h.words(item, p.Place)
			}
		}
	}
}

// units returns a place in plotter units.
func (h *hpgl) units(q plane.Point, place plane.Vec) string {
	q = q.Add(place).Add(h.origin)
	return fmt.Sprintf("%d,%d", int(math.Round(hpglPerMM*q.X)), int(math.Round(hpglPerMM*q.Y)))
}

func (h *hpgl) line(path curve.Path, place plane.Vec) {
	const flattening = 0.01
	points := path.Flatten(flattening)
	if len(points) == 0 {
		return
	}
	if path.IsClosed() {
		points = append(points, points[0])
	}
	fmt.Fprintf(&h.out, "PU%s;PD", h.units(points[0], place))
	for i, q := range points[1:] {
		if i > 0 {
			h.out.WriteByte(',')
		}
		h.out.WriteString(h.units(q, place))
	}
	h.out.WriteString(";PU;\n")
}

// words writes text in the machine's own letters: DI turns it, SI gives the width and
// height of a capital in centimetres, LO4 to LO14 say where it starts from.
func (h *hpgl) words(t sheet.Text, place plane.Vec) {
	sin, cos := math.Sincos(t.Angle * math.Pi / 180)
	height := capital * t.Size / 10
	fmt.Fprintf(&h.out, "PU%s;DI%.4f,%.4f;SI%.3f,%.3f;LO%d;LB%s\x03;\n",
		h.units(t.At, place), cos, sin, 0.6*height, height, 1+3*int(t.Anchor), hpglWords(t.Words))
}

// hpglWords returns the words in ASCII, the only letters that every machine has.
func hpglWords(words string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= ' ' && r < 127:
			return r
		case r == '×':
			return 'x'
		case r == '±':
			return '~'
		case r < ' ' || r == 127:
			return ' '
		}
		return '?'
	}, words)
}
