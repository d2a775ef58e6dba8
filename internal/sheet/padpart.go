package sheet

import (
	"fmt"
	"strings"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// PadPart is one piece or strip of a pad as it is drawn, in its own frame: lines,
// marks and words, without anything of paper.
type PadPart struct {
	Name  string // "Top plate"
	File  string // letters, digits and hyphens: "top-plate"
	Items []Item
	// Says is what stands beside the part on its sheet, a sentence each.
	Says []string
	// Strip says that the part is a strip: long straight ones are cut by their sizes.
	Strip bool

	roles []Role         // of its lines, for the legend
	kinds []pad.MarkKind // of its marks, in the order in which they first appear
}

// Bounds returns the box of the part's lines.
func (p PadPart) Bounds() plane.Rect { return linesBounds(Sheet{Items: p.Items}) }

// PadParts returns the pieces of the pad, then its strips, as they are drawn. Strips
// of one size are drawn once.
func PadParts(p pad.Pad, label Label) []PadPart {
	var parts []PadPart
	seam := numberedSeam(p)
	for _, piece := range p.Pieces {
		parts = append(parts, piecePart(p, piece, seam, label))
	}
	for _, s := range p.Strips {
		parts = append(parts, stripPart(p, s, seam, label))
	}
	return parts
}

// fileName returns the name in small letters, digits and hyphens.
func fileName(name string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	return strings.TrimSuffix(b.String(), "-")
}

// piecePart draws a piece.
func piecePart(p pad.Pad, piece pad.Piece, seam padSeam, label Label) PadPart {
	part := PadPart{Name: piece.Name, File: fileName(piece.Name), Says: pieceSays(p, piece)}
	pen := &pen{}
	inner := pen.pieceLines(piece)
	for _, k := range piece.Marks {
		pen.padMark(onPiece(piece, k))
	}
	free := newRoom(inner, pen.items)
	pen.pieceSides(piece, inner, free)
	pen.arrows(piece.Marks, inner, free)
	heading := pieceHeading(piece)
	pen.words(part.File, heading, append(append([]string{}, part.Says...), label.lines()...), inner, free)
	pen.markWords(piece.Marks, free, func(k pad.Mark) int { return seam.number(k.Along) })
	part.Items = pen.items
	part.roles, part.kinds = legendOfItems(pen.items), kindsOf(piece.Marks)
	return part
}

// onPiece takes away the ticks of a mark that lie beyond the fold of a half template.
func onPiece(piece pad.Piece, k pad.Mark) pad.Mark {
	if piece.FoldLine == nil {
		return k
	}
	var strokes []pad.Stroke
	for _, s := range k.Strokes {
		if s.From.X <= piece.FoldLine.From.X+1e-6 {
			strokes = append(strokes, s)
		}
	}
	k.Strokes = strokes
	return k
}

// pieceLines draws the outlines and returns the innermost, which words stay inside.
func (p *pen) pieceLines(piece pad.Piece) (inner curve.Path) {
	for _, line := range []struct {
		id   string
		role Role
		path curve.Path
	}{{"cut", CutLine, piece.CutLine}, {"seam", SeamLine, piece.SeamLine}, {"foam", p.foamRole(piece), piece.FoamLine}} {
		if !line.path.IsEmpty() {
			p.stroke(line.id, line.role, offFold(piece, line.path))
			if inner.IsEmpty() || line.path.SignedArea() < inner.SignedArea() {
				inner = line.path
			}
		}
	}
	if piece.FoldLine != nil {
		p.placeOnFold(*piece.FoldLine)
	}
	return inner
}

// foamRole tells foam to cut from foam that lies under the cloth.
func (p *pen) foamRole(piece pad.Piece) Role {
	if piece.Material == pad.FoamMaterial {
		return FoamOutline
	}
	return FoamGuide
}

// offFold returns the line without its last piece where that lies on the fold of a half
// template: there is nothing to cut.
func offFold(piece pad.Piece, path curve.Path) curve.Path {
	if piece.FoldLine == nil {
		return path
	}
	return curve.OpenPath(path.Segments()[:path.Len()-1]...)
}

// placeOnFold draws the line that lies on a fold of the cloth, and beside it the sign
// with its ends bent to the fold, as patterns have it.
func (p *pen) placeOnFold(s pad.Stroke) {
	p.stroke("fold", FoldLine, curve.OpenPath(curve.Line(s.From, s.To)))
	const bend, end = 12.0, 20.0
	along := s.To.Sub(s.From).Unit()
	in := along.TurnRight() // the piece lies to the left of the fold that runs from back to front
	if in.X > 0 {
		in = in.Neg()
	}
	a, b := s.From.Add(along.Scale(end)), s.To.Add(along.Scale(-end))
	from, to := a.Add(in.Scale(bend)), b.Add(in.Scale(bend))
	p.line(GrainLine, from, to)
	p.arrow(GrainLine, from, a, 3)
	p.arrow(GrainLine, to, b, 3)
	p.text(Text{At: from.Lerp(to, 0.5).Add(in.Scale(2)), Words: "lay this edge on the fold", Size: 4, Angle: 90, Anchor: Middle})
}

// pieceHeading returns the largest words on the piece.
func pieceHeading(piece pad.Piece) string {
	if piece.FoldLine != nil {
		return "HALF"
	}
	const longest = 12
	if len(piece.Words) > 0 && len(piece.Words[0]) <= longest {
		return piece.Words[0]
	}
	return strings.ToUpper(piece.Name)
}

// pieceSays returns what must not get lost: the name, how many, which side up, the
// sizes, and the words of the maker.
func pieceSays(p pad.Pad, piece pad.Piece) []string {
	count := fmt.Sprintf("%s: cut %d", piece.Name, piece.Count)
	switch {
	case piece.FoldLine != nil:
		count = piece.Name + ": cut once for each plate; on the right of the top plate add a second tick at the quarter"
	case piece.Mirrored:
		count += ", mirrored"
	}
	if p.Recipe.Cloth.Nap != pad.NoNap && piece.Material == pad.ClothMaterial {
		count += ", mind the nap"
	}
	all := []string{count + "."}
	for i, w := range piece.Words {
		if i > 0 || w != pieceHeading(piece) {
			all = append(all, w)
		}
	}
	if !piece.CutLine.IsEmpty() {
		all = append(all, "Cut "+boxSize(piece.CutLine)+".")
	}
	if !piece.SeamLine.IsEmpty() {
		all = append(all, "Finished "+boxSize(piece.SeamLine)+", along the stitching.")
	}
	if piece.Material == pad.FoamMaterial {
		all = append(all, "Blank "+boxSize(piece.FoamLine)+".")
	}
	return all
}

// boxSize returns what a tape reads across and along: "432.1 x 419.1 mm (17 x 16 1/2 in)".
func boxSize(path curve.Path) string {
	b := path.Bounds()
	return sizeOf(length.Length(b.Width()), length.Length(b.Height()))
}

func sizeOf(w, d length.Length) string {
	return fmt.Sprintf("%.1f x %.1f mm (%s x %s)", w.Millimetres(), d.Millimetres(), strings.TrimSuffix(w.Imperial(), " in"), d.Imperial())
}

// lines returns the label's job, date and program in lines.
func (l Label) lines() []string {
	var all []string
	if l.Job != "" {
		all = append(all, l.Job)
	}
	var last []string
	if !l.Date.IsZero() {
		last = append(last, l.Date.Format("2 January 2006"))
	}
	if l.Program != "" {
		last = append(last, l.Program)
	}
	if len(last) > 0 {
		all = append(all, strings.Join(last, ", "))
	}
	return all
}

// legendOfItems returns the roles of the lines that need explaining, each once.
func legendOfItems(items []Item) []Role {
	var roles []Role
	for _, role := range []Role{CutLine, SeamLine, FoamOutline, FoamGuide, FoldLine, GrainLine} {
		for _, item := range items {
			if s, ok := item.(Stroke); ok && s.Role == role {
				roles = append(roles, role)
				break
			}
		}
	}
	return roles
}

// kindsOf returns the kinds of the marks, each once, in order.
func kindsOf(marks []pad.Mark) []pad.MarkKind {
	var kinds []pad.MarkKind
	seen := map[pad.MarkKind]bool{}
	for _, k := range marks {
		if !seen[k.Kind] {
			seen[k.Kind] = true
			kinds = append(kinds, k.Kind)
		}
	}
	return kinds
}
