package sheet

import (
	"fmt"
	"math"
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

// pieceSides writes BACK, FRONT, LEFT and RIGHT, as the piece lies with its right
// side up.
func (p *pen) pieceSides(piece pad.Piece, inner curve.Path, free *room) {
	ring := inner.Flatten(0.2)
	b := inner.Bounds()
	centre := b.Centre()
	if !inner.Contains(centre) {
		return
	}
	size := partType(b)
	for _, s := range sidesOf(piece) {
		reach := distanceAlong(ring, centre, s.direction) - 2.2*size
		for ; reach > 3*size; reach -= 0.5 * size {
			t := Text{Words: s.words, Size: 1.2 * size, Anchor: Middle, Bold: true, At: centre.Add(s.direction.Scale(reach))}
			if s.direction.X != 0 {
				t.Angle = 90
				t.At.X += 0.4 * size
			} else {
				t.At.Y -= 0.4 * size
			}
			if box := t.Bounds().Grow(0.8); free.free(box) {
				p.text(t)
				free.take(box)
				break
			}
		}
	}
}

// leastPartType keeps the lines, set in 0.8 of it, at 7 pt.
const leastPartType = smallestBody / 0.8

// partType returns the size of type in mm for a piece that fills the box.
func partType(b plane.Rect) float64 {
	return math.Max(leastPartType, math.Min(7, math.Min(math.Max(b.Width(), b.Height())/40, math.Min(b.Width(), b.Height())/18)))
}

type sideWord struct {
	words     string
	direction plane.Vec
}

func sidesOf(piece pad.Piece) []sideWord {
	left, right := "LEFT", "RIGHT"
	if piece.Mirrored {
		left, right = right, left
	}
	back, front := sideWord{"BACK", plane.Vec{Y: 1}}, sideWord{"FRONT", plane.Vec{Y: -1}}
	l, r := sideWord{left, plane.Vec{X: -1}}, sideWord{right, plane.Vec{X: 1}}
	switch piece.Name {
	case "Main piece":
		return []sideWord{{"BACK, top", back.direction}, {"BACK, under", front.direction}, l, r}
	case "Left side":
		return []sideWord{{"TOP", back.direction}, {"BACK", l.direction}, {"FRONT", r.direction}}
	case "Right side":
		return []sideWord{{"TOP", back.direction}, {"FRONT", l.direction}, {"BACK", r.direction}}
	}
	if piece.FoldLine != nil {
		return []sideWord{back, front, l}
	}
	return []sideWord{back, front, l, r}
}

// arrows draws grain and nap: upright where the marks say, moved aside to leave the
// middle to the words. An arrow means the same anywhere on the piece.
func (p *pen) arrows(marks []pad.Mark, inner curve.Path, free *room) {
	b := inner.Bounds()
	for _, k := range marks {
		if k.Kind != pad.GrainArrow && k.Kind != pad.NapArrow {
			continue
		}
		words := "grain"
		if k.Kind == pad.NapArrow {
			words = "nap"
		}
		p.arrowSomewhere(k, b, words, free)
	}
}

// arrowSomewhere draws the arrow at the right of the box, higher or lower, or shorter,
// where that is free.
func (p *pen) arrowSomewhere(k pad.Mark, b plane.Rect, words string, free *room) {
	for _, shorter := range []float64{1, 0.6, 0.35} {
		k := k
		middle := k.From.Lerp(k.To, 0.5)
		k.From, k.To = middle.Lerp(k.From, shorter), middle.Lerp(k.To, shorter)
		for _, up := range []float64{0, 0.2, -0.2, 0.3, -0.3} {
			for _, share := range []float64{0.33, 0.28, 0.24, 0.2, 0.15, 0.1, 0, -0.1, -0.2, -0.3} {
				if p.arrowAt(k, b.Centre().Add(plane.Vec{X: share * b.Width(), Y: up * b.Height()}).Sub(middle), words, free) {
					return
				}
			}
		}
	}
}

func (p *pen) arrowAt(k pad.Mark, shift plane.Vec, words string, free *room) bool {
	from, to := k.From.Add(shift), k.To.Add(shift)
	head := math.Min(4, 0.2*from.DistanceTo(to))
	t := Text{Words: words, Size: math.Min(3.5, 0.25*from.DistanceTo(to)), Angle: 90, Anchor: Middle, At: from.Lerp(to, 0.5).Add(plane.Vec{X: -1.4})}
	box := plane.RectFromPoints(from, to).Grow(0.4 * head).Union(t.Bounds()).Grow(1)
	if !free.free(box) {
		return false
	}
	middle := from.Lerp(to, 0.5)
	p.arrow(GrainLine, middle, to, head)
	if k.Kind == pad.GrainArrow {
		p.arrow(GrainLine, middle, from, head)
	} else {
		p.line(GrainLine, from, middle)
	}
	p.text(t)
	free.take(box)
	return true
}

// words writes heading and lines as one block, as large as there is room for, near
// the middle of the piece. Where there is none for all, less is said: the rest stands
// on the sheet beside it and on the cut sheet.
func (p *pen) words(name, heading string, lines []string, inner curve.Path, free *room) {
	b := inner.Bounds()
	for ; ; lines = lines[:len(lines)-1] {
		for size := partType(b); size >= leastPartType; size *= 0.88 {
			for _, share := range []float64{0.55, 0.45, 0.65, 0.35, 0.8, 0.25} {
				block := wordBlock(name, heading, lines, size, share*b.Width())
				if centre, ok := free.nearest(block.bounds(), b.Centre()); ok {
					for _, t := range block.scaled(1, centre) {
						p.text(t)
					}
					free.take(block.scaled(1, centre).bounds().Grow(1))
					return
				}
			}
		}
		if len(lines) == 0 {
			return
		}
	}
}

// wordBlock sets the heading over the lines, centred, as a block of that name, no wider than width where words
// allow.
func wordBlock(name, heading string, lines []string, size, width float64) textBlock {
	head := Text{Words: heading, Size: 1.5 * size, Bold: true, Anchor: Middle, Block: "words-" + name}
	body := Text{Size: 0.8 * size, Anchor: Middle, Block: "words-" + name}
	block := textBlock{head}
	y := -1.7 * size
	for _, l := range lines {
		for _, words := range wrap(body, width, l) {
			body.Words, body.At = words, at(0, y)
			block = append(block, body)
			y -= 1.1 * size
		}
	}
	return block
}

// nearest returns the place nearest to the wanted one for the middle of a free box of
// that size.
func (r *room) nearest(box plane.Rect, wanted plane.Point) (centre plane.Point, found bool) {
	half := plane.Vec{X: box.Width()/2 + 1, Y: box.Height()/2 + 1}
	best := math.Inf(1)
	const step = 4.0
	for x := r.busy.box.Min.X + half.X; x <= r.busy.box.Max.X-half.X; x += step {
		for y := r.busy.box.Min.Y + half.Y; y <= r.busy.box.Max.Y-half.Y; y += step {
			q := at(x, y)
			if d := q.DistanceTo(wanted); d < best && r.free(plane.Rect{Min: q.Add(half.Neg()), Max: q.Add(half)}) {
				best, centre, found = d, q, true
			}
		}
	}
	return centre, found
}
