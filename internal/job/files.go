package job

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"fairedge/internal/edgesamples"
	"fairedge/internal/length"
	"fairedge/internal/render"
	"fairedge/internal/safefile"
	"fairedge/internal/shapefile"
	"fairedge/internal/sheet"
)

// Result is a finished run: the files to store, what to tell the person, and all
// of it as plain values.
type Result struct {
	Files   []safefile.File
	Guide   []GuideLine // which files to open, in order
	Summary []string    // sentences for a person
	Budget  []string    // where the uncertainty comes from, as a table
	Report  Report
}

// GuideLine says what a file is for.
type GuideLine struct{ Name, Says string }

// FilesOf makes every file of a measured seat in memory. Same photo, choices, date
// and program version: same bytes.
func FilesOf(m *Measured, o Outlines, p Pattern, label Label, printing Printing) (Result, error) {
	r := Result{Report: NewReport(m, o, label), Summary: summary(m, p), Budget: BudgetTable(m)}
	var err error
	if r.Report.Shape, err = shapefile.EncodeDocument(documentOf(m, label)); err != nil {
		return r, err
	}
	pictures := make(chan pictureSet, 1)
	go func() { pictures <- checkPictures(m, label) }() // as long as everything else together
	start := time.Now()
	w := fileWriter{label: label, meta: render.Meta{Title: title(label), Creator: label.Program, Date: label.Date}}
	for _, d := range drawingsOf(m, o, p, label) {
		w.drawing(d)
	}
	w.machineFile(sheetLabel(m, p, label), append(platesOf(o), sheet.Plate{Fabric: o.Second, Mirrored: true})...)
	w.tiles(sheetLabel(m, p, label), printing, platesOf(o)...)
	r.Report.AddTiming("drawing the sheets", time.Since(start))
	start = time.Now()
	w.pictures(<-pictures)
	r.Report.AddTiming("waiting for the pictures", time.Since(start))
	w.edgeSamples(m)
	w.report(r.Report)
	r.Files, r.Guide = w.files, w.guide
	for _, f := range w.files {
		r.Report.Files = append(r.Report.Files, f.Name)
	}
	return r, w.err
}

// documentOf returns the measured seat as one shape to keep.
func documentOf(m *Measured, label Label) shapefile.Document {
	return shapefile.Document{
		Name: label.Name, Date: label.Date, Provenance: "measured in a photo", Program: label.Program,
		Uncertainty: length.Length(m.Budget.Within) * length.Millimetre, Shape: m.Shape,
	}
}

// AddTiming records how long one more stage took.
func (r *Report) AddTiming(stage string, took time.Duration) {
	r.Timings = append(r.Timings, TimingReport{stage, round3(float64(took.Microseconds()) / 1000)})
}

// drawing is one sheet as large as its pieces, written as SVG and PDF.
type drawing struct {
	name, says string
	sheet      sheet.Sheet
}

func drawingsOf(m *Measured, o Outlines, p Pattern, label Label) []drawing {
	l := sheetLabel(m, p, label)
	return []drawing{
		{"foam-outline", "the foam: cut exactly on the line", sheet.Whole(l, sheet.Plate{Foam: o.Foam})},
		{"fabric-outline", "the fabric plate's cut line", sheet.Whole(l, sheet.Plate{Fabric: o.Fabric})},
		{"second-plate", "the other plate, mirrored", sheet.Whole(l, sheet.Plate{Fabric: o.Second, Mirrored: true})},
		{"outlines", "both lines on one sheet", sheet.Whole(l, sheet.Plate{Foam: o.Foam, Fabric: o.Fabric})},
	}
}

// platesOf returns what the pages to tape together show: the top plate with both
// lines. The second plate is the same paper turned over.
func platesOf(o Outlines) []sheet.Plate {
	return []sheet.Plate{{Foam: o.Foam, Fabric: o.Fabric}}
}

func sheetLabel(m *Measured, p Pattern, label Label) sheet.Label {
	return sheet.Label{
		Job: label.Name, Date: label.Date, Program: label.Program,
		Accuracy: AccuracySentence(m) + ".", Notes: append(patternNotes(p), unmeasuredNote(m)...),
	}
}

func patternNotes(p Pattern) []string {
	note := fmt.Sprintf("Fabric cut line: %s outside the template", p.Allowance)
	if p.Hem != nil {
		note += fmt.Sprintf(", %s at the back", *p.Hem)
	}
	notes := []string{note + "."}
	if p.Oversize != 0 {
		notes = append(notes, fmt.Sprintf("Foam: %s larger than the template on every side.", p.Oversize))
	}
	return notes
}

func unmeasuredNote(m *Measured) []string {
	for _, p := range m.printsUsed() {
		if !p.IsMeasured() && !m.sizeIsChecked() {
			return []string{"The cards' print was not measured: sizes carry ±0.5 %."}
		}
	}
	return nil
}

func title(label Label) string {
	if label.Name == "" {
		return "Seat pad outlines"
	}
	return label.Name + ": seat pad outlines"
}

// fileWriter collects files and keeps the first error.
type fileWriter struct {
	label Label
	meta  render.Meta
	files []safefile.File
	guide []GuideLine
	err   error
}

func (w *fileWriter) add(name string, write func(io.Writer) error) {
	if w.err != nil {
		return
	}
	var out bytes.Buffer
	if err := write(&out); err != nil {
		w.err = fmt.Errorf("making %s: %w", name, err)
		return
	}
	w.files = append(w.files, safefile.File{Name: name, Data: out.Bytes()})
}

func (w *fileWriter) drawing(d drawing) {
	w.add(d.name+".svg", func(out io.Writer) error { return render.SVG(out, d.sheet) })
	w.add(d.name+".pdf", func(out io.Writer) error { return render.PDF(out, []sheet.Sheet{d.sheet}, w.meta) })
	w.guide = append(w.guide, GuideLine{d.name + ".pdf, .svg", d.says})
}

// machineFile writes the pieces for a cutting machine.
func (w *fileWriter) machineFile(label sheet.Label, plates ...sheet.Plate) {
	pieces := sheet.Pieces(label, plates...)
	w.add("outlines.dxf", func(out io.Writer) error { return render.DXF(out, pieces) })
	w.add("outlines.plt", func(out io.Writer) error { return render.HPGL(out, pieces) })
	w.guide = append(w.guide, GuideLine{"outlines.dxf, .plt", "all pieces for a cutting machine or a plotter, in mm"})
}

func (w *fileWriter) pictures(set pictureSet) {
	if w.err == nil {
		w.err = set.err
	}
	if w.err != nil {
		return
	}
	w.files = append(w.files, set.files...)
	w.guide = append([]GuideLine{
		{"check.jpg", "look at it first: the drawn outline must lie on your line"},
		{"straightened.jpg", "the same seen square on"},
	}, w.guide...)
}

// EdgeSamplesName is the file of what was measured along the edge, before fairing.
const EdgeSamplesName = "edge-samples.json"

func (w *fileWriter) edgeSamples(m *Measured) {
	samples := make([]edgesamples.Sample, len(m.Traced.Samples))
	for i, s := range m.Traced.Samples {
		at := m.Shape.SeatFromPlane.Apply(s.At)
		samples[i] = edgesamples.Sample{X: round6(at.X), Y: round6(at.Y), Sigma: round6(s.Sigma), Bridged: s.Bridged, SheetEdge: s.SheetEdge}
	}
	w.add(EdgeSamplesName, func(out io.Writer) error {
		data, err := edgesamples.Encode(samples)
		if err == nil {
			_, err = out.Write(data)
		}
		return err
	})
	w.guide = append(w.guide, GuideLine{EdgeSamplesName, "the edge as it was measured, before fairing"})
}

func (w *fileWriter) report(r Report) {
	r.Timings = nil // they differ from run to run
	w.add("measurement.json", r.WriteJSON)
	w.guide = append(w.guide, GuideLine{"measurement.json", "all of it in plain numbers"})
}

// summary tells a person what was measured.
func summary(m *Measured, p Pattern) []string {
	s, b := m.Shape.Size, m.Budget
	lines := []string{
		fmt.Sprintf("Foam outline: %s wide, %s deep, %s around, %.0f cm².",
			s.Width, s.Depth, s.Perimeter, s.AreaMM2/100),
		fmt.Sprintf("%s; width ±%.1f mm, depth ±%.1f mm.", AccuracySentence(m), up(b.Width.U), up(b.Depth.U)),
		fmt.Sprintf("Fabric outline: %s outside it%s.", p.Allowance, hemWords(p)),
		fmt.Sprintf("Edge: %s; back: %s.", edgeWords(m), BackWords(m.Shape)),
		"Cards: " + cardWords(m) + ".",
	}
	lines = append(lines, m.severalWords()...)
	lines = append(lines, m.tapeWords()...)
	if m.Profile != nil && !m.profileContradicted() {
		lines = append(lines, fmt.Sprintf("Lens: known from the profile %q of %s.", m.Profile.Title(), m.Profile.Learned.Format("2006-01-02")))
	}
	return append(lines, adviceLines(m)...)
}

// up rounds up to a tenth, so that a promise is never too good.
func up(x float64) float64 { return math.Ceil(x*10-1e-9) / 10 }

func hemWords(p Pattern) string {
	if p.Hem == nil {
		return ""
	}
	return fmt.Sprintf(", %s at the back", *p.Hem)
}

func edgeWords(m *Measured) string {
	return map[string]string{
		"line": "a drawn line, its " + sideWord(m.Side),
		"cut":  "a cut-out template",
		"open": "a drawn line from the sheet's straight edge, its " + sideWord(m.Side),
	}[kindWord(m.Edge.Kind)]
}

func cardWords(m *Measured) string {
	var words []string
	for _, c := range m.Cards.Cards {
		words = append(words, fmt.Sprintf("%v (%d of %d marks)", c.Card, c.Seen, c.Total))
	}
	return strings.Join(words, ", ")
}
