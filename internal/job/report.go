package job

import (
	"encoding/json"
	"fmt"
	"io"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/detect"
	"fairedge/internal/measure"
	"fairedge/internal/plane"
)

// Report is everything about one photo in plain values, for other programs and for
// keeping. Its JSON form is documented in README.md ("Machine-readable output");
// fields are added, never renamed. All lengths are in millimetres unless the name
// says px; numbers are rounded to a thousandth.
type Report struct {
	Format   int            `json:"format"`
	Program  string         `json:"program"`
	Job      string         `json:"job,omitempty"`
	Date     string         `json:"date"`
	Photo    PhotoReport    `json:"photo"`
	Camera   CameraReport   `json:"camera"`
	Cards    []CardReport   `json:"cards"`
	Prints   []PrintReport  `json:"prints"`
	Edge     EdgeReport     `json:"edge"`
	Size     SizeReport     `json:"size"`
	Accuracy AccuracyReport `json:"accuracy"`
	Photos   *PhotosReport  `json:"photos,omitempty"` // when there were several
	Tape     *TapeReport    `json:"tape,omitempty"`
	Advice   []AdviceReport `json:"advice"`
	Outlines OutlinesReport `json:"outlines"`
	Edges    []SeatEdge     `json:"edges"`
	Marks    []MarkReport   `json:"marks"`
	Warnings []string       `json:"warnings"`
	Files    []string       `json:"files,omitempty"`
	Timings  []TimingReport `json:"timings_ms,omitempty"`

	Shape json.RawMessage `json:"shape,omitempty"` // the seat, exact, in the form of package shapefile
}

// PhotoReport says what picture was read. Nothing of its EXIF but the lens is kept.
type PhotoReport struct {
	WidthPx     int     `json:"width_px"`
	HeightPx    int     `json:"height_px"`
	Make        string  `json:"make,omitempty"`
	Model       string  `json:"model,omitempty"`
	FocalMM     float64 `json:"focal_mm,omitempty"`
	Focal35MM   float64 `json:"focal_35mm_equivalent,omitempty"`
	Orientation int     `json:"exif_orientation_applied"`
	Cropped     bool    `json:"cropped"`
	Zoomed      bool    `json:"zoomed"`
}

// CameraReport is the fitted camera.
type CameraReport struct {
	Known         string     `json:"known_beforehand"`
	FocalPx       float64    `json:"focal_px"`
	CentrePx      [2]float64 `json:"principal_point_px"`
	Radial        [2]float64 `json:"k1_k2"`
	Decentering   [2]float64 `json:"p1_p2"`
	TiltDegrees   float64    `json:"tilt_degrees"`
	DistanceMM    float64    `json:"height_above_template"`
	MMPerPx       float64    `json:"mm_per_px"`
	MarksUsed     int        `json:"marks_used"`
	ResidualRMSPx float64    `json:"residual_rms_px"`
	Steps         int        `json:"steps"`

	Profile *ProfileReport `json:"lens_profile,omitempty"`
}

// ProfileReport says which lens profile was tried, and whether the marks fitted it.
type ProfileReport struct {
	Name    string `json:"name"`
	Learned string `json:"learned"`
	Used    bool   `json:"used"`
}

// CardReport is one card that was found.
type CardReport struct {
	Card       string  `json:"card"`
	MarksSeen  int     `json:"marks_seen"`
	MarksTotal int     `json:"marks_total"`
	CellPx     float64 `json:"cell_px"`
	BlurPx     float64 `json:"blur_px"`
	LiftMM     float64 `json:"lift"`
	TiltMM     float64 `json:"tilt"`
	BendMM     float64 `json:"bend"`
}

// PrintReport says which ruler reading was used.
type PrintReport struct {
	Paper    string  `json:"paper"`
	Sheet    string  `json:"sheet"`
	Measured string  `json:"measured,omitempty"` // date; absent: never
	Along    float64 `json:"along_over_nominal"`
	Across   float64 `json:"across_over_nominal"`
}

// EdgeReport says how the traced edge was found.
type EdgeReport struct {
	Kind       string  `json:"kind"`
	Side       string  `json:"side"`
	Samples    int     `json:"samples"`
	Bridged    int     `json:"bridged_samples"`
	FitRMS     float64 `json:"fit_rms"`
	FitMax     float64 `json:"fit_max"`
	Noise      float64 `json:"noise"`
	BackSource string  `json:"back_found_by"`
	BackSure   bool    `json:"back_sure"`
}

// SizeReport holds the measured sizes with their expanded uncertainty (k = 2).
type SizeReport struct {
	Width      float64 `json:"width"`
	WidthU     float64 `json:"width_U"`
	Depth      float64 `json:"depth"`
	DepthU     float64 `json:"depth_U"`
	Perimeter  float64 `json:"perimeter"`
	PerimeterU float64 `json:"perimeter_U"`
	Area       float64 `json:"area_mm2"`
	AreaU      float64 `json:"area_U_mm2"`
}

// AccuracyReport is the statement of accuracy and where it comes from.
type AccuracyReport struct {
	Within   float64     `json:"within"`
	Sentence string      `json:"sentence"`
	Asked    float64     `json:"asked,omitempty"`
	Reached  *bool       `json:"reached,omitempty"` // when something was asked
	Budget   []BudgetRow `json:"budget"`
}

// BudgetRow is one source of error, as standard uncertainties.
type BudgetRow struct {
	Source  string  `json:"source"`
	Type    string  `json:"type"`
	Outline float64 `json:"outline"`
	Width   float64 `json:"width"`
	Depth   float64 `json:"depth"`
}

// OutlinesReport holds the lines in the seat frame: mm, y towards the back, origin
// in the middle of the back edge, counter-clockwise.
type OutlinesReport struct {
	Frame  string  `json:"frame"`
	Net    []Piece `json:"net"`
	Fabric []Piece `json:"fabric"`
}

// Piece is a straight line (2 points) or a cubic Bezier (4 points).
type Piece struct {
	Type   string       `json:"type"`
	Points [][2]float64 `json:"points"`
}

// SeatEdge is a named edge of the net outline.
type SeatEdge struct {
	Name     string  `json:"name,omitempty"`
	First    int     `json:"first_piece"`
	Count    int     `json:"pieces"`
	Straight bool    `json:"straight"`
	Length   float64 `json:"length"`
}

// MarkReport is a tick that the maker drew.
type MarkReport struct {
	At             [2]float64 `json:"at"`
	Edge           string     `json:"edge,omitempty"`
	FromBackCentre float64    `json:"from_back_centre"`
}

// TimingReport is how long a stage took.
type TimingReport struct {
	Stage string  `json:"stage"`
	Took  float64 `json:"ms"`
}

// reportFormat is the version of the JSON document.
const reportFormat = 1

// NewReport puts a measurement and its outlines into plain values.
func NewReport(m *Measured, o Outlines, label Label) Report {
	r := Report{
		Format: reportFormat, Program: label.Program, Job: label.Name, Date: label.Date.Format("2006-01-02"),
		Photo: photoReport(m), Camera: cameraReport(m), Cards: cardReports(m), Prints: printReports(m),
		Edge: edgeReport(m), Size: sizeReport(m), Accuracy: accuracyReport(m),
		Photos: photosReport(m), Tape: tapeReport(m), Advice: adviceReports(m),
		Outlines: OutlinesReport{
			Frame:  "mm; y towards the back; origin in the middle of the back edge; counter-clockwise",
			Net:    pieces(o.Foam),
			Fabric: pieces(o.Fabric),
		},
		Edges: seatEdges(m), Marks: markReports(m), Warnings: Warnings(m),
	}
	for _, t := range m.Timings {
		r.Timings = append(r.Timings, TimingReport{t.Stage, round3(float64(t.Took.Microseconds()) / 1000)})
	}
	return r
}

// WriteJSON writes the report, indented.
func (r Report) WriteJSON(w io.Writer) error {
	return writeIndented(w, r)
}

func writeIndented(w io.Writer, report any) error {
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", " ")
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(report); err != nil {
		return fmt.Errorf("writing the report: %w", err)
	}
	return nil
}

func photoReport(m *Measured) PhotoReport {
	l := m.Photo.Lens
	return PhotoReport{
		WidthPx: m.Photo.Width, HeightPx: m.Photo.Height, Make: l.Make, Model: l.Model,
		FocalMM: round3(l.FocalMM), Focal35MM: round3(l.Focal35MM), Orientation: l.Orientation,
		Cropped: l.Cropped, Zoomed: l.Zoomed,
	}
}

func cameraReport(m *Measured) CameraReport {
	c := m.Calibration
	lens := c.Camera.Lens
	return CameraReport{
		Known:   knownBeforehand(m),
		FocalPx: round3(lens.F), CentrePx: [2]float64{round3(lens.Centre.X), round3(lens.Centre.Y)},
		Radial: [2]float64{round6(lens.K1), round6(lens.K2)}, Decentering: [2]float64{round6(lens.P1), round6(lens.P2)},
		TiltDegrees: round3(c.Tilt() * 180 / math.Pi), DistanceMM: round3(c.Distance()),
		MMPerPx:   round6(c.MillimetresPerPixel(m.Fair.Path.Bounds().Centre())),
		MarksUsed: c.Evidence.Marks, ResidualRMSPx: round6(c.Evidence.RMS), Steps: c.Evidence.Steps,
		Profile: profileReport(m),
	}
}

func knownBeforehand(m *Measured) string {
	if name := m.Calibration.Priors.Profile; name != "" {
		return "lens profile " + name
	}
	return measure.ClassOf(m.Photo.Lens).String()
}

func profileReport(m *Measured) *ProfileReport {
	if m.Profile == nil {
		return nil
	}
	return &ProfileReport{m.Profile.Title(), m.Profile.Learned.Format("2006-01-02"), !m.profileContradicted()}
}

func cardReports(m *Measured) []CardReport {
	fits := map[string]int{}
	for i, c := range m.Calibration.Cards {
		fits[c.Name] = i
	}
	var out []CardReport
	for _, reading := range m.Cards.Cards {
		r := CardReport{
			Card: reading.Card.String(), MarksSeen: reading.Seen, MarksTotal: reading.Total,
			CellPx: round3(reading.CellPx), BlurPx: round3(reading.BlurPx),
		}
		if i, fitted := fits[r.Card]; fitted {
			c := m.Calibration.Cards[i]
			r.LiftMM, r.TiltMM, r.BendMM = round3(c.Lift), round3(c.Tilt), round3(c.Bend)
		}
		out = append(out, r)
	}
	return out
}

func edgeReport(m *Measured) EdgeReport {
	r := EdgeReport{
		Kind: kindWord(m.Edge.Kind), Side: sideWord(m.Side), Samples: len(m.Traced.Samples),
		FitRMS: round3(m.Fair.RMS), FitMax: round3(m.Fair.Max), Noise: round3(m.Fair.Noise),
		BackSource: string(m.Shape.Back.Source), BackSure: m.Shape.Back.Sure,
	}
	for _, s := range m.Traced.Samples {
		if s.Bridged {
			r.Bridged++
		}
	}
	return r
}

func kindWord(k detect.EdgeKind) string {
	switch k {
	case detect.Line:
		return "line"
	case detect.Cut:
		return "cut"
	case detect.OpenLine:
		return "open"
	}
	return "auto"
}

func sizeReport(m *Measured) SizeReport {
	s, b := m.Shape.Size, m.Budget
	return SizeReport{
		Width: round3(s.Width.Millimetres()), WidthU: round3(b.Width.U),
		Depth: round3(s.Depth.Millimetres()), DepthU: round3(b.Depth.U),
		Perimeter: round3(s.Perimeter.Millimetres()), PerimeterU: round3(b.Perimeter.U),
		Area: round3(s.AreaMM2), AreaU: round3(b.Area.U),
	}
}

func accuracyReport(m *Measured) AccuracyReport {
	a := AccuracyReport{Within: round3(m.Budget.Within), Sentence: AccuracySentence(m)}
	if m.Ask > 0 {
		reached := Reaches(m, m.Ask) == nil
		a.Asked, a.Reached = round3(m.Ask.Millimetres()), &reached
	}
	for _, row := range m.Budget.Rows {
		a.Budget = append(a.Budget, BudgetRow{row.Source, row.Type, round3(row.Shape), round3(row.Width), round3(row.Depth)})
	}
	return a
}

func pieces(p curve.Path) []Piece {
	out := make([]Piece, p.Len())
	for i := range out {
		s := p.Segment(i)
		if s.Straight {
			out[i] = Piece{"line", [][2]float64{xy(s.P0), xy(s.P3)}}
			continue
		}
		out[i] = Piece{"cubic", [][2]float64{xy(s.P0), xy(s.P1), xy(s.P2), xy(s.P3)}}
	}
	return out
}

func seatEdges(m *Measured) []SeatEdge {
	var out []SeatEdge
	for _, e := range m.Shape.Edges {
		out = append(out, SeatEdge{string(e.Name), e.First, e.Count, e.Straight, round3(e.Length.Millimetres())})
	}
	return out
}

func markReports(m *Measured) []MarkReport {
	out := []MarkReport{}
	for _, t := range m.Shape.Ticks {
		out = append(out, MarkReport{xy(t.At), string(m.Shape.Edges[t.Edge].Name), round3(t.FromBackCentre.Millimetres())})
	}
	return out
}

func printReports(m *Measured) []PrintReport {
	var out []PrintReport
	for _, p := range m.printsUsed() {
		r := PrintReport{Paper: p.Paper.String(), Sheet: "loose", Along: round6(p.Along.Value), Across: round6(p.Across.Value)}
		if p.IsFrame {
			r.Sheet = "frame"
		}
		if p.IsMeasured() {
			r.Measured = p.Measured.Format("2006-01-02")
		}
		out = append(out, r)
	}
	return out
}

func xy(p plane.Point) [2]float64 { return [2]float64{round6(p.X), round6(p.Y)} }

// round3 and round6 keep the document short and, by adding 0, free of -0.
func round3(x float64) float64 { return roundTo(x, 1e3) }
func round6(x float64) float64 { return roundTo(x, 1e6) }

func roundTo(x, per float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return math.Round(x*per)/per + 0
}
