package sheet

import (
	"fmt"
	"math"
	"strings"

	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// block is a small drawing that needs a place on a page: its lower left corner is
// the origin.
type block struct {
	pen
	width, height float64 // mm
}

// upright returns the block turned a quarter to the left.
func (b block) upright() block {
	turn := plane.Rigid{Sin: 1, Shift: plane.Vec{X: b.height}}
	out := block{width: b.height, height: b.width}
	for _, item := range b.items {
		out.items = append(out.items, moved(item, turn))
	}
	return out
}

// furnish draws the scale bar, the page's name, the map and what to do where the page
// is blank, or, when the drawing takes all of it, where no line passes.
func (p *tilePage) furnish(s Sheet) {
	p.putScaleBar()
	if b := p.nameBlock(); !p.putOne(b) {
		p.putAt(b, p.free.Min)
	}
	for _, size := range []float64{2.6, 2.2} {
		for _, width := range []float64{120, 90, 66, 48} {
			if p.putOne(p.notesBlock(s, width, size)) {
				return
			}
		}
	}
}

// blockClear is how far blocks keep from what is drawn, mm.
const blockClear = 1.0

func (p *tilePage) putOne(b block) bool {
	corner, found := p.busy.free(b.width+2*blockClear, b.height+2*blockClear)
	if found {
		p.putAt(b, corner.Add(plane.Vec{X: blockClear, Y: blockClear}))
	}
	return found
}

func (p *tilePage) putAt(b block, corner plane.Point) {
	for _, item := range b.items {
		p.items = append(p.items, moved(item, plane.RigidFromAngle(0, corner.Sub(at(0, 0)))))
	}
	p.busy.laterRect(plane.Rect{Min: corner, Max: corner.Add(plane.Vec{X: b.width, Y: b.height})})
}

// putScaleBar draws the first scale bar that finds a free place, long before short,
// lying before standing; or else the shortest in the lower left corner: a scale bar
// over lines is better than none.
func (p *tilePage) putScaleBar() {
	for l := 180.0; l >= 100; l -= 20 {
		w, h := pageBarSize(length.Length(l))
		for _, upright := range []bool{false, true} {
			if upright {
				w, h = h, w
			}
			corner, found := p.busy.free(w+2*blockClear, h+2*blockClear)
			if last := l < 120 && upright; !found && last {
				p.putAt(pageBar(length.Length(l)).upright(), p.free.Min)
			} else if found {
				b := pageBar(length.Length(l))
				if upright {
					b = b.upright()
				}
				p.putAt(b, corner.Add(plane.Vec{X: blockClear, Y: blockClear}))
				return
			}
		}
	}
}

// pageBarSize returns what a page's bar takes up, mm.
func pageBarSize(l length.Length) (width, height float64) { return l.Millimetres() + 3, 19 }

// pageBar returns a bar in millimetres over one in inches.
func pageBar(l length.Length) block {
	var b block
	b.width, b.height = pageBarSize(l)
	b.bar(millimetreBar("page-scale", at(1, 11.5), plane.Vec{X: 1}, l))
	inches := math.Floor(l.Inches())
	b.bar(bar{
		id: "page-scale-inches", from: at(1, 3.6), direction: plane.Vec{X: 1},
		length: (length.Length(inches) * length.Inch).Millimetres(), step: length.Inch.Millimetres() / 8, each: 8, size: 2,
		number: func(i int) string { return fmt.Sprint(i / 8) },
	})
	b.text(Text{At: at(1, 0.7), Size: 2.4, Words: fmt.Sprintf("Line to line %.1f mm above, %.0f in below. Print at 100 %%, no fit to page.", l.Millimetres(), inches)})
	return b
}

// nameBlock returns the page's name, its number and the map of all pages.
func (p *tilePage) nameBlock() block {
	b := block{height: 16}
	t := p.plan.Tiles[p.index]
	name := Text{At: at(1, 7), Size: 9, Bold: true, Words: t.Name()}
	b.text(name)
	b.text(Text{At: at(1, 2), Size: 2.6, Words: fmt.Sprintf("page %d of %d", p.index+1, len(p.plan.Tiles))})
	left := math.Max(20, name.Width()+4)
	b.width = left + p.plan.picture(&b.pen, plane.Rect{Min: at(left, 1), Max: at(left+30, 15)}, p.index)
	return b
}

// picture draws the pages as little boxes, page number here filled (none when it is
// negative), as large as fits into the box. It returns the width that it needs.
func (p Plan) picture(pen *pen, box plane.Rect, here int) float64 {
	small, width := p.small(box)
	for i, t := range p.Tiles {
		r := plane.RectFromPoints(small(t.Shows.Min), small(t.Shows.Max))
		if i == here {
			pen.area("", grey, rectangle(r))
		}
		pen.box(Thin, r)
	}
	return width
}

// small returns the map from the whole drawing into the box, lower left corner to
// lower left corner, and the width of the picture.
func (p Plan) small(box plane.Rect) (picture func(plane.Point) plane.Point, width float64) {
	all := p.bounds()
	scale := math.Min(box.Width()/all.Width(), box.Height()/all.Height())
	return func(q plane.Point) plane.Point { return box.Min.Add(q.Sub(all.Min).Scale(scale)) }, scale * all.Width()
}

func (p Plan) bounds() plane.Rect {
	all := plane.EmptyRect()
	for _, t := range p.Tiles {
		all = all.Union(t.Shows)
	}
	return all
}

// notesBlock returns what the page belongs to and how to join it.
func (p *tilePage) notesBlock(s Sheet, width, size float64) block {
	note := Text{Size: size}
	lines := atMost(2, wrap(note, width, s.Title))
	lines = append(lines, atMost(4, wrap(note, width, strings.Join(s.Notes, " ")))...)
	lines = append(lines, wrap(note, width, "Cut along the thin solid line at the left and at the top, lay the edge on the dashed line: "+
		"the fine line must run between its two neighbours.")...)
	if p.plan.Tiles[p.index].Turned {
		lines = append(lines, "This page lies on its side.")
	}
	lines = append(lines, atMost(2, wrap(note, width, "Pages: "+p.plan.pageList()))...)
	b := block{width: width, height: 1.3 * size * float64(len(lines))}
	note.At = at(0, b.height-size)
	b.paragraph(note, 1.3*size, lines...)
	return b
}

// pageList names the pages: "A1 A2 B1".
func (p Plan) pageList() string {
	names := make([]string, len(p.Tiles))
	for i, t := range p.Tiles {
		names[i] = t.Name()
	}
	return strings.Join(names, " ")
}

// atMost returns the first n lines, with dots where more are left out.
func atMost(n int, lines []string) []string {
	if len(lines) > n {
		lines = append(lines[:n-1:n-1], lines[n-1]+" ...")
	}
	return lines
}
