package shape

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// PlaneTick is a tick across the line in the plane frame.
type PlaneTick struct{ At, From, To plane.Point }

// FromOutline turns a fair outline in the plane frame into a shape: it parts and
// names the edges, finds the back, lays the seat with its back up and its origin
// in the middle of the back edge, and measures it. corners are the pieces of the
// outline that start at a true corner. The outline must be closed,
// counter-clockwise and valid.
func FromOutline(outline curve.Path, corners []int, ticks []PlaneTick, hint BackHint) (Shape, error) {
	if err := outline.Validate(); err != nil {
		return Shape{}, fmt.Errorf("checking the outline: %w", err)
	}
	if outline.IsEmpty() || !outline.IsClosed() || outline.SignedArea() <= 0 {
		return Shape{}, fmt.Errorf("the outline is not a closed counter-clockwise line")
	}
	edges := splitEdges(outline, corners)
	crossings := make([]plane.Point, len(ticks))
	for i, t := range ticks {
		crossings[i] = t.At
	}
	back := findBack(outline, edges, crossings, hint)
	seatFromPlane := layBackUp(backPose(outline, edges[back.Edge], back.Source, crossings, hint))
	net := outline.Map(seatFromPlane.Apply)
	nameEdges(net, edges, back.Edge)
	s := Shape{Net: net, Edges: edges, Back: back, SeatFromPlane: seatFromPlane, Size: measure(net)}
	s.Ticks = s.placeTicks(ticks)
	return s, nil
}

// layBackUp returns the motion that turns the back to face +y and puts its middle
// at the origin.
func layBackUp(outward plane.Vec, middle plane.Point) plane.Rigid {
	m := plane.RigidFromAngle(outward.AngleTo(plane.Vec{Y: 1}), plane.Vec{})
	m.Shift = plane.Point{}.Sub(m.Apply(middle))
	return m
}

func measure(net curve.Path) Size {
	b := net.Bounds()
	return Size{
		Width:     length.Length(b.Width()) * length.Millimetre,
		Depth:     length.Length(b.Height()) * length.Millimetre,
		Perimeter: length.Length(net.ArcLength(arcTolerance)) * length.Millimetre,
		AreaMM2:   net.SignedArea(),
	}
}

// placeTicks moves the ticks into the seat frame and onto the outline.
func (s Shape) placeTicks(ticks []PlaneTick) []Tick {
	var out []Tick
	for _, t := range ticks {
		spot, _ := s.Net.Nearest(s.SeatFromPlane.Apply(t.At))
		out = append(out, Tick{
			At:             spot.Point,
			From:           s.SeatFromPlane.Apply(t.From),
			To:             s.SeatFromPlane.Apply(t.To),
			Edge:           s.edgeOf(spot.Piece),
			FromBackCentre: s.fromBackCentre(spot),
		})
	}
	return out
}

// edgeOf returns the edge that piece i of the outline belongs to.
func (s Shape) edgeOf(i int) int {
	for k, e := range s.Edges {
		if (i-e.First+s.Net.Len())%s.Net.Len() < e.Count {
			return k
		}
	}
	return 0
}

// fromBackCentre returns the way along the outline from the middle of the back
// edge to the spot, in (-half, +half] of the way round.
func (s Shape) fromBackCentre(spot curve.Spot) length.Length {
	back, _ := s.Net.Nearest(plane.Point{})
	centre := s.Net.LengthTo(back, arcTolerance)
	round := s.Size.Perimeter.Millimetres()
	d := math.Remainder(s.Net.LengthTo(spot, arcTolerance)-centre, round)
	return length.Length(d) * length.Millimetre
}

// EdgeNamed returns the edge of that name, or false when the seat has none.
func (s Shape) EdgeNamed(name Name) (Edge, bool) {
	for _, e := range s.Edges {
		if e.Name == name {
			return e, true
		}
	}
	return Edge{}, false
}
