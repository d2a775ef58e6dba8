package cli

import (
	"context"
	"fmt"
	"math"
	"strings"

	"fairedge/internal/archive"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"
)

// shapeOf reads the shape that a revision holds.
func shapeOf(ctx context.Context, a *archive.Archive, of archive.Saved) (shape.Shape, error) {
	r, err := a.Get(ctx, of.Job, of.Revision)
	if err != nil {
		return shape.Shape{}, err
	}
	part, there := r.Part(archive.RoleShape, "")
	if !there {
		return shape.Shape{}, problem.Newf(problem.NotKept, "keep it again from its folder", "job %d:%d was kept without its shape", r.Job, r.Saved.Revision)
	}
	data, err := a.Data(ctx, part)
	if err != nil {
		return shape.Shape{}, err
	}
	return shapefile.Decode(data)
}

// jobColumns are those of a list of jobs.
func jobColumns() []column {
	return []column{{"No", 6, true}, {"measured", 10, false}, {"customer", 22, false}, {"chair", 24, false}, {"mm", 9, true}}
}

func jobRow(r archive.Revision) []string {
	chair := r.Chair
	if chair == "" {
		chair = r.Title
	}
	if set := r.SetText(); set != "" {
		chair = strings.TrimSpace(fitted(chair, min(columnsOf(chair), 23-columnsOf(set)))) + " " + set
	}
	customer := r.Customer
	if r.WordsGone {
		customer = "(forgotten)"
	}
	return []string{fmt.Sprint(r.Job), r.MadeOn, customer, chair, sizeWords(r)}
}

// sizeWords is width x depth in whole millimetres.
func sizeWords(r archive.Revision) string {
	if r.Width == nil || r.Depth == nil {
		return ""
	}
	return fmt.Sprintf("%.0fx%.0f", *r.Width, *r.Depth)
}

// jobDocument is a revision in JSON.
type jobDocument struct {
	Job      int            `json:"job"`
	Revision int            `json:"revision"`
	Reason   archive.Reason `json:"reason"`
	Restored int            `json:"restored_from,omitempty"`
	SavedAt  string         `json:"saved_at"`
	ClockSet bool           `json:"clock_set_back,omitempty"`
	Program  string         `json:"program"`
	MadeOn   string         `json:"date,omitempty"`
	Title    string         `json:"title,omitempty"`
	Customer string         `json:"customer,omitempty"`
	Contact  string         `json:"contact,omitempty"`
	Place    string         `json:"place,omitempty"`
	Chair    string         `json:"chair,omitempty"`
	Gone     bool           `json:"words_forgotten,omitempty"`
	SetOf    int            `json:"set_of,omitempty"`
	Which    int            `json:"which,omitempty"`
	Width    *float64       `json:"width,omitempty"`
	Depth    *float64       `json:"depth,omitempty"`
	Around   *float64       `json:"perimeter,omitempty"`
	Area     *float64       `json:"area_mm2,omitempty"`
	Within   *float64       `json:"within,omitempty"`
	Note     string         `json:"note,omitempty"`
	Parts    []partDocument `json:"files,omitempty"`
	Made     []madeDocument `json:"made,omitempty"`
}

type partDocument struct {
	Role   archive.Role `json:"role"`
	Name   string       `json:"name"`
	Bytes  int64        `json:"bytes"`
	SHA256 string       `json:"sha256"`
}

type madeDocument struct {
	SavedAt string `json:"at"`
	Program string `json:"program"`
	What    string `json:"what"`
}

func revisionJSON(r archive.Revision) jobDocument {
	d := jobDocument{
		Job: r.Job, Revision: r.Saved.Revision, Reason: r.Reason, Restored: r.RestoredOf, SavedAt: r.SavedAt, ClockSet: r.ClockSetBack,
		Program: r.Program, MadeOn: r.MadeOn, Title: r.Title, Customer: r.Customer, Contact: r.Contact, Place: r.Place, Chair: r.Chair,
		Gone: r.WordsGone, SetOf: r.SetOf, Which: r.Which, Width: r.Width, Depth: r.Depth, Around: r.Perimeter, Area: r.Area,
		Within: r.Within, Note: r.Note,
	}
	for _, p := range r.Parts {
		d.Parts = append(d.Parts, partDocument{p.Role, p.Name, p.Length, p.Hash()})
	}
	for _, m := range r.Made {
		d.Made = append(d.Made, madeDocument{m.SavedAt, m.Program, m.What})
	}
	return d
}

func revisionsJSON(all []archive.Revision) []jobDocument {
	documents := make([]jobDocument, len(all))
	for i, r := range all {
		documents[i] = revisionJSON(r)
	}
	return documents
}

// savedWords is the clock's word of a saving, to the minute, UTC.
func savedWords(at string) string {
	if len(at) < 16 {
		return at
	}
	return at[:10] + " " + at[11:16]
}

// bytesWords writes a length as people do.
func bytesWords(n int64) string {
	switch {
	case n < 1000:
		return fmt.Sprintf("%d B", n)
	case n < 1_000_000:
		return fmt.Sprintf("%.0f kB", math.Ceil(float64(n)/1000))
	}
	return fmt.Sprintf("%.1f MB", float64(n)/1e6)
}

// counted writes "1 file" or "3 files".
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
