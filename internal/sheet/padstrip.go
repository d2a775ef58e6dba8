package sheet

import (
	"fmt"

	"fairedge/internal/curve"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// stripPart draws a strip as it is cut, with its seam lines, folds and marks. The
// ends of bias strips run along the straight grain.
func stripPart(p pad.Pad, s pad.Strip, seam padSeam, label Label) PadPart {
	part := PadPart{Name: s.Name, File: fileName(s.Name), Strip: true, Says: stripSays(s)}
	pen := &pen{}
	outline := s.Outline()
	pen.stroke("cut", CutLine, outline)
	b := outline.Bounds()
	if s.Seam > 0 {
		pen.stripSeams(s, b)
	}
	pen.stripFolds(p, s, b)
	marks := onStrip(s, b)
	for _, k := range marks {
		pen.padMark(k)
	}
	free := newRoom(outline, pen.items)
	pen.words(part.File, s.Name, append(append([]string{}, part.Says...), label.lines()...), outline, free)
	pen.markWords(marks, free, func(k pad.Mark) int { return seam.number(stripAlong(p, s, k)) })
	part.Items = pen.items
	part.roles, part.kinds = legendOfItems(pen.items), kindsOf(marks)
	return part
}

// stripSeams draws the stitching: along both long edges of a band and across both
// ends; along one long edge of a zip strip, whose other edge is folded.
func (p *pen) stripSeams(s pad.Strip, b plane.Rect) {
	seam := s.Seam.Millimetres()
	in := b.Grow(-seam)
	lines := []curve.Segment{
		curve.Line(at(in.Min.X, b.Min.Y), at(in.Min.X, b.Max.Y)), curve.Line(at(in.Max.X, b.Min.Y), at(in.Max.X, b.Max.Y)),
		curve.Line(at(b.Min.X, in.Min.Y), at(b.Max.X, in.Min.Y)), curve.Line(at(b.Min.X, in.Max.Y), at(b.Max.X, in.Max.Y)),
	}
	if s.Kind == pad.ZipStrip {
		lines = lines[:3]
		if isUpper(s) {
			lines[2] = curve.Line(at(b.Min.X, in.Max.Y), at(b.Max.X, in.Max.Y))
		}
	}
	for _, l := range lines {
		p.stroke("", SeamLine, curve.OpenPath(l))
	}
}

// onStrip returns the marks where they lie on the strip as it is cut. Those of the
// upper zip strip are given at the height of the finished band.
func onStrip(s pad.Strip, b plane.Rect) []pad.Mark {
	if s.Kind != pad.ZipStrip || !isUpper(s) {
		return s.Marks
	}
	marks := make([]pad.Mark, len(s.Marks))
	for i, k := range s.Marks {
		shift := plane.Vec{Y: b.Max.Y - s.Seam.Millimetres() - k.At.Y}
		k.At, k.From, k.To = k.At.Add(shift), k.From.Add(shift), k.To.Add(shift)
		strokes := make([]pad.Stroke, len(k.Strokes))
		for j, l := range k.Strokes {
			strokes[j] = pad.Stroke{From: l.From.Add(shift), To: l.To.Add(shift)}
		}
		k.Strokes = strokes
		marks[i] = k
	}
	return marks
}

// isUpper reports whether a zip strip is sewn to the top plate along its upper edge.
func isUpper(s pad.Strip) bool {
	for _, k := range s.Marks {
		return k.From.Y > k.At.Y
	}
	return false
}

// stripFolds draws where a strip is folded lengthwise.
func (p *pen) stripFolds(pd pad.Pad, s pad.Strip, b plane.Rect) {
	fold := func(y float64) { p.line(FoldLine, at(b.Min.X, y), at(b.Max.X, y)) }
	switch s.Kind {
	case pad.TieStrip:
		for i := 1; i < pd.Recipe.Ties.Folds; i++ {
			fold(b.Min.Y + b.Height()*float64(i)/float64(pd.Recipe.Ties.Folds))
		}
	case pad.ZipStrip:
		if isUpper(s) {
			fold(b.Min.Y + pd.Recipe.Zip.Cover.Millimetres())
		} else {
			fold(b.Max.Y - pd.Recipe.Zip.Cover.Millimetres())
		}
	}
}

func stripSays(s pad.Strip) []string {
	cut := fmt.Sprintf("Cut %d", s.Count)
	if s.Cut == pad.Bias {
		cut += " on the bias"
	}
	return append([]string{cut + ": " + sizeOf(s.Length, s.Width) + "."}, s.Words...)
}
