package cutsheet

import (
	"fmt"

	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// picture is one piece as it is drawn on the cut sheet.
type picture struct {
	piece         pad.Piece
	width, height float64 // of the cut line, mm of the bench
	caption       []string
}

// Room beside a picture, mm of paper: the dimension at its left and the numbers.
const (
	dimension  = 5.0
	pictureGap = 3.0
)

// scales are the reductions that a ruler can undo.
var scales = []float64{3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100}

// pictures returns the pieces in rows, all at one scale: the largest at which the rows
// are no higher than the room. It returns the scale too, as 1 to so much.
func (f *flow) pictures(j Job, room float64) ([]block, float64) {
	var all []picture
	for _, piece := range j.Pad.Pieces {
		all = append(all, newPicture(piece))
	}
	for _, k := range scales {
		rows := f.rows(all, k)
		height := 0.0
		for _, row := range rows {
			height += rowHeight(row) + blockGap
		}
		if height <= room && f.holds(all, k) || k == scales[len(scales)-1] {
			var blocks []block
			for i, row := range rows {
				blocks = append(blocks, f.rowBlock(j, row, k, i == len(rows)-1))
			}
			return blocks, k
		}
	}
	return nil, 0
}

func newPicture(piece pad.Piece) picture {
	line := piece.CutLine
	if line.IsEmpty() {
		line = piece.FoamLine
	}
	b := line.Bounds()
	p := picture{piece: piece, width: b.Width(), height: b.Height()}
	count := fmt.Sprintf("cut %d", piece.Count)
	switch {
	case piece.Material == pad.FoamMaterial:
		count += ", as drawn"
	case piece.FoldLine != nil:
		count = "cut on the fold, once for each plate"
	case piece.Mirrored:
		count += ", mirrored, right side up"
	default:
		count += ", right side up"
	}
	p.caption = []string{piece.Name, count}
	if !piece.SeamLine.IsEmpty() {
		s := piece.SeamLine.Bounds()
		p.caption = append(p.caption, "sewn "+area(length.Length(s.Width()), length.Length(s.Height())))
	}
	return p
}

// cell returns the width that the picture takes, mm of paper.
func (p picture) cell(k float64) float64 {
	w := dimension + 2*p.side() + p.width/k
	for i, words := range p.caption {
		t := sheet.Text{Words: words, Size: benchType, Bold: i == 0}
		w = max(w, t.Width()+2)
	}
	t := sheet.Text{Words: twoSizes(length.Length(p.width)), Size: benchType}
	return max(w, dimension+t.Width()+2)
}

// holds reports whether every picture is narrower than the page.
func (f *flow) holds(all []picture, k float64) bool {
	for _, p := range all {
		if dimension+p.side()*2+p.width/k > f.width() {
			return false
		}
	}
	return true
}

// side returns the room beside the picture for the numbers of its marks, mm.
func (p picture) side() float64 {
	if p.piece.Material == pad.FoamMaterial {
		return 1.5
	}
	return sheet.SketchMargin
}

// stack is pictures below one another.
type stack struct {
	pictures      []picture
	width, height float64 // mm of paper
}

// rows parts the pictures into rows that are no wider than the page. Pictures that are
// lower than the first of their row stand below one another.
func (f *flow) rows(all []picture, k float64) [][]stack {
	var rows [][]stack
	used, tallest := 0.0, 0.0
	for _, p := range all {
		w, h := p.cell(k), p.tall(k)
		if n := len(rows); n > 0 {
			row := rows[n-1]
			if last := &row[len(row)-1]; last.height+h <= tallest && w <= last.width {
				last.pictures, last.height = append(last.pictures, p), last.height+h
				continue
			}
		}
		if len(rows) == 0 || used+pictureGap+w > f.width() {
			rows = append(rows, nil)
			used, tallest = -pictureGap, 0
		}
		used += pictureGap + w
		tallest = max(tallest, h)
		rows[len(rows)-1] = append(rows[len(rows)-1], stack{[]picture{p}, w, h})
	}
	return rows
}

// tall returns the height that the picture takes with its sizes and its caption, mm of
// paper.
func (p picture) tall(k float64) float64 {
	return dimension + 2*sheet.SketchMargin + p.height/k + linesHeight(benchType, len(p.caption))
}

func rowHeight(row []stack) float64 {
	tallest := 0.0
	for _, s := range row {
		tallest = max(tallest, s.height)
	}
	return tallest
}

// rowBlock draws a row of pictures: the backs in one line, sizes above and at the
// left, captions below.
func (f *flow) rowBlock(j Job, row []stack, k float64, scale bool) block {
	height := rowHeight(row)
	gap := 0.0
	if len(row) > 1 {
		gap = f.width()
		for _, s := range row {
			gap -= s.width
		}
		gap = min(gap/float64(len(row)-1), 14)
	}
	numbered, _ := sheet.Numbered(j.Pad)
	return block{height: height, draw: func(p *page, corner plane.Point) {
		x := corner.X
		for _, s := range row {
			y := corner.Y
			for _, pic := range s.pictures {
				var places []sheet.SeamPlace
				if pic.piece.Name == numbered.Name || pic.piece.Name == "Second plate" {
					places = sheet.SeamPlaces(numbered)
				}
				p.picture(pic, places, k, plane.Point{X: x, Y: y})
				y -= pic.tall(k)
			}
			x += s.width + gap
		}
		if scale {
			p.text(sheet.Text{Words: fmt.Sprintf("pictures 1 : %.0f", k), Size: cautionType, Anchor: sheet.End,
				At: plane.Point{X: corner.X + f.width(), Y: corner.Y - height + 0.2*benchType}})
		}
	}}
}

// picture draws one piece with its upper left corner at the point.
func (p *page) picture(pic picture, places []sheet.SeamPlace, k float64, corner plane.Point) {
	w, h := pic.width/k, pic.height/k
	left := corner.X + dimension + pic.side()
	top := corner.Y - dimension - sheet.SketchMargin
	p.items = append(p.items, sheet.PadSketch(pic.piece, places, 1/k, plane.Point{X: left, Y: top - h})...)
	p.across(plane.Point{X: left, Y: corner.Y - dimension}, w, twoSizes(length.Length(pic.width)))
	p.upright(plane.Point{X: corner.X + dimension, Y: top}, h, pic.height)
	t := sheet.Text{Size: benchType}
	foot := plane.Point{X: corner.X + 1, Y: top - h - sheet.SketchMargin}
	for i, words := range pic.caption {
		t.Bold = i == 0
		p.lines(t, foot.Add(plane.Vec{Y: -float64(i) * leading * benchType}), []string{words})
	}
}

// across draws a dimension over a picture: from the point to the right.
func (p *page) across(from plane.Point, w float64, words string) {
	to := from.Add(plane.Vec{X: w})
	p.dimensionLine(from, to)
	t := sheet.Text{Words: words, Size: benchType, Anchor: sheet.Middle, At: from.Lerp(to, 0.5).Add(plane.Vec{Y: 1})}
	if t.Width() > w { // the words are wider than the piece
		t.Anchor, t.At.X = sheet.Start, from.X-sheet.SketchMargin
	}
	p.text(t)
}

// upright draws a dimension at the left of a picture: from the point downward.
func (p *page) upright(from plane.Point, h, size float64) {
	to := from.Add(plane.Vec{Y: -h})
	p.dimensionLine(from, to)
	t := sheet.Text{Words: twoSizes(length.Length(size)), Size: benchType, Angle: 90, Anchor: sheet.Middle, At: from.Lerp(to, 0.5).Add(plane.Vec{X: -1})}
	if t.Width() > h {
		t.Words = fmt.Sprintf("%.0f mm", size)
	}
	p.text(t)
}

// dimensionLine draws a line with ticks at both ends.
func (p *page) dimensionLine(from, to plane.Point) {
	p.line(sheet.Thin, from, to)
	side := to.Sub(from).Unit().TurnLeft().Scale(1.2)
	for _, end := range []plane.Point{from, to} {
		p.line(sheet.Thin, end.Add(side), end.Add(side.Neg()))
	}
}
