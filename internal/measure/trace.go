package measure

import (
	"fairedge/internal/detect"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// Side says which side of a drawn line is the template's edge.
type Side int

// The sides of a pen line. Inner is towards the inside of the outline.
const (
	Centre Side = iota
	Inner
	Outer
)

// Sample is one place on the template's edge, in the plane frame.
type Sample struct {
	At        plane.Point
	Sigma     float64 // standard uncertainty across the edge from seeing it, mm
	Bridged   bool    // in a gap: carried over along the curve, not seen
	SheetEdge bool    // the sheet's own edge
}

// Tick is a short stroke across the edge, in the plane frame.
type Tick struct {
	At       plane.Point // where it crosses the middle of the edge
	From, To plane.Point // its ends
}

// Traced is a traced edge in millimetres, counter-clockwise as the detector
// promises.
type Traced struct {
	Kind    detect.EdgeKind
	Samples []Sample
	Ticks   []Tick
}

// Trace carries an edge from the photo to the plane. Samples that the plane does
// not see (beyond the horizon) are left out.
func (c *Calibration) Trace(edge detect.Edge, side Side) Traced {
	traced := Traced{Kind: edge.Kind}
	for _, s := range edge.Samples {
		seen := sideOf(s, side)
		at := c.PlaneFromPhoto(seen)
		if !at.IsFinite() {
			continue
		}
		traced.Samples = append(traced.Samples, Sample{
			At: at, Sigma: s.Sigma * c.MillimetresPerPixel(at), Bridged: s.Bridged, SheetEdge: s.SheetEdge,
		})
	}
	for _, t := range edge.Ticks {
		m := Tick{c.PlaneFromPhoto(t.At), c.PlaneFromPhoto(t.From), c.PlaneFromPhoto(t.To)}
		if m.At.IsFinite() && m.From.IsFinite() && m.To.IsFinite() {
			traced.Ticks = append(traced.Ticks, m)
		}
	}
	return traced
}

func sideOf(s detect.EdgeSample, side Side) photo.Point {
	switch side {
	case Inner:
		return s.Inner
	case Outer:
		return s.Outer
	}
	return s.Centre
}
