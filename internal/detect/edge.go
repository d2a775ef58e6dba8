package detect

import (
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// Bench is the correspondence of photo and bench that the search for the traced
// edge needs: lengths on the bench (pen widths, gaps) make better thresholds than
// pixels. Package measure provides it.
type Bench interface {
	PlaneFromPhoto(photo.Point) plane.Point
	PhotoFromPlane(plane.Point) photo.Point
}

// EdgeKind says how the template shows its edge.
type EdgeKind int

// The three ways a template comes. Auto lets the program find out.
const (
	Auto     EdgeKind = iota
	Line              // a closed line drawn on paper or film
	Cut               // a cut-out template on a contrasting bench
	OpenLine          // a line from the sheet's straight edge round to the same edge, which is the back
)

// Edge is the traced edge in pixels, counter-clockwise as seen on the bench.
type Edge struct {
	Kind    EdgeKind
	Samples []EdgeSample
	Ticks   []Tick
}

// EdgeSample is one place on the traced edge. For a drawn line Centre, Inner and
// Outer are the middle and the two sides of the ink, Inner towards the inside of
// the outline. For a cut edge or a sheet's edge all three coincide.
type EdgeSample struct {
	Centre, Inner, Outer photo.Point
	Sigma                float64 // standard uncertainty across the edge, px
	Bridged              bool    // in a gap: carried over along the curve, not seen
	SheetEdge            bool    // the sheet's own edge (OpenLine: the back)
}

// Tick is a short stroke that the maker drew across the edge, as a mark.
type Tick struct {
	At       photo.Point // where it crosses the edge's centre
	From, To photo.Point // its ends
}
