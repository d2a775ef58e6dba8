package job

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"sync"

	"fairedge/internal/curve"
	"fairedge/internal/cutsheet"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/problem"
	"fairedge/internal/render"
	"fairedge/internal/safefile"
	"fairedge/internal/shape"
	"fairedge/internal/sheet"
)

// PadChoices say what to make of a shape besides the recipe.
type PadChoices struct {
	Pads   int        // of one kind; at least 1
	Strips bool       // print strips that are longer than a page too
	Halves pad.Halves // make the seat symmetric of these; empty keeps it as traced
	Half   bool       // also draw the cloth pieces as halves to lay on a fold
	Spare  pad.Spare
	// Accuracy says how sure the shape is; empty when that is not known.
	Accuracy string
	// Said are sentences about the shape that the cut sheet repeats: how its halves
	// differ, what was made of it.
	Said []string
	// Lay is the drawing of how the pieces lie on the cloth; nil for none.
	Lay *cutsheet.Figure
}

// MadePad is a pad with the choices that it was made by.
type MadePad struct {
	Pad     pad.Pad
	Choices PadChoices
	Needs   []pad.Need
	// Seat is the size of the template.
	Seat shape.Size
	// Traced is the outline as it came, and Symmetry how its halves differ.
	Traced   curve.Path
	Symmetry pad.Symmetry
}

// mostPads bounds what is plainly a slip of the keyboard.
const mostPads = 1000

// PadFromShape makes every piece of the pads.
func PadFromShape(s shape.Shape, r pad.Recipe, c PadChoices) (MadePad, error) {
	if c.Pads < 1 || c.Pads > mostPads {
		return MadePad{}, problem.Newf(problem.Usage, fmt.Sprintf("give a number from 1 to %d", mostPads), "%d pads cannot be made", c.Pads)
	}
	y, traced := pad.MeasureSymmetry(s), s.Net
	s, said, err := halvesOf(s, y, c.Halves)
	if err != nil {
		return MadePad{}, err
	}
	c.Said = append(c.Said[:len(c.Said):len(c.Said)], said...)
	p, err := pad.Cut(s, r)
	if err != nil {
		return MadePad{}, err
	}
	needs := p.TakeOff(c.Pads, c.Spare) // before the halves: they are the same cloth once more
	if c.Half {
		if err := addHalves(&p, s); err != nil {
			return MadePad{}, err
		}
	}
	return MadePad{p, c, needs, s.Size, traced, y}, nil
}

// alike is the difference of two halves, mm, that no hand or machine shows: a quarter
// of the finest pen.
const alike = 0.05

// halvesOf says how the halves of the seat differ, and makes it symmetric if that was
// asked for. A seat whose halves are alike to a tenth of a millimetre is passed over in
// silence.
func halvesOf(s shape.Shape, y pad.Symmetry, from pad.Halves) (made shape.Shape, said []string, err error) {
	if y.Max > alike {
		said = y.Words()[:1]
	}
	if from == "" {
		return s, said, nil
	}
	made, err = y.Symmetrise(from)
	words := map[pad.Halves]string{pad.AverageHalves: "from the mean of both", pad.LeftHalf: "from the left one", pad.RightHalf: "from the right one"}
	return made, append(said, fmt.Sprintf("Both halves were made alike, %s.", words[from])), err
}

// addHalves adds the half of every cloth piece that has one.
func addHalves(p *pad.Pad, s shape.Shape) error {
	found := false
	if y := pad.MeasureSymmetry(s); y.Max > alike || math.Abs(y.Offset) > alike {
		return problem.Newf(problem.Usage, "make the halves alike with --symmetric, or leave --half out",
			"the halves of the seat differ by up to %.1f mm, so its pieces cannot be cut on a fold", math.Max(y.Max, math.Abs(y.Offset)))
	}
	var halves []pad.Piece
	for _, piece := range p.Pieces {
		if piece.Material != pad.ClothMaterial || piece.Mirrored {
			continue
		}
		if half, ok := piece.HalfTemplate(); ok {
			halves, found = append(halves, half), true
		}
	}
	if !found {
		return problem.New(problem.Usage, "no piece of this pad is its own mirror image, so none can be cut on a fold", "make the halves alike with --symmetric, or leave --half out")
	}
	p.Pieces = append(p.Pieces, halves...)
	return nil
}

// PadResult is a finished pad: the files to store and what to tell the person.
type PadResult struct {
	Files   []safefile.File
	Guide   []GuideLine
	Summary []string
	Report  PadReport
}

// PadFiles makes every file of the pads in memory. Same shape, recipe, choices, date
// and program version: same bytes.
func PadFiles(m MadePad, label Label, printing Printing) (PadResult, error) {
	r := PadResult{Summary: padSummary(m), Report: NewPadReport(m, label)}
	meta := render.Meta{Title: padTitle(m, label), Creator: label.Program, Date: label.Date}
	w := sideBySide(fileWriter{label: label, meta: meta}, padMakers(m, label, printing))
	for _, f := range w.files {
		r.Report.Files = append(r.Report.Files, f.Name)
	}
	r.Report.Files = append(r.Report.Files, "pad.json")
	w.guide = append(w.guide, GuideLine{"pad.json", "all of it in plain numbers"})
	w.add("pad.json", r.Report.WriteJSON)
	r.Files, r.Guide = w.files, w.guide
	return r, w.err
}

// padMakers returns what makes the files, in the order in which a person is told of
// them.
func padMakers(m MadePad, label Label, printing Printing) []func(*fileWriter) {
	l := padLabel(m, label)
	parts := sheet.PadParts(m.Pad, l)
	makers := []func(*fileWriter){
		func(w *fileWriter) { w.cutSheet(m, label, printing) },
		func(w *fileWriter) { w.padPages(printedParts(m.Pad, parts), l, printing, m.Choices.Strips) },
	}
	for _, part := range parts {
		if !part.Strip || m.Choices.Strips {
			makers = append(makers, func(w *fileWriter) {
				w.drawing(drawing{"pad-" + part.File, strings.ToLower(part.Name[:1]) + part.Name[1:] + ", for a plotter", sheet.PadWhole(part, l)})
			})
		}
	}
	if m.Symmetry.Max > alike {
		makers = append(makers, func(w *fileWriter) {
			w.drawing(drawing{"pad-halves", "how the halves of the seat differ, full size", sheet.PadHalves(m.Traced, m.Symmetry, l)})
		})
	}
	return append(makers, func(w *fileWriter) { w.padMachine(parts) }, func(w *fileWriter) { w.padLists(m) })
}

// sideBySide lets every maker write files of its own at the same time, and joins them
// in the makers' order.
func sideBySide(empty fileWriter, makers []func(*fileWriter)) fileWriter {
	writers := make([]fileWriter, len(makers))
	var all sync.WaitGroup
	for i, f := range makers {
		writers[i] = empty
		all.Go(func() { f(&writers[i]) })
	}
	all.Wait()
	whole := empty
	for _, w := range writers {
		whole.files, whole.guide = append(whole.files, w.files...), append(whole.guide, w.guide...)
		if whole.err == nil {
			whole.err = w.err
		}
	}
	return whole
}

// padMachine writes the pieces for machines and plotters.
func (w *fileWriter) padMachine(parts []sheet.PadPart) {
	machine := sheet.PadPieces(parts)
	w.add("pad-pieces.dxf", func(out io.Writer) error { return render.DXF(out, machine) })
	w.add("pad-pieces.plt", func(out io.Writer) error { return render.HPGL(out, machine) })
	w.guide = append(w.guide, GuideLine{"pad-pieces.dxf, .plt", "all pieces and strips for a cutting machine or a plotter, in mm"})
}

// padLists writes the take-off and the recipe.
func (w *fileWriter) padLists(m MadePad) {
	w.add("take-off.csv", func(out io.Writer) error { return writeTakeOff(out, m) })
	w.add("recipe.toml", func(out io.Writer) error { _, err := out.Write(m.Pad.Recipe.Text()); return err })
	w.guide = append(w.guide,
		GuideLine{"take-off.csv", "what to buy and cut, for a spreadsheet"},
		GuideLine{"recipe.toml", "the recipe with every number, to keep or to change"})
}

// printedParts leaves out of the pages what a half template stands for.
func printedParts(p pad.Pad, parts []sheet.PadPart) []sheet.PadPart {
	half := false
	for _, piece := range p.Pieces {
		half = half || piece.FoldLine != nil
	}
	if !half {
		return parts
	}
	var printed []sheet.PadPart
	for i, part := range parts {
		whole := i < len(p.Pieces) && p.Pieces[i].Material == pad.ClothMaterial && p.Pieces[i].FoldLine == nil
		if !whole {
			printed = append(printed, part)
		}
	}
	return printed
}

// AddPad makes a pad of the measured seat and adds its files, and what to tell of it, to
// the result.
func (r *Result) AddPad(m *Measured, recipe pad.Recipe, c PadChoices, label Label, printing Printing) error {
	c.Accuracy = AccuracySentence(m) + "."
	made, err := PadFromShape(m.Shape, recipe, c)
	if err != nil {
		return err
	}
	p, err := PadFiles(made, label, printing)
	if err != nil {
		return err
	}
	r.Files, r.Guide = append(r.Files, p.Files...), append(r.Guide, p.Guide...)
	r.Summary = append(r.Summary, p.Summary...)
	r.Report.Files = append(r.Report.Files, p.Report.Files...)
	return nil
}

func padTitle(m MadePad, label Label) string {
	if label.Name == "" {
		return m.Pad.Recipe.Title
	}
	return label.Name + ": " + m.Pad.Recipe.Title
}

func padLabel(m MadePad, label Label) sheet.Label {
	l := sheet.Label{Job: label.Name, Date: label.Date, Program: label.Program, Accuracy: m.Choices.Accuracy}
	l.Notes = append([]string{m.Pad.Recipe.Title + "."}, m.Choices.Said...)
	return l
}

// cutSheet writes the sheet for the bench, on the paper that is printed on.
func (w *fileWriter) cutSheet(m MadePad, label Label, printing Printing) {
	pages := cutsheet.Sheets(cutsheet.Job{
		Name: label.Name, Date: label.Date, Program: label.Program, Accuracy: m.Choices.Accuracy, Said: m.Choices.Said,
		Pad: m.Pad, Pads: m.Choices.Pads, Needs: m.Needs, Seat: m.Seat, Lay: m.Choices.Lay,
	}, cutSheetPaper(printing))
	w.add("cut-sheet.pdf", func(out io.Writer) error { return render.PDF(out, pages, w.meta) })
	names := "cut-sheet.pdf"
	for i, page := range pages {
		name := "cut-sheet.svg"
		if len(pages) > 1 {
			name = fmt.Sprintf("cut-sheet-%d.svg", i+1)
		}
		w.add(name, func(out io.Writer) error { return render.SVG(out, page) })
	}
	w.guide = append(w.guide, GuideLine{names + ", .svg", "for the bench: sizes, order of work, what to buy, cautions; read it first"})
}

// cutSheetPaper returns the paper for the cut sheet: that of the pages, where it is an
// office paper, else one that fits A4 and Letter.
func cutSheetPaper(p Printing) sheet.Paper {
	for _, office := range []sheet.Paper{sheet.A4(), sheet.Letter()} {
		if p.Paper == office {
			return office
		}
	}
	return sheet.AnyPaper()
}

// padPagesName is the file of pages to tape together.
const padPagesName = "pad-pages.pdf"

func (w *fileWriter) padPages(parts []sheet.PadPart, label sheet.Label, p Printing, strips bool) {
	if p.Paper.Width == 0 || w.err != nil {
		return
	}
	if p.Printer.IsKnown() {
		label.Notes = append(label.Notes[:len(label.Notes):len(label.Notes)], p.Printer.Statement())
	}
	pages, err := sheet.PadPages(parts, label, sheet.PadPrinting{Paper: p.Paper, Tiling: p.Tiling, Strips: strips})
	if err != nil {
		w.err = fmt.Errorf("making %s: %w", padPagesName, err)
		return
	}
	for i, page := range pages {
		pages[i] = p.Printer.Corrected(page, p.Tiling.Margin.Millimetres())
	}
	w.add(padPagesName, func(out io.Writer) error { return render.PDF(out, pages, w.meta) })
	w.guide = append(w.guide, GuideLine{padPagesName, fmt.Sprintf("to print at 100 %% and tape together: %d pages of %s, after one to read first", len(pages)-1, p.Paper.Name)})
}

// padSummary tells a person what was made.
func padSummary(m MadePad) []string {
	p := m.Pad
	lines := append([]string{}, m.Choices.Said...)
	lines = append(lines,
		fmt.Sprintf("%s, for a seat %s wide and %s deep.", p.Recipe.Title, m.Seat.Width, m.Seat.Depth),
		fmt.Sprintf("Foam %s by %s, %s thick.", p.Foam.Width, p.Foam.Depth, p.Foam.Thickness))
	for _, piece := range p.Pieces {
		if piece.Material == pad.ClothMaterial {
			w, d := piece.Sizes()
			lines = append(lines, fmt.Sprintf("%s: cut %d, %s by %s.", piece.Name, piece.Count, w, d))
		}
	}
	lines = append(lines, fmt.Sprintf("Seam %s once round, cut line %s outside the template.", p.SeamLength, p.CutOutside))
	if p.Piping.On {
		lines = append(lines, fmt.Sprintf("Piping: %d strips of %s by %s, %s over.", p.Piping.Strips, p.Piping.StripLength, p.Piping.StripWidth, p.Piping.Left))
	}
	for _, q := range p.Questions {
		if !strings.HasSuffix(q, "?") {
			q += "."
		}
		lines = append(lines, "Question: "+q)
	}
	return lines
}

// writeTakeOff writes the take-off as comma-separated values (RFC 4180).
func writeTakeOff(w io.Writer, m MadePad) error {
	var out bytes.Buffer
	c := csv.NewWriter(&out)
	c.UseCRLF = true
	rows := [][]string{{"kind", "item", "count", "width_mm", "length_mm", "thickness_mm", "width_in", "length_in", "thickness_in",
		"area_mm2", "mass_kg", "mirrored", "bias", "spare_count", "spare_length_mm", "note"}}
	for _, n := range m.Needs {
		rows = append(rows, []string{string(n.Kind), n.Item, countText(n.Count), mmText(n.Width), mmText(n.Length), mmText(n.Thick),
			inchText(n.Width), inchText(n.Length), inchText(n.Thick), numberText(n.AreaMM2, 0), numberText(n.MassKg, 3),
			yesText(n.Mirrored), yesText(n.Bias), countText(n.SpareCount), mmText(n.SpareLength), n.Note})
	}
	if err := c.WriteAll(rows); err != nil {
		return err
	}
	_, err := w.Write(out.Bytes())
	return err
}

func mmText(l length.Length) string { return numberText(l.Millimetres(), 1) }

func inchText(l length.Length) string {
	if l == 0 {
		return ""
	}
	return strings.TrimSuffix(l.Imperial(), " in")
}

func countText(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func numberText(x float64, digits int) string {
	if x == 0 || math.IsNaN(x) {
		return ""
	}
	return strconv.FormatFloat(x, 'f', digits, 64)
}

func yesText(yes bool) string {
	if yes {
		return "yes"
	}
	return ""
}
