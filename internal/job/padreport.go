package job

import (
	"io"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// PadReport is everything about one kind of pad in plain values. Its JSON form is
// documented in README.md ("Machine-readable output"); fields are added, never
// renamed. Lengths are in millimetres, rounded to a thousandth, places to a millionth.
type PadReport struct {
	Format    int              `json:"fairedge_pad"`
	Program   string           `json:"program"`
	Job       string           `json:"job,omitempty"`
	Date      string           `json:"date,omitempty"`
	Frame     string           `json:"frame"`
	Recipe    string           `json:"recipe"`
	Title     string           `json:"title"`
	Style     string           `json:"style"`
	Pads      int              `json:"pads"`
	Seat      PadSize          `json:"seat"`
	Seam      PadSeam          `json:"seam"`
	Opening   PadOpening       `json:"opening"`
	Zip       *PadZip          `json:"zip,omitempty"`
	Piping    *PadPiping       `json:"piping,omitempty"`
	Ties      *PadTies         `json:"ties,omitempty"`
	Foam      PadFoam          `json:"foam"`
	Pieces    []PadPieceReport `json:"pieces"`
	Strips    []PadStripReport `json:"strips"`
	TakeOff   []PadNeed        `json:"take_off"`
	Order     []string         `json:"order_of_work"`
	Said      []string         `json:"said,omitempty"`
	Questions []string         `json:"questions"`
	Cautions  []string         `json:"cautions"`
	Files     []string         `json:"files,omitempty"`
}

// PadSize is a width and a depth.
type PadSize struct {
	Width float64 `json:"width"`
	Depth float64 `json:"depth"`
}

// PadSeam is the seam round the pad.
type PadSeam struct {
	Length     float64 `json:"length"`
	Seams      int     `json:"seams"`
	CutOutside float64 `json:"cut_outside_template"`
	Allowance  float64 `json:"allowance"`
}

// PadOpening is where the cover is filled, as arc lengths from the back centre.
type PadOpening struct {
	Close  string  `json:"close"`
	From   float64 `json:"from"`
	To     float64 `json:"to"`
	Length float64 `json:"length"`
}

// PadZip is the zip to buy.
type PadZip struct {
	Length float64 `json:"length"`
	Clear  float64 `json:"opens"`
	Wrap   float64 `json:"wrap"`
}

// PadPiping is how the piping is cut and joined.
type PadPiping struct {
	Cord        float64         `json:"cord"`
	StripWidth  float64         `json:"strip_width"`
	StripLength float64         `json:"strip_length"`
	Strips      int             `json:"strips"`
	Cut         string          `json:"cut"`
	Need        float64         `json:"need"`
	WithSpare   float64         `json:"need_with_spare"`
	JoinCost    float64         `json:"join_takes"`
	Left        float64         `json:"left_over"`
	CordLength  float64         `json:"cord_length"`
	Joins       []PadPipingJoin `json:"joins"`
}

// PadPipingJoin is where two strips of piping meet.
type PadPipingJoin struct {
	Seam  int     `json:"seam"`
	Along float64 `json:"along"`
}

// PadTies are the ties or tabs.
type PadTies struct {
	Kind           string    `json:"kind"`
	Count          int       `json:"count"`
	At             []float64 `json:"at"`
	FinishedWidth  float64   `json:"finished_width"`
	FinishedLength float64   `json:"finished_length"`
	Tail           float64   `json:"tail"`
	Spacing        float64   `json:"spacing"`
}

// PadFoam is the blank.
type PadFoam struct {
	Thickness float64     `json:"thickness"`
	Width     float64     `json:"width"`
	Depth     float64     `json:"depth"`
	Area      float64     `json:"area_mm2"`
	Mass      float64     `json:"mass_kg"`
	Parts     int         `json:"parts"`
	Turned    bool        `json:"turned_on_sheet"`
	Joins     []PadStroke `json:"joins,omitempty"`
}

// PadStroke is a straight line from one place to another.
type PadStroke [2][2]float64

// PadPieceReport is one piece with its lines and marks.
type PadPieceReport struct {
	Name     string      `json:"name"`
	Material string      `json:"material"`
	Count    int         `json:"count"`
	Mirrored bool        `json:"mirrored"`
	Width    float64     `json:"width"`
	Depth    float64     `json:"depth"`
	Cut      []Piece     `json:"cut,omitempty"`
	Seam     []Piece     `json:"seam,omitempty"`
	Foam     []Piece     `json:"foam,omitempty"`
	Fold     *PadStroke  `json:"fold,omitempty"`
	Grain    *[2]float64 `json:"grain,omitempty"`
	Nap      *[2]float64 `json:"nap,omitempty"`
	Marks    []PadMark   `json:"marks"`
	Words    []string    `json:"words"`
}

// PadMark is one sign on a piece.
type PadMark struct {
	Kind    string      `json:"kind"`
	Along   float64     `json:"along"`
	At      [2]float64  `json:"at"`
	From    [2]float64  `json:"from"`
	To      [2]float64  `json:"to"`
	Strokes []PadStroke `json:"strokes,omitempty"`
	Words   string      `json:"words,omitempty"`
}

// PadStripReport is one strip as it is cut.
type PadStripReport struct {
	Name   string    `json:"name"`
	Kind   string    `json:"kind"`
	Count  int       `json:"count"`
	Width  float64   `json:"width"`
	Length float64   `json:"length"`
	Cut    string    `json:"cut"`
	Seam   float64   `json:"seam"`
	From   float64   `json:"from"`
	To     float64   `json:"to"`
	Marks  []PadMark `json:"marks,omitempty"`
	Words  []string  `json:"words"`
}

// PadNeed is one line of the take-off, for all pads.
type PadNeed struct {
	Kind        string  `json:"kind"`
	Item        string  `json:"item"`
	Count       int     `json:"count,omitempty"`
	Width       float64 `json:"width,omitempty"`
	Length      float64 `json:"length,omitempty"`
	Thick       float64 `json:"thickness,omitempty"`
	Area        float64 `json:"area_mm2,omitempty"`
	Mass        float64 `json:"mass_kg,omitempty"`
	Mirrored    bool    `json:"mirrored,omitempty"`
	Bias        bool    `json:"bias,omitempty"`
	SpareCount  int     `json:"spare_count,omitempty"`
	SpareLength float64 `json:"spare_length,omitempty"`
	Note        string  `json:"note,omitempty"`
}

// padReportFormat is the version of the JSON document.
const padReportFormat = 1

// NewPadReport puts a pad into plain values.
func NewPadReport(m MadePad, label Label) PadReport {
	p := m.Pad
	r := PadReport{
		Format: padReportFormat, Program: label.Program, Job: label.Name,
		Frame:  "mm; y towards the back; origin in the middle of the back edge; outlines counter-clockwise; along: from the back centre on the finished seam line, counter-clockwise",
		Recipe: p.Recipe.Name, Title: p.Recipe.Title, Style: string(p.Recipe.Style), Pads: m.Choices.Pads,
		Seat:    PadSize{of(m.Seat.Width), of(m.Seat.Depth)},
		Seam:    PadSeam{of(p.SeamLength), p.Seams, of(p.CutOutside), of(p.Recipe.Plate.Seam)},
		Opening: PadOpening{string(p.Opening.Close), round3(p.Opening.From), round3(p.Opening.To), of(p.Opening.Length)},
		Foam:    padFoam(p.Foam), Order: p.Order, Said: m.Choices.Said,
		Pieces: []PadPieceReport{}, Strips: []PadStripReport{}, TakeOff: []PadNeed{},
		Questions: append([]string{}, p.Questions...), Cautions: append([]string{}, p.Cautions...),
	}
	if !label.Date.IsZero() {
		r.Date = label.Date.Format("2006-01-02")
	}
	r.Zip, r.Piping, r.Ties = padZip(p.Zip), padPiping(p.Piping), padTies(p.Ties)
	for _, piece := range p.Pieces {
		r.Pieces = append(r.Pieces, padPiece(piece))
	}
	for _, s := range p.Strips {
		r.Strips = append(r.Strips, PadStripReport{s.Name, string(s.Kind), s.Count, of(s.Width), of(s.Length), string(s.Cut), of(s.Seam),
			round3(s.From), round3(s.To), padMarks(s.Marks), s.Words})
	}
	for _, n := range m.Needs {
		r.TakeOff = append(r.TakeOff, PadNeed{string(n.Kind), n.Item, n.Count, of(n.Width), of(n.Length), of(n.Thick),
			round3(n.AreaMM2), round3(n.MassKg), n.Mirrored, n.Bias, n.SpareCount, of(n.SpareLength), n.Note})
	}
	return r
}

// of returns the length in mm, rounded.
func of(l length.Length) float64 { return round3(l.Millimetres()) }

func padZip(z pad.Zip) *PadZip {
	if z.Length == 0 {
		return nil
	}
	return &PadZip{of(z.Length), of(z.Clear), of(z.Wrap)}
}

func padPiping(p pad.Piping) *PadPiping {
	if !p.On {
		return nil
	}
	r := &PadPiping{of(p.Cord), of(p.StripWidth), of(p.StripLength), p.Strips, string(p.Cut), of(p.Need), of(p.WithSpare),
		of(p.JoinCost), of(p.Left), of(p.CordLength), []PadPipingJoin{}}
	for _, j := range p.Joins {
		r.Joins = append(r.Joins, PadPipingJoin{j.Seam, round3(j.Along)})
	}
	return r
}

func padTies(t pad.Ties) *PadTies {
	if t.Count == 0 {
		return nil
	}
	r := &PadTies{string(t.Kind), t.Count, []float64{}, of(t.Finished.Width), of(t.Finished.Length), of(t.Tail), of(t.Spacing)}
	for _, s := range t.At {
		r.At = append(r.At, round3(s))
	}
	return r
}

func padFoam(f pad.Foam) PadFoam {
	r := PadFoam{Thickness: of(f.Thickness), Width: of(f.Width), Depth: of(f.Depth), Area: round3(f.AreaMM2), Mass: round3(f.MassKg), Parts: f.Parts, Turned: f.Turned}
	for _, j := range f.Joins {
		r.Joins = append(r.Joins, padStroke(j))
	}
	return r
}

func padStroke(s pad.Stroke) PadStroke { return PadStroke{xy(s.From), xy(s.To)} }

func padPiece(p pad.Piece) PadPieceReport {
	w, d := p.Sizes()
	r := PadPieceReport{Name: p.Name, Material: string(p.Material), Count: p.Count, Mirrored: p.Mirrored, Width: of(w), Depth: of(d),
		Cut: outline(p.CutLine), Seam: outline(p.SeamLine), Foam: outline(p.FoamLine), Marks: padMarks(p.Marks), Words: p.Words}
	if p.FoldLine != nil {
		s := padStroke(*p.FoldLine)
		r.Fold = &s
	}
	if p.Material == pad.ClothMaterial {
		r.Grain = direction(p.Grain)
	}
	r.Nap = direction(p.Nap)
	return r
}

func direction(v plane.Vec) *[2]float64 {
	if v == (plane.Vec{}) {
		return nil
	}
	return &[2]float64{round6(v.X), round6(v.Y)}
}

// outline returns the pieces of a line; none where it is empty.
func outline(p curve.Path) []Piece {
	if p.IsEmpty() {
		return nil
	}
	return pieces(p)
}

func padMarks(marks []pad.Mark) []PadMark {
	all := []PadMark{}
	for _, k := range marks {
		r := PadMark{Kind: string(k.Kind), Along: round3(k.Along), At: xy(k.At), From: xy(k.From), To: xy(k.To), Words: k.Words}
		for _, s := range k.Strokes {
			r.Strokes = append(r.Strokes, padStroke(s))
		}
		all = append(all, r)
	}
	return all
}

// WriteJSON writes the report, indented.
func (r PadReport) WriteJSON(w io.Writer) error {
	return writeIndented(w, r)
}
