package sheet

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// page returns page number i of the filled tiles: the drawing, the marks that join
// it to its neighbours, and the strip at its foot.
//
//	+---------------+    Two neighbours show the same overlap. The right and the
//	|         :     |    lower page is cut along its left or upper border and laid
//	|    A1   :<>   |    on the dashed line of the other; the diamonds on the line
//	|         :     |    then complete one another.
//	|.........:.....|
//	+---------------+
//	 100 mm   A1   map
func (g grid) page(s Sheet, tiles []tile, i int) Sheet {
	t := tiles[i]
	window := g.window(t.row, t.col)
	toPage := at(g.margin, g.margin+pageStrip).Sub(window.Min)
	p := &pen{}
	for _, item := range t.drawing {
		p.items = append(p.items, moved(item, toPage))
	}
	onPage := plane.Rect{Min: window.Min.Add(toPage), Max: window.Max.Add(toPage)}
	g.joins(p, tiles, t, onPage)
	g.foot(p, s, tiles, i)
	return Sheet{
		Width: g.paper.Width, Height: g.paper.Height,
		Title: fmt.Sprintf("%s, page %s", s.Title, t.name()), Items: p.items,
	}
}

func moved(item Item, by plane.Vec) Item {
	move := func(q plane.Point) plane.Point { return q.Add(by) }
	switch item := item.(type) {
	case Stroke:
		item.Path = item.Path.Map(move)
		return item
	case Area:
		paths := make([]curve.Path, len(item.Paths))
		for i, p := range item.Paths {
			paths[i] = p.Map(move)
		}
		item.Paths = paths
		return item
	case Text:
		item.At = move(item.At)
		return item
	}
	return item
}

// joins draws the border of the page's window and a mark for each neighbour.
func (g grid) joins(p *pen, tiles []tile, t tile, w plane.Rect) {
	p.box(Thin, w)
	middle := w.Centre()
	has := func(row, col int) bool {
		for _, n := range tiles {
			if n.row == row && n.col == col {
				return true
			}
		}
		return false
	}
	if has(t.row, t.col-1) {
		p.joinMark(at(w.Min.X, middle.Y), plane.Vec{X: 1}, tileName(t.row, t.col-1), t.name())
	}
	if has(t.row-1, t.col) {
		p.joinMark(at(middle.X, w.Max.Y), plane.Vec{Y: -1}, tileName(t.row-1, t.col), t.name())
	}
	if has(t.row, t.col+1) {
		x := w.Max.X - g.overlap
		p.line(JoinLine, at(x, w.Min.Y), at(x, w.Max.Y))
		p.joinMark(at(x, middle.Y), plane.Vec{X: -1}, t.name(), tileName(t.row, t.col+1))
	}
	if has(t.row+1, t.col) {
		y := w.Min.Y + g.overlap
		p.line(JoinLine, at(w.Min.X, y), at(w.Max.X, y))
		p.joinMark(at(middle.X, y), plane.Vec{Y: 1}, t.name(), tileName(t.row+1, t.col))
	}
}

// diamond is half the width of a join mark, mm.
const diamond = 4.0

// joinMark draws a diamond on the join, with the names of both pages on the side
// that stays in sight.
func (p *pen) joinMark(place plane.Point, inSight plane.Vec, first, second string) {
	p.stroke("", Thin, curve.Polygon(
		place.Add(plane.Vec{X: diamond}), place.Add(plane.Vec{Y: diamond}),
		place.Add(plane.Vec{X: -diamond}), place.Add(plane.Vec{Y: -diamond})))
	label := Text{At: place.Add(inSight.Scale(diamond + 1.2)), Words: first + "-" + second, Size: 3}
	switch {
	case inSight.X > 0:
		label.Anchor = Start
	case inSight.X < 0:
		label.Anchor = End
	default:
		label.Anchor = Middle
	}
	label.At.Y -= 1 + math.Max(-inSight.Y, 0)*1.2
	p.text(label)
}

// foot draws the scale bar, the page's name and the little map.
func (g grid) foot(p *pen, s Sheet, tiles []tile, i int) {
	t := tiles[i]
	left, base := g.margin, g.margin
	b := millimetreBar("page-scale-100mm", at(left+0.5, base+4.4), plane.Vec{X: 1}, CheckBar)
	p.bar(b)
	p.text(Text{At: at(left+0.5, base+0.8), Size: 2.6, Words: "100.0 mm from line to line. Print at 100 %, no fit to page."})
	x := left + CheckBar.Millimetres() + 7
	p.text(Text{At: at(x, base+8.2), Size: 8, Bold: true, Words: t.name()})
	p.text(Text{At: at(x, base+3.8), Size: 2.6, Words: fmt.Sprintf("page %d of %d", i+1, len(tiles))})
	mapWidth := g.smallMap(p, tiles, t, at(g.margin+g.width, base))
	room := g.margin + g.width - mapWidth - 4 - (x + 24)
	note := Text{At: at(x+24, base+11.4), Size: 2.6}
	lines := atMost(2, wrap(note, room, s.Title))
	lines = append(lines, atMost(4-len(lines), wrap(note, room, "Pages: "+pageList(tiles)))...)
	p.paragraph(note, 3.4, lines...)
	p.text(Text{At: at(x, base+0.8), Size: 2.6, Words: "Cut at left and top, lay on the dashed line."})
}

// atMost returns the first n lines, with dots where more are left out.
func atMost(n int, lines []string) []string {
	if len(lines) > n {
		lines = append(lines[:n-1:n-1], lines[n-1]+" ...")
	}
	return lines
}

// smallMap draws the pages as little boxes, this one filled, with its lower right
// corner at the point, and returns its width.
func (g grid) smallMap(p *pen, tiles []tile, here tile, corner plane.Point) float64 {
	cell := math.Min(5, math.Min((pageStrip-3)/float64(g.rows), 30/float64(g.cols)))
	tall := cell * g.height / g.width
	if tall*float64(g.rows) > pageStrip-3 {
		tall = (pageStrip - 3) / float64(g.rows)
		cell = tall * g.width / g.height
	}
	width := cell * float64(g.cols)
	for _, t := range tiles {
		lower := at(corner.X-width+float64(t.col)*cell, corner.Y+float64(g.rows-1-t.row)*tall)
		box := plane.Rect{Min: lower, Max: lower.Add(plane.Vec{X: cell, Y: tall})}
		if t.row == here.row && t.col == here.col {
			p.area("", grey, rectangle(box))
		}
		p.box(Thin, box)
	}
	return width
}
