package shapefile

import (
	"encoding/json"
	"fmt"
	"math"
	"time"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
)

// formVersion is the version of the JSON form.
const formVersion = 1

// frameWords says in the file itself what its numbers mean.
const frameWords = "millimetres; y towards the back; x to the right as seen from above; origin in the middle of the back edge; counter-clockwise"

// form is the JSON form, field by field.
type form struct {
	Format     int     `json:"fairedge_shape"`
	Unit       string  `json:"unit"`
	Frame      string  `json:"frame"`
	Name       string  `json:"name,omitempty"`
	Date       string  `json:"date,omitempty"`
	Provenance string  `json:"provenance,omitempty"`
	Program    string  `json:"program,omitempty"`
	Within     float64 `json:"within,omitempty"`

	Size          *sizeForm  `json:"size,omitempty"`
	Outline       []piece    `json:"outline"`
	Edges         []edge     `json:"edges"`
	Back          backForm   `json:"back"`
	Ticks         []tick     `json:"ticks"`
	SeatFromPlane *rigidForm `json:"seat_from_plane,omitempty"`
}

type sizeForm struct {
	Width     float64 `json:"width"`
	Depth     float64 `json:"depth"`
	Perimeter float64 `json:"perimeter"`
	Area      float64 `json:"area_mm2"`
}

type piece struct {
	Type   string  `json:"type"`
	Points []place `json:"points"`
}

type edge struct {
	Name     string   `json:"name,omitempty"`
	First    int      `json:"first_piece"`
	Count    int      `json:"pieces"`
	Straight bool     `json:"straight"`
	Length   *float64 `json:"length,omitempty"`
}

type backForm struct {
	Edge   int    `json:"edge"`
	Source string `json:"found_by"`
	Sure   bool   `json:"sure"`
}

type tick struct {
	At             place    `json:"at"`
	From           place    `json:"from"`
	To             place    `json:"to"`
	Edge           int      `json:"edge"`
	FromBackCentre *float64 `json:"from_back_centre,omitempty"`
}

type rigidForm struct {
	Cos   float64 `json:"cos"`
	Sin   float64 `json:"sin"`
	Shift place   `json:"shift"`
}

// place is a point, [x, y].
type place [2]float64

// UnmarshalJSON reads exactly two numbers; encoding/json would take any count.
func (p *place) UnmarshalJSON(data []byte) error {
	var xy []float64
	if err := json.Unmarshal(data, &xy); err != nil {
		return err
	}
	if len(xy) != 2 {
		return fmt.Errorf("a point has %d numbers instead of 2", len(xy))
	}
	*p = place{xy[0], xy[1]}
	return nil
}

func placeOf(p plane.Point) place { return place{p.X, p.Y} }

func (p place) point() plane.Point { return plane.Point{X: p[0], Y: p[1]} }

const dayLayout = "2006-01-02"

// formOf puts the document into plain values.
func formOf(d Document) (form, error) {
	s := d.Shape
	within := d.Uncertainty.Millimetres()
	if math.IsNaN(within) || math.IsInf(within, 0) || within < 0 {
		return form{}, problem.New(problem.Internal, "the shape's uncertainty is not a length", "report this with what you typed")
	}
	f := form{
		Format: formVersion, Unit: "mm", Frame: frameWords,
		Name: d.Name, Provenance: d.Provenance, Program: d.Program, Within: within,
		Size: &sizeForm{s.Size.Width.Millimetres(), s.Size.Depth.Millimetres(), s.Size.Perimeter.Millimetres(), s.Size.AreaMM2},
		Back: backForm{s.Back.Edge, string(s.Back.Source), s.Back.Sure}, Ticks: []tick{},
		SeatFromPlane: &rigidForm{s.SeatFromPlane.Cos, s.SeatFromPlane.Sin, place{s.SeatFromPlane.Shift.X, s.SeatFromPlane.Shift.Y}},
	}
	if !d.Date.IsZero() {
		f.Date = d.Date.Format(dayLayout)
	}
	for _, g := range s.Net.Segments() {
		f.Outline = append(f.Outline, pieceOf(g))
	}
	for _, e := range s.Edges {
		l := e.Length.Millimetres()
		f.Edges = append(f.Edges, edge{string(e.Name), e.First, e.Count, e.Straight, &l})
	}
	for _, t := range s.Ticks {
		l := t.FromBackCentre.Millimetres()
		f.Ticks = append(f.Ticks, tick{placeOf(t.At), placeOf(t.From), placeOf(t.To), t.Edge, &l})
	}
	return f, nil
}

// pieceOf keeps the inner points of a line only if they are not its thirds to the
// last bit, as after a turn.
func pieceOf(s curve.Segment) piece {
	if s.Straight && s == curve.Line(s.P0, s.P3) {
		return piece{"line", []place{placeOf(s.P0), placeOf(s.P3)}}
	}
	p := piece{"cubic", []place{placeOf(s.P0), placeOf(s.P1), placeOf(s.P2), placeOf(s.P3)}}
	if s.Straight {
		p.Type = "line"
	}
	return p
}

// segment turns piece i of the file into a segment.
func (p piece) segment(i int) (curve.Segment, error) {
	switch {
	case p.Type == "line" && len(p.Points) == 2:
		return curve.Line(p.Points[0].point(), p.Points[1].point()), nil
	case (p.Type == "line" || p.Type == "cubic") && len(p.Points) == 4:
		s := curve.Cubic(p.Points[0].point(), p.Points[1].point(), p.Points[2].point(), p.Points[3].point())
		s.Straight = p.Type == "line"
		return s, nil
	case p.Type == "line" || p.Type == "cubic":
		return curve.Segment{}, refusef("piece %d, a %s, has %d points", i, p.Type, len(p.Points))
	}
	return curve.Segment{}, refusef("piece %d is a %q, neither a line nor a cubic", i, p.Type)
}

// document turns the form into a document, checked.
func (f form) document() (Document, error) {
	d := Document{Name: f.Name, Provenance: f.Provenance, Program: f.Program}
	if f.Unit != "" && f.Unit != "mm" {
		return d, refusef("its unit is %q, not mm", f.Unit)
	}
	if f.Within < 0 {
		return d, refusef("it says that the outline is right within %g mm", f.Within)
	}
	d.Uncertainty = length.Length(f.Within) * length.Millimetre
	if f.Date != "" {
		day, err := time.Parse(dayLayout, f.Date)
		if err != nil {
			return d, refusef("its date %q is not written like 2026-01-31", f.Date)
		}
		d.Date = day
	}
	s, err := f.shape()
	if err != nil {
		return d, err
	}
	d.Shape = s
	return d, check(s)
}

// shape turns the form into a shape; what follows from the outline and is not given
// is worked out.
func (f form) shape() (shape.Shape, error) {
	net, err := f.net()
	if err != nil {
		return shape.Shape{}, err
	}
	s := shape.Shape{Net: net, Back: shape.Back{Edge: f.Back.Edge, Source: shape.BackSource(f.Back.Source), Sure: f.Back.Sure}}
	if s.Back.Source == "" {
		s.Back.Source = shape.BackSaid
	}
	s.SeatFromPlane = plane.Identity()
	if m := f.SeatFromPlane; m != nil {
		s.SeatFromPlane = plane.Rigid{Cos: m.Cos, Sin: m.Sin, Shift: plane.Vec{X: m.Shift[0], Y: m.Shift[1]}}
	}
	s.Size = sizeOf(net)
	if z := f.Size; z != nil {
		s.Size = shape.Size{Width: mm(z.Width), Depth: mm(z.Depth), Perimeter: mm(z.Perimeter), AreaMM2: z.Area}
	}
	if s.Edges, err = f.edges(net); err != nil {
		return s, err
	}
	s.Ticks = f.ticks(s)
	return s, nil
}

func mm(x float64) length.Length { return length.Length(x) * length.Millimetre }

// maxPieces bounds an outline, so that a huge file is refused before the checks, whose
// time grows with the square of it. The finest seat has some fifty pieces.
const maxPieces = 5000

func (f form) net() (curve.Path, error) {
	if len(f.Outline) == 0 {
		return curve.Path{}, refusef("it holds no outline")
	}
	if len(f.Outline) > maxPieces {
		return curve.Path{}, refusef("its outline has %d pieces, more than %d", len(f.Outline), maxPieces)
	}
	segments := make([]curve.Segment, len(f.Outline))
	for i, p := range f.Outline {
		s, err := p.segment(i)
		if err != nil {
			return curve.Path{}, err
		}
		if !withinReach(s, 2*greatestExtent) {
			return curve.Path{}, refusef("piece %d lies farther than %g mm from the origin", i, 2*greatestExtent)
		}
		segments[i] = s
	}
	return curve.ClosedPath(segments...), nil
}

func (f form) edges(net curve.Path) ([]shape.Edge, error) {
	edges := make([]shape.Edge, len(f.Edges))
	for i, e := range f.Edges {
		if e.First < 0 || e.First >= net.Len() || e.Count < 1 || e.Count > net.Len() {
			return nil, refusef("edge %d has pieces that the outline does not have", i)
		}
		edges[i] = shape.Edge{Name: shape.Name(e.Name), First: e.First, Count: e.Count, Straight: e.Straight}
		edges[i].Length = edgeLength(net, edges[i])
		if e.Length != nil {
			edges[i].Length = mm(*e.Length)
		}
	}
	return edges, nil
}

func (f form) ticks(s shape.Shape) []shape.Tick {
	var ticks []shape.Tick
	for _, t := range f.Ticks {
		k := shape.Tick{At: t.At.point(), From: t.From.point(), To: t.To.point(), Edge: t.Edge}
		k.FromBackCentre = fromBackCentre(s, k.At)
		if t.FromBackCentre != nil {
			k.FromBackCentre = mm(*t.FromBackCentre)
		}
		ticks = append(ticks, k)
	}
	return ticks
}
