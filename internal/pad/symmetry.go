package pad

import (
	"fmt"
	"math"
	"slices"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
)

// Symmetry is how far a seat is from being its own mirror image. It is measured
// first; Symmetrise then makes the seat symmetric on request.
type Symmetry struct {
	// Tilt is the turn of the mirror axis from the seat's middle line, in radians,
	// counter-clockwise; Offset is how far to the right of the seat frame's middle
	// line the axis passes half way down the seat, mm.
	Tilt, Offset float64
	// Max and RMS are the differences of the halves, mm: the distance between the left
	// half and the right half folded over the axis.
	Max, RMS float64
	At       plane.Point // where they differ most, on the left half, in the seat frame
	Fuller   shape.Name  // LeftEdge or RightEdge: the half that reaches farther out there
	Edges    []HalfDifference

	shape shape.Shape
	laid  plane.Rigid // from the seat frame to the one whose y axis is the mirror axis
	net   curve.Path  // the outline in that frame
}

// HalfDifference is the difference of the halves along one edge of the left half.
// Mean is positive where the left half is the fuller one. All mm.
type HalfDifference struct {
	Name           shape.Name
	Max, RMS, Mean float64
}

// MeasureSymmetry finds the seat's best mirror axis near its middle line and
// measures how far the halves differ.
func MeasureSymmetry(s shape.Shape) Symmetry {
	y := Symmetry{shape: s}
	a := bestAxis(s.Net)
	y.Tilt, y.Offset = a.tilt, a.offset
	y.laid = a.upright()
	y.net = s.Net.Map(y.laid.Apply)
	back, _ := y.net.Nearest(plane.Point{Y: y.net.Bounds().Max.Y + 1e4}) // high above: the back on the axis
	y.laid.Shift = y.laid.Shift.Add(plane.Vec{Y: -back.Point.Y})
	y.net = s.Net.Map(y.laid.Apply)
	y.compare()
	return y
}

// Folded returns the seat's outline mirrored about the axis, in the seat frame: drawn
// over the outline itself it shows where the halves differ.
func (y Symmetry) Folded() curve.Path {
	mirrored := y.net.Mirrored(plane.Point{}, plane.Vec{Y: 1})
	return mirrored.Transform(y.laid.Inverse())
}

// Axis returns the mirror axis across the seat, from back to front, in the seat
// frame.
func (y Symmetry) Axis() Stroke {
	b := y.net.Bounds()
	back := y.laid.Inverse()
	return Stroke{back.Apply(plane.Point{Y: b.Max.Y}), back.Apply(plane.Point{Y: b.Min.Y})}
}

// halfPoints is how many places of the outline are compared: one every 3 mm or so.
const halfPoints = 600

// compare folds the right half over the left one.
func (y *Symmetry) compare() {
	folded := y.net.Mirrored(plane.Point{}, plane.Vec{Y: 1})
	byEdge, edge := make([]sums, len(y.shape.Edges)), traced(y.shape).edge
	var all sums
	for _, spot := range evenSpots(y.net, halfPoints) {
		if spot.Point.X > 0 {
			continue
		}
		_, d := folded.Nearest(spot.Point)
		if folded.Contains(spot.Point) {
			d = -d
		}
		if math.Abs(d) > math.Abs(all.worst) {
			y.At = y.laid.Inverse().Apply(spot.Point)
		}
		all.add(d)
		byEdge[edge[spot.Piece]].add(d)
	}
	y.Max, y.RMS = math.Abs(all.worst), all.rms()
	y.Fuller = shape.LeftEdge
	if all.worst < 0 {
		y.Fuller = shape.RightEdge
	}
	for i, e := range byEdge {
		if e.n > 0 {
			y.Edges = append(y.Edges, HalfDifference{y.shape.Edges[i].Name, math.Abs(e.worst), e.rms(), e.sum / float64(e.n)})
		}
	}
}

// sums gathers differences.
type sums struct {
	n              int
	sum, sq, worst float64
}

func (s *sums) add(d float64) {
	s.n++
	s.sum += d
	s.sq += d * d
	if math.Abs(d) > math.Abs(s.worst) {
		s.worst = d
	}
}

func (s sums) rms() float64 {
	if s.n == 0 {
		return 0
	}
	return math.Sqrt(s.sq / float64(s.n))
}

// evenSpots returns n places that part the path into equal lengths.
func evenSpots(path curve.Path, n int) []curve.Spot {
	total := path.ArcLength(1e-4)
	at := make([]float64, n)
	for i := range at {
		at[i] = (float64(i) + 0.5) * total / float64(n)
	}
	return path.AtLengths(at, 1e-3)
}

// Words says in sentences what was found, the greatest difference first.
func (y Symmetry) Words() []string {
	words := []string{fmt.Sprintf("The halves differ by up to %.1f mm (%.1f mm on average); the %s half is the fuller one there, %.0f mm from the back.",
		y.Max, y.RMS, y.Fuller, -y.laid.Apply(y.At).Y)}
	for _, e := range y.Edges {
		if e.Name != shape.Unnamed {
			words = append(words, fmt.Sprintf("Along the %s: up to %.1f mm.", e.Name, e.Max))
		}
	}
	if y.Max > AskAbove {
		words = append(words, "That is more than a hand's wavering: look whether the seat is meant to be so before you make both halves alike.")
	}
	return words
}

// AskAbove is the difference of the halves, in mm, above which a person should be
// asked before they are made alike.
const AskAbove = 3.0

// Halves says what a symmetric seat is made from.
type Halves string

// The ways.
const (
	AverageHalves Halves = "average"
	LeftHalf      Halves = "left"
	RightHalf     Halves = "right"
)

// Symmetrise returns the seat made exactly symmetric about its mirror axis, which
// becomes its middle line: from the mean of both halves, or from one of them and its
// mirror image. The mean keeps within 0.04 mm of the exact one.
func (y Symmetry) Symmetrise(from Halves) (shape.Shape, error) {
	left, ok1 := between(y.net)
	right, ok2 := between(y.net.Mirrored(plane.Point{}, plane.Vec{Y: 1}))
	if !ok1 || !ok2 {
		return shape.Shape{}, problem.New(problem.Usage, "the seat's outline crosses its middle line more than twice, so it has no halves", "keep it as traced")
	}
	var half []curve.Segment
	switch from {
	case LeftHalf:
		half = levelAtFold(left)
	case RightHalf:
		half = levelAtFold(right)
	case AverageHalves:
		var err error
		if half, err = meanHalf(left, right); err != nil {
			return shape.Shape{}, err
		}
	default:
		return shape.Shape{}, problem.Newf(problem.Usage, "choose average, left or right", "a seat cannot be made symmetric from %q", from)
	}
	other := curve.OpenPath(half...).Map(func(p plane.Point) plane.Point { return plane.Point{X: -p.X, Y: p.Y} }).Reversed().Segments()
	return y.reshaped(joinedAtFold(half, other))
}

// joinedAtFold closes both halves to one path; two straight lines that meet on the
// fold and run on are one line.
func joinedAtFold(half, other []curve.Segment) curve.Path {
	all := slices.Concat(half, other)
	n := len(half)
	if a, b := all[n-1], all[n]; a.Straight && b.Straight && math.Abs(a.Tangent(1).AngleTo(b.Tangent(0))) < 1e-9 {
		all = slices.Concat(all[:n-1], []curve.Segment{curve.Line(a.P0, b.P3)}, all[n+1:])
	}
	last := len(all) - 1
	if a, b := all[last], all[0]; a.Straight && b.Straight && math.Abs(a.Tangent(1).AngleTo(b.Tangent(0))) < 1e-9 {
		all = slices.Concat([]curve.Segment{curve.Line(a.P0, b.P3)}, all[1:last])
	}
	return curve.ClosedPath(all...)
}

// foldCorner is the least turn, in radians, of a corner of the made outline.
const foldCorner = 20 * math.Pi / 180

// reshaped names the edges of the made outline and carries the ticks over.
func (y Symmetry) reshaped(net curve.Path) (shape.Shape, error) {
	var ticks []shape.PlaneTick
	for _, t := range y.shape.Ticks {
		ticks = append(ticks, shape.PlaneTick{At: y.laid.Apply(t.At), From: y.laid.Apply(t.From), To: y.laid.Apply(t.To)})
	}
	s, err := shape.FromOutline(net, net.Corners(foldCorner), ticks, shape.BackHint{Said: plane.Vec{Y: 1}})
	if err != nil {
		return shape.Shape{}, fmt.Errorf("naming the edges of the symmetric seat: %w", err)
	}
	s.Back.Source, s.Back.Sure = y.shape.Back.Source, y.shape.Back.Sure
	s.SeatFromPlane = s.SeatFromPlane.After(y.laid).After(y.shape.SeatFromPlane)
	return s, nil
}
