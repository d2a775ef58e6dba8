package shapefile

import (
	"encoding/json"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// report is what a measurement.json says of its shape. Shape is there from the version
// on that had this package; before it, the outline stands rounded to 1e-6 mm under
// outlines, and the edges with it.
type report struct {
	Program  string          `json:"program"`
	Job      string          `json:"job"`
	Date     string          `json:"date"`
	Shape    json.RawMessage `json:"shape"`
	Accuracy struct {
		Within float64 `json:"within"`
	} `json:"accuracy"`
	Edge struct {
		Source string `json:"back_found_by"`
		Sure   bool   `json:"back_sure"`
	} `json:"edge"`
	Outlines struct {
		Net []piece `json:"net"`
	} `json:"outlines"`
	Edges []edge `json:"edges"`
	Marks []struct {
		At place `json:"at"`
	} `json:"marks"`
}

// decodeReport reads the report of a measured photo.
func decodeReport(data []byte) (Document, error) {
	var r report
	if err := unmarshal(data, &r); err != nil {
		return Document{}, err
	}
	f, err := r.form()
	if err != nil {
		return Document{}, err
	}
	f.Name, f.Date, f.Program, f.Within = r.Job, r.Date, r.Program, r.Accuracy.Within
	f.Provenance = "measured in a photo"
	return f.document()
}

func (r report) form() (form, error) {
	if r.Shape == nil {
		return r.oldForm()
	}
	var f form
	err := unmarshal(r.Shape, &f)
	if err == nil && f.Format != formVersion {
		err = refusef("its shape is of form %d, not %d", f.Format, formVersion)
	}
	return f, err
}

// oldForm takes the shape from the outline to cut. That is the seat's own only if it was
// not made larger for the foam: then the edges do not fit it.
func (r report) oldForm() (form, error) {
	f := form{Format: formVersion, Outline: r.Outlines.Net, Edges: r.Edges}
	f.Back = backForm{Source: r.Edge.Source, Sure: r.Edge.Sure}
	for i, e := range r.Edges {
		if e.Name == "back" {
			f.Back.Edge = i
		}
	}
	net, err := f.net()
	if err != nil {
		return f, err
	}
	if _, err := f.edges(net); err != nil || !r.fits(net) {
		return f, problem.New(problem.NotAShape, "the report holds only the outline made larger for the foam",
			"measure the photo again with this version, or import outlines.svg")
	}
	for _, m := range r.Marks {
		t := tick{At: m.At, From: m.At, To: m.At, Edge: edgeAt(f.Edges, net, m.At.point())}
		f.Ticks = append(f.Ticks, t)
	}
	return f, nil
}

// fits reports whether every edge has the length in this outline that the report says.
func (r report) fits(net curve.Path) bool {
	for _, e := range r.Edges {
		var l length.Length
		for k := range e.Count {
			l += mm(net.Segment((e.First + k) % net.Len()).ArcLength(arcTolerance))
		}
		if e.Length != nil && !agrees(l, mm(*e.Length)) {
			return false
		}
	}
	return true
}

// edgeAt returns the edge that the point of the outline is on.
func edgeAt(edges []edge, net curve.Path, at plane.Point) int {
	spot, _ := net.Nearest(at)
	for i, e := range edges {
		if (spot.Piece-e.First+net.Len())%net.Len() < e.Count {
			return i
		}
	}
	return 0
}
