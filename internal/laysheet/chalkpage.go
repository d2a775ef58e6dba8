package laysheet

import (
	"fmt"

	"fairedge/internal/cloth"
	"fairedge/internal/length"
	"fairedge/internal/sheet"
)

// row is one line of the list of places: one piece, or several strips side by side.
type row struct {
	number, name, lies string
	first, second      cloth.Chalk
}

// chalkPages lists where every piece is chalked.
func chalkPages(laid *cloth.Laid, h Heading) []sheet.Sheet {
	rows := rowsOf(laid)
	var all []sheet.Sheet
	for len(rows) > 0 || len(all) == 0 {
		title := "places to chalk"
		if len(all) > 0 {
			title += ", continued"
		}
		p := newPage(h, title, "Up: from the squared line at the start. In: from the outer edge of the left selvedge. Millimetres over inches.")
		fits := int((p.free.Height() - 10) / rowHeight)
		n := min(fits, len(rows))
		p.drawRows(rows[:n])
		rows = rows[n:]
		all = append(all, p.sheet())
	}
	return all
}

// rowsOf returns the list; strips of one part that lie side by side share a row.
func rowsOf(laid *cloth.Laid) []row {
	var rows []row
	for i := 0; i < len(laid.Pieces); {
		p := laid.Pieces[i]
		part := laid.Parts[p.Part]
		j, step, up := runOf(laid, i)
		r := row{number: fmt.Sprint(p.Number), name: copyName(part, p), lies: p.Turn, first: p.First, second: p.Second}
		if part.Strip {
			r.name += fmt.Sprintf(", %.0f x %.1f mm", part.Length.Millimetres(), part.Width.Millimetres())
		}
		if j > i+1 {
			r.number = fmt.Sprintf("%d-%d", p.Number, laid.Pieces[j-1].Number)
			r.name = fmt.Sprintf("%d x %s, %.0f x %.1f mm", j-i, part.Name, part.Length.Millimetres(), part.Width.Millimetres())
			r.lies += fmt.Sprintf(", each %.1f mm further in", step.Millimetres())
			if up {
				r.lies = fmt.Sprintf("%s, each %.1f mm further up", p.Turn, step.Millimetres())
			}
		}
		if p.Folded {
			r.lies += ", double"
			if p.SpareTwin {
				r.lies += " (one layer)"
			} else if p.Twin != p.Part {
				r.name += " with " + laid.Parts[p.Twin].Name
			}
		}
		rows = append(rows, r)
		i = j
	}
	return rows
}

// follows reports whether strip b lies beside strip a at the same height, or over it at the
// same side, and how far further.
func follows(laid *cloth.Laid, a, b cloth.Placed) (step length.Length, along, ok bool) {
	const near = length.Millimetre / 10
	if a.Part != b.Part || a.Folded != b.Folded || a.SpareTwin != b.SpareTwin || a.Degrees != b.Degrees {
		return 0, false, false
	}
	most := laid.Parts[a.Part].Width + laid.Cloth.Gap + near
	in, up := b.First.Across-a.First.Across, b.First.Along-a.First.Along
	switch {
	case in.Abs() < near && up > 0 && up < most:
		return up, true, true
	case up.Abs() < near && in > 0 && in < most:
		return in, false, true
	}
	return 0, false, false
}

// runOf returns the end of the run of like strips at equal steps that starts with piece i.
func runOf(laid *cloth.Laid, i int) (end int, step length.Length, along bool) {
	part := laid.Parts[laid.Pieces[i].Part]
	end = i + 1
	if !part.Strip || part.Bias {
		return end, 0, false
	}
	for ; end < len(laid.Pieces); end++ {
		s, up, ok := follows(laid, laid.Pieces[end-1], laid.Pieces[end])
		if !ok || end > i+1 && ((s-step).Abs() > length.Millimetre/10 || up != along) {
			break
		}
		step, along = s, up
	}
	return end, step, along
}

// rowHeight is the height of a row, mm: two lines.
const rowHeight = 7.2

// columns are where they start, as shares of the width: number, piece, how it lies, first
// point and its places, second point and its places.
func columns() []float64 { return []float64{0, 0.06, 0.36, 0.52, 0.64, 0.73, 0.82, 0.91} }

func (p *page) drawRows(rows []row) {
	heads := []string{"No.", "Piece", "Lies", "Points", "first: up", "in", "second: up", "in"}
	y := p.free.Max.Y - 4
	x := func(i int) float64 { return p.free.Min.X + columns()[i]*p.free.Width() }
	for i, words := range heads {
		p.text(sheet.Text{At: at(x(i), y), Words: words, Size: 2.4, Bold: true})
	}
	y -= 2
	for _, r := range rows {
		p.line(sheet.ScaleTick, at(p.free.Min.X, y), at(p.free.Max.X, y))
		p.drawRow(r, y, x)
		y -= rowHeight
	}
	p.line(sheet.ScaleTick, at(p.free.Min.X, y), at(p.free.Max.X, y))
}

func (p *page) drawRow(r row, y float64, x func(int) float64) {
	p.text(sheet.Text{At: at(x(0), y-4.6), Words: r.number, Size: 3, Bold: true})
	p.lines(x(1), y, x(2)-x(1)-1.5, r.name)
	p.lines(x(2), y, x(3)-x(2)-1.5, r.lies)
	for i, c := range []cloth.Chalk{r.first, r.second} {
		t, _ := smaller(sheet.Text{At: at(x(3), y-2.9-3*float64(i)), Words: c.Point, Size: 2}, x(4)-x(3)-1, 0)
		p.text(t)
	}
	for i, l := range []length.Length{r.first.Along, r.first.Across, r.second.Along, r.second.Across} {
		p.text(sheet.Text{At: at(x(4+i), y-2.9), Words: fmt.Sprintf("%.0f mm", whole(l.Millimetres())), Size: 2.5})
		p.text(sheet.Text{At: at(x(4+i), y-5.9), Words: l.Imperial(), Size: 2.3})
	}
}

// lines writes words in at most two lines.
func (p *page) lines(x, y, width float64, words string) {
	t := sheet.Text{Size: 2.4}
	all := t.Wrapped(width, words)
	for len(all) > 2 && t.Size > 1.6 {
		t.Size -= 0.1
		all = t.Wrapped(width, words)
	}
	for i, line := range all {
		if i < 2 {
			p.text(sheet.Text{At: at(x, y-2.9-3*float64(i)), Words: line, Size: t.Size})
		}
	}
}
