package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fairedge/internal/plane"
)

// padKeyPage is the page to read first: the job, what lines and marks mean, squares to
// measure, and how the pages of each part join.
func padKeyPage(runs []padRun, parts []PadPart, label Label, how PadPrinting) Sheet {
	paper := how.Paper
	if paper.Height == 0 {
		paper.Height = rollKeyPage
	}
	free := plane.Rect{Max: at(paper.Width.Millimetres(), paper.Height.Millimetres())}.Grow(-how.Tiling.Margin.Millimetres())
	legend := legendRows(parts)
	rows := (len(legend) + 1) / 2
	legendTop := free.Min.Y + squaresTall + 4 + keyRow*float64(rows)
	page := &pen{}
	s := padKeyWords(runs, label, 0.97*free.Width(), free.Max.Y-legendTop)
	s.drawWords(page, at(free.Min.X, free.Max.Y))
	for i, row := range legend {
		row(page, at(free.Min.X+float64(i/rows)*free.Width()/2, legendTop-keyRow*float64(i%rows+1)))
	}
	page.checkSquares(free.Min)
	padPlans(page, runs, plane.Rect{Min: at(free.Min.X+squaresWide+4, free.Min.Y), Max: at(free.Max.X, free.Min.Y+squaresTall)})
	return Sheet{Width: paper.Width, Height: paper.Height, Title: label.title() + ", read this first", Items: page.items}
}

// padKeyWords sets the words in the largest type that fits the height.
func padKeyWords(runs []padRun, label Label, width, height float64) strip {
	for size := bodySize; ; size -= 0.2 {
		s := strip{size: size}
		job := label.Job
		if job == "" {
			job = "Seat pad"
		}
		s.heading = wrap(s.headingText(), width, job)
		sentences := label.sentences(nil)
		for _, r := range runs {
			if r.check != "" {
				sentences = append(sentences, runName(r)+": "+lowerFirst(r.check))
			}
		}
		for _, sentence := range sentences {
			s.body = append(s.body, wrap(s.bodyText(), width, sentence)...)
		}
		if size <= smallestBody || s.wordsHeight() <= height {
			return s
		}
	}
}

// runName names the part and its pages: "Top plate (A1 to B3)".
func runName(r padRun) string {
	first, last := r.plan.Tiles[0].Name(), r.plan.Tiles[len(r.plan.Tiles)-1].Name()
	if first == last {
		return fmt.Sprintf("%s (%s)", partName(r.drawing.Title), first)
	}
	return fmt.Sprintf("%s (%s to %s)", partName(r.drawing.Title), first, last)
}

// partName takes the job off a title.
func partName(title string) string {
	if i := strings.LastIndex(title, ": "); i >= 0 {
		return title[i+2:]
	}
	return title
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// keyRow is the height of a row of the first page's legend, mm.
const keyRow = 5.6

// legendRows returns how each line and mark of the parts is explained.
func legendRows(parts []PadPart) []func(p *pen, corner plane.Point) {
	const size = 2.9
	var rows []func(p *pen, corner plane.Point)
	var roles []Role
	kinds := parts[0].kinds[:0:0]
	for _, part := range parts {
		for _, r := range part.roles {
			if !slices.Contains(roles, r) {
				roles = append(roles, r)
			}
		}
		for _, k := range part.kinds {
			if !slices.Contains(kinds, k) && MarkMeaning(k) != "" {
				kinds = append(kinds, k)
			}
		}
	}
	words := func(p *pen, corner plane.Point, says string) {
		p.text(Text{At: corner.Add(plane.Vec{X: 23}), Words: says, Size: size})
	}
	for _, r := range roles {
		rows = append(rows, func(p *pen, corner plane.Point) {
			p.line(r, corner.Add(plane.Vec{Y: 0.35 * size}), corner.Add(plane.Vec{X: 20, Y: 0.35 * size}))
			words(p, corner, r.String())
		})
	}
	for _, k := range kinds {
		rows = append(rows, func(p *pen, corner plane.Point) {
			p.markSample(k, corner.Add(plane.Vec{X: 10, Y: 0.2 * size}))
			words(p, corner, MarkMeaning(k))
		})
	}
	return rows
}

// padPlans draws how the pages of each part join, one under the other in two columns.
func padPlans(page *pen, runs []padRun, box plane.Rect) {
	page.text(Text{At: at(box.Min.X, box.Max.Y-4), Words: "How the pages join", Size: bodySize, Bold: true})
	box.Max.Y -= 8
	columns := 1
	if len(runs) > 3 {
		columns = 2
	}
	rows := (len(runs) + columns - 1) / columns
	w, h := box.Width()/float64(columns), box.Height()/float64(rows)
	for i, r := range runs {
		corner := at(box.Min.X+w*float64(i%columns), box.Max.Y-h*float64(i/columns+1))
		title := wrap(Text{Size: 2.6}, w-2, runName(r))
		page.paragraph(Text{At: corner.Add(plane.Vec{Y: h - 3.2}), Size: 2.6}, 3.2, atMost(2, title)...)
		top := 4 + 3.2*float64(min(2, len(title)))
		r.plan.smallPlan(page, r.drawing, plane.Rect{Min: corner.Add(plane.Vec{Y: 1}), Max: corner.Add(plane.Vec{X: w - 3, Y: h - top})})
	}
}

// smallPlan draws the pages with their names and the outlines small, inside the box.
func (p Plan) smallPlan(page *pen, drawing Sheet, box plane.Rect) {
	all := p.bounds()
	scale := math.Min(box.Width()/all.Width(), box.Height()/all.Height())
	box.Min.Y = box.Max.Y - scale*all.Height() // hang it from the top
	small, _ := p.small(box)
	p.picture(page, box, -1)
	for _, t := range p.Tiles {
		cell := plane.RectFromPoints(small(t.Shows.Min), small(t.Shows.Max))
		size := math.Min(4, math.Min(0.34*cell.Width(), 0.7*cell.Height()))
		page.text(Text{At: cell.Centre().Add(plane.Vec{Y: -0.35 * size}), Words: t.Name(), Size: size, Anchor: Middle})
	}
	for _, item := range drawing.Items {
		if s, ok := item.(Stroke); ok && (s.Role == CutLine || s.Role == FoamOutline) {
			page.stroke("", ScaleTick, s.Path.Map(small))
		}
	}
}
