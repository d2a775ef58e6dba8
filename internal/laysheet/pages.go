package laysheet

import (
	"fmt"
	"time"

	"fairedge/internal/cloth"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// Heading is what every page says of the job.
type Heading struct {
	Job     string
	Date    time.Time
	Program string
	Paper   sheet.Paper // zero: A4
}

// Sizes of type and paper, mm.
const (
	margin     = 10.0
	headHeight = 13.0
	body       = 2.7
	leastType  = 1.7 // smaller cannot be read on the bench
	leftRoom   = 12.0
	footRoom   = 11.0
	gapToWords = 9.0
	leastWords = 48.0
)

// Pages returns the lay on pages: pictures of the cloth, the list of places to chalk, and
// the foam sheets. Nothing laid gives no pages.
func Pages(laid *cloth.Laid, foam []*cloth.FoamLaid, h Heading) []sheet.Sheet {
	if h.Paper.Width == 0 || h.Paper.Height == 0 {
		h.Paper = sheet.A4()
	}
	var all []sheet.Sheet
	if laid != nil && len(laid.Pieces) > 0 {
		all = append(all, clothPages(laid, h)...)
		all = append(all, chalkPages(laid, h)...)
	}
	for _, f := range foam {
		all = append(all, foamPages(f, h)...)
	}
	for i := range all {
		all[i] = numbered(all[i], i+1, len(all), h)
	}
	return all
}

// Picture returns the first page of the cloth's picture alone.
func Picture(laid *cloth.Laid, h Heading) (sheet.Sheet, bool) {
	all := Pages(laid, nil, h)
	if len(all) == 0 {
		return sheet.Sheet{}, false
	}
	return all[0], true
}

// page is a page with its free box.
type page struct {
	pen
	h     Heading
	free  plane.Rect
	title string
}

func newPage(h Heading, title, aside string) *page {
	p := &page{h: h, title: title}
	p.free = plane.Rect{Max: at(h.Paper.Width.Millimetres(), h.Paper.Height.Millimetres())}.Grow(-margin)
	job := h.Job
	if job == "" {
		job = "Seat pads"
	}
	top := p.free.Max.Y
	head, _ := smaller(sheet.Text{At: at(p.free.Min.X, top-4.5), Words: job + ": " + title, Size: 5, Bold: true}, p.free.Width(), 0)
	p.text(head)
	p.text(sheet.Text{At: at(p.free.Min.X, top-9.5), Words: aside, Size: body})
	p.line(sheet.ScaleLine, at(p.free.Min.X, top-11.5), at(p.free.Max.X, top-11.5))
	p.free.Max.Y -= headHeight
	p.free.Min.Y += 4
	return p
}

func (p *page) sheet() sheet.Sheet {
	title := p.title
	if p.h.Job != "" {
		title = p.h.Job + ": " + title
	}
	return sheet.Sheet{Width: p.h.Paper.Width, Height: p.h.Paper.Height, Title: title, Items: p.items}
}

// numbered adds the line at the foot.
func numbered(s sheet.Sheet, page, pages int, h Heading) sheet.Sheet {
	words := fmt.Sprintf("Page %d of %d", page, pages)
	left := h.Program
	if !h.Date.IsZero() {
		if left != "" {
			left += ", "
		}
		left += h.Date.Format("2 January 2006")
	}
	s.Items = append(s.Items,
		sheet.Text{At: at(s.Width.Millimetres()-margin, margin), Words: words, Size: 2.4, Anchor: sheet.End})
	if left != "" {
		s.Items = append(s.Items, sheet.Text{At: at(margin, margin), Words: left, Size: 2.4})
	}
	return s
}

// scaleFor returns the largest scale 1:n of the usual ones at which a size fits.
func scaleFor(size, room float64) float64 {
	for _, n := range []float64{1, 2, 2.5, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80} {
		if size/n <= room {
			return n
		}
	}
	return 100
}

func scaleWords(n float64) string { return fmt.Sprintf("Scale 1 : %g", n) }

// both says a length in mm and inches, for the tape.
func both(l length.Length) string {
	return fmt.Sprintf("%.0f mm (%s)", whole(l.Millimetres()), l.Imperial())
}
