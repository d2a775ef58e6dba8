package shapefile

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
)

// arcTolerance is the accuracy asked of arc lengths, mm: that of package shape.
const arcTolerance = 1e-3

// agreement is how far, in mm, what a file says twice may differ. Smaller: files
// rounded by other programs (a report has three decimals) are refused; larger: a
// changed outline with its old sizes passes.
const agreement = 0.01

// leastExtent and greatestExtent bound a seat, mm. A file beyond them was written in
// another unit: the smallest cushion is a hand wide, the largest a long bench.
const leastExtent, greatestExtent = 20.0, 10000.0

// withinReach reports whether all control points lie within the distance of the origin
// along x and y. It is asked first of all: lengths and crossings are worked out to a fixed
// part of a millimetre, which takes for ever on what is millions of kilometres long.
func withinReach(s curve.Segment, reach float64) bool {
	for _, p := range []plane.Point{s.P0, s.P1, s.P2, s.P3} {
		if !(math.Abs(p.X) <= reach && math.Abs(p.Y) <= reach) {
			return false
		}
	}
	return true
}

// refusef returns the failure of a file that holds no sound shape. What is wrong
// follows "the file is no sound shape".
func refusef(format string, args ...any) *problem.Error {
	return problem.Newf(problem.NotAShape, "write it anew from its source", "the file is no sound shape: "+format, args...)
}

// check returns an error that says which rule the shape breaks first. The outline is
// held to the rules of shape.FromOutline; the edges go all round once, in order; the
// back is one of them, with the origin in its middle; ticks lie on the outline; sizes
// agree with it.
func check(s shape.Shape) error {
	for _, rule := range []func(shape.Shape) error{checkOutline, checkExtent, checkEdges, checkBack, checkTicks, checkSizes, checkMotion} {
		if err := rule(s); err != nil {
			return err
		}
	}
	return nil
}

func checkOutline(s shape.Shape) error {
	for i, g := range s.Net.Segments() {
		if !withinReach(g, 2*greatestExtent) {
			return refusef("piece %d lies farther than %g mm from the origin", i, 2*greatestExtent)
		}
	}
	// The back is known; saying so spares the search for it.
	if _, err := shape.FromOutline(s.Net, nil, nil, shape.BackHint{Said: plane.Vec{Y: 1}}); err != nil {
		return refusef("%v", err)
	}
	return nil
}

func checkExtent(s shape.Shape) error {
	b := s.Net.Bounds()
	if least := math.Min(b.Width(), b.Height()); least < leastExtent {
		return refusef("it is only %.3g mm across, less than %g mm", least, leastExtent)
	}
	if most := math.Max(b.Width(), b.Height()); most > greatestExtent {
		return refusef("it is %.6g mm across, more than %g mm", most, greatestExtent)
	}
	if !s.Net.IsSimple() {
		return refusef("its outline crosses itself")
	}
	return nil
}

func checkEdges(s shape.Shape) error {
	if len(s.Edges) == 0 {
		return refusef("it has no edges")
	}
	named := map[shape.Name]bool{}
	pieces, next := 0, s.Edges[0].First
	for i, e := range s.Edges {
		switch e.Name {
		case shape.Unnamed, shape.BackEdge, shape.FrontEdge, shape.LeftEdge, shape.RightEdge:
		default:
			return refusef("edge %d is called %q", i, e.Name)
		}
		if e.Name != shape.Unnamed && named[e.Name] {
			return refusef("two edges are called %q", e.Name)
		}
		named[e.Name] = true
		if e.First != next || e.Count < 1 {
			return refusef("edge %d does not start where the one before ends", i)
		}
		pieces += e.Count
		next = (e.First + e.Count) % s.Net.Len()
		if l := edgeLength(s.Net, e); !agrees(l, e.Length) {
			return refusef("edge %d is %.3f mm long but said to be %.3f mm", i, l.Millimetres(), e.Length.Millimetres())
		}
		if e.Straight && !(e.Count == 1 && s.Net.Segment(e.First).Straight) {
			return refusef("edge %d is said to be straight and is not", i)
		}
	}
	if pieces != s.Net.Len() {
		return refusef("its edges have %d pieces, its outline has %d", pieces, s.Net.Len())
	}
	return nil
}

func checkBack(s shape.Shape) error {
	if s.Back.Edge < 0 || s.Back.Edge >= len(s.Edges) {
		return refusef("its back is edge %d of %d", s.Back.Edge, len(s.Edges))
	}
	switch s.Back.Source {
	case shape.BackSaid, shape.BackSheetEdge, shape.BackTick, shape.BackStraight, shape.BackTop:
	default:
		return refusef("its back was found by %q", s.Back.Source)
	}
	e := s.Edges[s.Back.Edge]
	if e.Name != shape.BackEdge {
		return refusef("its back edge is called %q", e.Name)
	}
	middle, _ := s.Net.Nearest(plane.Point{})
	if e.Count < s.Net.Len() {
		middle = edgeMiddle(s.Net, e)
	}
	if d := middle.Point.DistanceTo(plane.Point{}); d > agreement {
		return refusef("the middle of its back edge lies %.3f mm from the origin", d)
	}
	return nil
}

func checkTicks(s shape.Shape) error {
	for i, t := range s.Ticks {
		if !t.At.IsFinite() || !t.From.IsFinite() || !t.To.IsFinite() {
			return refusef("tick %d has a coordinate that is not a number", i)
		}
		if t.Edge < 0 || t.Edge >= len(s.Edges) {
			return refusef("tick %d is on edge %d of %d", i, t.Edge, len(s.Edges))
		}
		if _, d := s.Net.Nearest(t.At); d > agreement {
			return refusef("tick %d lies %.3f mm off the outline", i, d)
		}
		if d := fromBackCentre(s, t.At); !agreesRound(d, t.FromBackCentre, s.Size.Perimeter) {
			return refusef("tick %d lies %.3f mm from the back's middle but is said to lie %.3f mm from it", i, d.Millimetres(), t.FromBackCentre.Millimetres())
		}
	}
	return nil
}

func checkSizes(s shape.Shape) error {
	is := sizeOf(s.Net)
	if !agrees(is.Width, s.Size.Width) || !agrees(is.Depth, s.Size.Depth) || !agrees(is.Perimeter, s.Size.Perimeter) {
		return refusef("its outline is %.3f mm x %.3f mm and %.3f mm round, but it says %.3f mm x %.3f mm and %.3f mm",
			is.Width.Millimetres(), is.Depth.Millimetres(), is.Perimeter.Millimetres(),
			s.Size.Width.Millimetres(), s.Size.Depth.Millimetres(), s.Size.Perimeter.Millimetres())
	}
	// An outline that is off by the agreement all round is off in area by that times its length.
	if d := math.Abs(is.AreaMM2 - s.Size.AreaMM2); !(d <= agreement*is.Perimeter.Millimetres()) {
		return refusef("its outline encloses %.1f mm2 but it says %.1f mm2", is.AreaMM2, s.Size.AreaMM2)
	}
	return nil
}

func checkMotion(s shape.Shape) error {
	m := s.SeatFromPlane
	shift := plane.Point{X: m.Shift.X, Y: m.Shift.Y}
	if !(math.Abs(math.Hypot(m.Cos, m.Sin)-1) < 1e-6) || !shift.IsFinite() {
		return refusef("seat_from_plane is no turn and shift")
	}
	return nil
}

// agrees reports whether two statements of one length agree; NaN agrees with nothing.
func agrees(a, b length.Length) bool { return math.Abs((a - b).Millimetres()) <= agreement }

// agreesRound is agrees for lengths along a closed line of the given length.
func agreesRound(a, b, round length.Length) bool {
	return math.Abs(math.Remainder((a-b).Millimetres(), round.Millimetres())) <= agreement
}

// sizeOf returns what a tape would read.
func sizeOf(net curve.Path) shape.Size {
	b := net.Bounds()
	return shape.Size{Width: mm(b.Width()), Depth: mm(b.Height()), Perimeter: mm(net.ArcLength(arcTolerance)), AreaMM2: net.SignedArea()}
}

func edgeLength(net curve.Path, e shape.Edge) length.Length {
	var l length.Length
	for k := range e.Count {
		l += mm(net.Segment((e.First + k) % net.Len()).ArcLength(arcTolerance))
	}
	return l
}

// edgeMiddle returns the spot half-way along the edge.
func edgeMiddle(net curve.Path, e shape.Edge) curve.Spot {
	start := net.LengthTo(curve.Spot{Piece: e.First}, arcTolerance)
	return net.AtLength(start+edgeLength(net, e).Millimetres()/2, arcTolerance)
}

// fromBackCentre returns the way along the outline from the middle of the back to the
// point, counter-clockwise positive, the shorter way round.
func fromBackCentre(s shape.Shape, at plane.Point) length.Length {
	centre, _ := s.Net.Nearest(plane.Point{})
	spot, _ := s.Net.Nearest(at)
	along := s.Net.LengthTo(spot, arcTolerance) - s.Net.LengthTo(centre, arcTolerance)
	return mm(math.Remainder(along, s.Size.Perimeter.Millimetres()))
}
