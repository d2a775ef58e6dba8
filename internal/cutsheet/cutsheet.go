package cutsheet

import (
	"fmt"
	"slices"
	"strings"

	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// Sheets returns the pages of the cut sheet: one where everything fits, else what is
// to be cut and checked on the first and the order of work on those that follow.
func Sheets(j Job, paper sheet.Paper) []sheet.Sheet {
	f := &flow{paper: paper}
	head := f.head(j)
	list := f.section(func() { f.add(f.lineMeanings(j)); f.strips(j); f.takeOff(j) })
	checks := f.section(func() { f.checks(j); f.add(f.cautions(j)) })
	lay := f.section(func() { f.lay(j) })
	work := f.section(func() { f.order(j); f.places(j); f.bandMarks(j) })
	room := f.height() - head.height - blockGap - tall(list)
	pictures, scale := f.pictures(j, room-tall(checks))
	if larger, k := f.pictures(j, room); scale > smallPictures && k < scale {
		f.blocks = slices.Concat([]block{head}, larger, list, lay, work, checks)
	} else {
		f.blocks = slices.Concat([]block{head}, pictures, list, checks, lay, work)
	}
	return f.sheets(j.title(), j.foot())
}

// smallPictures is the reduction beyond which the checks leave the first page to the
// pictures: at 1 : 12 a seat is 35 mm wide.
const smallPictures = 12.0

// section returns the blocks that f adds.
func (f *flow) section(add func()) []block {
	f.blocks = nil
	add()
	return f.blocks
}

// tall returns the height of the blocks, each with its gap.
func tall(blocks []block) float64 {
	sum := 0.0
	for _, b := range blocks {
		sum += b.height + blockGap
	}
	return sum
}

func (j Job) title() string {
	if j.Name == "" {
		return "Cut sheet"
	}
	return j.Name + ": cut sheet"
}

func (j Job) foot() string {
	var parts []string
	if j.Name != "" {
		parts = append(parts, j.Name)
	}
	if !j.Date.IsZero() {
		parts = append(parts, j.Date.Format("2 January 2006"))
	}
	if j.Program != "" {
		parts = append(parts, j.Program)
	}
	return strings.Join(parts, ", ")
}

// head returns whose pad it is, what kind, how many and for what seat.
func (f *flow) head(j Job) block {
	name := j.Name
	if name == "" {
		name = "Cut sheet"
	}
	pads := "1 pad"
	if j.Pads > 1 {
		pads = fmt.Sprintf("%d pads alike: counts in the pictures are for one, the list to buy is for all", j.Pads)
	}
	sentences := []string{
		fmt.Sprintf("%s, %s.", j.Pad.Recipe.Title, pads),
		fmt.Sprintf("Seat %s wide, %s deep. Seam allowance %s; cut line %s outside the template.", j.Seat.Width, j.Seat.Depth, j.Pad.Recipe.Plate.Seam, j.Pad.CutOutside),
	}
	if j.Accuracy != "" {
		sentences = append(sentences, j.Accuracy)
	}
	sentences = append(sentences, j.Said...)
	t := sheet.Text{Size: benchType}
	var lines []string
	for _, s := range sentences {
		lines = append(lines, t.Wrapped(f.width(), s)...)
	}
	const nameType = 6.5
	return block{height: 1.2*nameType + linesHeight(benchType, len(lines)), draw: func(p *page, corner plane.Point) {
		p.text(sheet.Text{Words: name, Size: nameType, Bold: true, At: corner.Add(plane.Vec{Y: -0.8 * nameType})})
		p.lines(t, corner.Add(plane.Vec{Y: -1.2 * nameType}), lines)
	}}
}

// lineMeanings shows a sample of each line with what it is.
func (f *flow) lineMeanings(j Job) block {
	roles := []sheet.Role{sheet.CutLine, sheet.SeamLine, sheet.FoamOutline}
	return block{height: benchType * 1.5, draw: func(p *page, corner plane.Point) {
		y := corner.Y - 0.75*benchType
		x := corner.X
		for _, r := range roles {
			p.line(r, plane.Point{X: x, Y: y}, plane.Point{X: x + 22, Y: y})
			t := sheet.Text{Words: r.String(), Size: benchType, At: plane.Point{X: x + 25, Y: y - 0.35*benchType}}
			p.text(t)
			x += f.width() / float64(len(roles))
		}
	}}
}

// strips lists the strips with their sizes.
func (f *flow) strips(j Job) {
	if len(j.Pad.Strips) == 0 {
		return
	}
	f.add(f.heading("Strips: mark them out by these sizes (length x width)"))
	for _, s := range j.Pad.Strips {
		cut := "straight"
		if s.Cut == pad.Bias {
			cut = "on the bias"
		}
		size := fmt.Sprintf("%s x %s", twoSizes(s.Length), twoSizes(s.Width))
		name := sheet.Text{Words: fmt.Sprintf("%s: cut %d", s.Name, s.Count), Size: benchType, Bold: true}
		body := sheet.Text{Size: benchType}
		words := body.Wrapped(f.width()-4, strings.Join(s.Words, " "))
		f.add(block{height: linesHeight(benchType, 1+len(words)), draw: func(p *page, corner plane.Point) {
			name.At = corner.Add(plane.Vec{Y: -0.82 * benchType})
			p.text(name)
			size := sheet.Text{Words: size + ", " + cut, Size: benchType, Anchor: sheet.End, At: name.At.Add(plane.Vec{X: f.width()})}
			p.text(size)
			p.lines(body, corner.Add(plane.Vec{X: 4, Y: -leading * benchType}), words)
		}})
	}
}

// takeOff lists what to buy.
func (f *flow) takeOff(j Job) {
	title := "To buy and cut"
	if j.Pads > 1 {
		title = fmt.Sprintf("To buy and cut for %d pads", j.Pads)
	}
	f.add(f.heading(title))
	var rows []row
	for _, n := range j.Needs {
		rows = append(rows, row{"", needWords(n)})
	}
	f.add(f.columns(rows))
}

// needWords says one line of the take-off.
func needWords(n pad.Need) string {
	switch n.Kind {
	case pad.ClothPieces, pad.WrapNeed:
		return fmt.Sprintf("%s: %d of %s", n.Item, n.Count, area(n.Width, n.Length))
	case pad.ClothStrips:
		bias := ""
		if n.Bias {
			bias = ", bias"
		}
		return fmt.Sprintf("%s: %d of %s%s", n.Item, n.Count, area(n.Length, n.Width), bias)
	case pad.FoamBlanks:
		return fmt.Sprintf("%s: %d of %s, %s thick, %.2f kg in all", n.Item, n.Count, area(n.Width, n.Length), n.Thick, n.MassKg)
	case pad.CordNeed, pad.ThreadNeed, pad.TapeNeed:
		return fmt.Sprintf("%s: %.1f m (%.1f yd)", n.Item, n.Length.Millimetres()/1000, float64(n.Length/length.Yard))
	case pad.ZipNeed:
		return fmt.Sprintf("%s: %d of %s; %s", n.Item, n.Count, n.Length, n.Note)
	}
	return fmt.Sprintf("%s: %d", n.Item, n.Count)
}

// area returns two sizes across and along in both units.
func area(w, d length.Length) string {
	return fmt.Sprintf("%.0f x %.0f mm (%s x %s)", w.Millimetres(), d.Millimetres(), strings.TrimSuffix(w.Imperial(), " in"), d.Imperial())
}

// lay places the drawing of the lay on the cloth.
func (f *flow) lay(j Job) {
	if j.Lay == nil {
		return
	}
	l := *j.Lay
	f.add(f.heading(l.Title))
	f.add(block{height: l.Height, keep: len(l.Words) > 0, draw: func(p *page, corner plane.Point) {
		by := corner.Add(plane.Vec{Y: -l.Height}).Sub(plane.Point{})
		for _, item := range l.Items {
			p.items = append(p.items, sheet.Moved(item, by))
		}
	}})
	for _, w := range l.Words {
		f.add(f.paragraph("", w))
	}
}

// order tells the order of work.
func (f *flow) order(j Job) {
	h := f.heading("Order of work")
	h.turns = true
	f.add(h)
	for i, step := range j.Pad.Order {
		f.add(f.paragraph(fmt.Sprint(i+1), step))
	}
}

// checks are the boxes to tick before cutting, and the questions.
func (f *flow) checks(j Job) {
	f.add(f.heading("Before cutting"))
	for _, q := range j.Pad.Questions {
		f.add(f.paragraph("?", strings.ToUpper(q[:1])+ended(q[1:])))
	}
	for _, c := range j.checkList() {
		f.add(f.paragraph("box", c))
	}
}

// ended returns the words as a sentence with its stop.
func ended(words string) string {
	if strings.HasSuffix(words, "?") || strings.HasSuffix(words, ".") {
		return words
	}
	return words + "."
}

func (j Job) checkList() []string {
	r := j.Pad.Recipe
	all := []string{
		fmt.Sprintf("A tape on the template reads %s across and %s from back to front.", j.Seat.Width, j.Seat.Depth),
		"The square on the first printed page reads 100.0 mm both ways; every page's bar reads its length.",
		fmt.Sprintf("The cloth is %s wide, of which %s is lost at each selvedge; grain arrows lie along the selvedge.", r.Cloth.Width, r.Cloth.Selvedge),
	}
	switch r.Cloth.Nap {
	case pad.NapToFront:
		all = append(all, "The pile strokes smooth from back to front on every piece.")
	case pad.NapToBack:
		all = append(all, "The pile strokes smooth from front to back on every piece.")
	}
	if r.Style == pad.KnifeEdge || r.Style == pad.Boxed {
		all = append(all, "The second plate is the mirror image: right sides together, one tick lies on one, two on two.")
	}
	return all
}

// cautions returns the words of care in a box.
func (f *flow) cautions(j Job) block {
	const inset = 2.0
	t := sheet.Text{Size: cautionType}
	lines := t.Wrapped(f.width()-2*inset, strings.Join(j.Pad.Cautions, " "))
	height := linesHeight(cautionType, len(lines)) + 2*inset
	return block{height: height, draw: func(p *page, corner plane.Point) {
		p.box(sheet.Notch, plane.Rect{Min: corner.Add(plane.Vec{Y: -height}), Max: corner.Add(plane.Vec{X: f.width()})})
		p.lines(t, corner.Add(plane.Vec{X: inset, Y: -inset}), lines)
	}}
}
