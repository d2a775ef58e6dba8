package shape_test

import (
	"math"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/shape"
)

func pt(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

// trapezoid is a seat with sharp corners: back 400 mm at the top, front 480 mm,
// depth 420 mm, the front bowed out by a cubic. Counter-clockwise from the back's
// right end.
func trapezoid() (curve.Path, []int) {
	a, b, c, d := pt(200, 0), pt(-200, 0), pt(-240, -420), pt(240, -420)
	return curve.ClosedPath(
		curve.Line(a, b), curve.Line(b, c),
		curve.Cubic(c, pt(-80, -450), pt(80, -450), d), curve.Line(d, a),
	), []int{0, 1, 2, 3}
}

// roundedRectangle is 480 x 460 with fillets of radius 60 (cubic quarter arcs,
// handle 0.5522847498 r: the usual four-cubic circle).
func roundedRectangle() curve.Path {
	const w, h, r, k = 240.0, 230.0, 60.0, 60 * 0.5522847498
	return curve.ClosedPath(
		curve.Line(pt(-w+r, -h), pt(w-r, -h)),
		curve.Cubic(pt(w-r, -h), pt(w-r+k, -h), pt(w, -h+r-k), pt(w, -h+r)),
		curve.Line(pt(w, -h+r), pt(w, h-r)),
		curve.Cubic(pt(w, h-r), pt(w, h-r+k), pt(w-r+k, h), pt(w-r, h)),
		curve.Line(pt(w-r, h), pt(-w+r, h)),
		curve.Cubic(pt(-w+r, h), pt(-w+r-k, h), pt(-w, h-r+k), pt(-w, h-r)),
		curve.Line(pt(-w, h-r), pt(-w, -h+r)),
		curve.Cubic(pt(-w, -h+r), pt(-w, -h+r-k), pt(-w+r-k, -h), pt(-w+r, -h)),
	)
}

func TestBackIsFoundWhateverWayTheSeatLies(t *testing.T) {
	seat, corners := trapezoid()
	for degrees := 0; degrees < 360; degrees += 37 {
		planeFromSeat := plane.RigidFromAngle(float64(degrees)*math.Pi/180, plane.Vec{X: 310, Y: -95})
		s, err := shape.FromOutline(seat.Transform(planeFromSeat), corners, nil, shape.BackHint{})
		if err != nil {
			t.Fatal(err)
		}
		back := s.Edges[s.Back.Edge]
		if back.Name != shape.BackEdge || math.Abs(back.Length.Millimetres()-400) > 1e-6 || s.Back.Source != shape.BackStraight {
			t.Errorf("turned %d°: back = %+v by %q, want the 400 mm edge", degrees, back, s.Back.Source)
		}
		// The seat frame is the frame the seat was drawn in.
		if d := s.Net.Segment(0).P0.DistanceTo(pt(200, 0)); d > 1e-6 {
			t.Errorf("turned %d°: the back's right end lies %.3g mm from (200, 0)", degrees, d)
		}
		if math.Abs(s.Size.Width.Millimetres()-480) > 1e-6 {
			t.Errorf("turned %d°: width %v, want 480 mm", degrees, s.Size.Width)
		}
	}
}

// A cubic bow with handles 30 mm deep sags 3/4 of that: 22.5 mm (the mid point of
// a cubic is (P0 + 3 P1 + 3 P2 + P3)/8). Its area beyond the chord is
// 3/10 * 30 * (480 + 160)... by Green: ∫ x dy of the cubic, done by hand below.
func TestSizesOfTheTrapezoid(t *testing.T) {
	seat, corners := trapezoid()
	s, err := shape.FromOutline(seat, corners, nil, shape.BackHint{})
	if err != nil {
		t.Fatal(err)
	}
	if want := 420 + 22.5; math.Abs(s.Size.Depth.Millimetres()-want) > 1e-6 {
		t.Errorf("depth = %v, want %v mm", s.Size.Depth, want)
	}
	// x(t) = -240 + 480 t (+ cubic part), y(t) = -420 - 90 t(1-t). With control x of
	// -240, -80, 80, 240 the cubic is linear in x: the bow is a parabola of height
	// 22.5 over 480, area 2/3 * 22.5 * 480 = 7200.
	if want := (400+480)/2*420 + 7200.0; math.Abs(s.Size.AreaMM2-want) > 1e-6*want {
		t.Errorf("area = %v, want %v mm²", s.Size.AreaMM2, want)
	}
	for _, name := range []shape.Name{shape.BackEdge, shape.FrontEdge, shape.LeftEdge, shape.RightEdge} {
		if _, found := s.EdgeNamed(name); !found {
			t.Errorf("no edge is named %q", name)
		}
	}
	if left, _ := s.EdgeNamed(shape.LeftEdge); left.First != 1 {
		t.Errorf("left is piece %d, want 1 (the one at x < 0)", left.First)
	}
}

func TestBackSaid(t *testing.T) {
	seat, corners := trapezoid()
	s, err := shape.FromOutline(seat, corners, nil, shape.BackHint{Said: plane.Vec{X: 1}})
	if err != nil {
		t.Fatal(err)
	}
	if got := s.Edges[s.Back.Edge]; got.First != 3 || s.Back.Source != shape.BackSaid || !s.Back.Sure {
		t.Errorf("back = %+v by %q, want piece 3, said", got, s.Back.Source)
	}
}

func TestSheetEdgeAndTickDecideTheBack(t *testing.T) {
	net := roundedRectangle()
	sheet := []plane.Point{pt(-100, 230.2), pt(0, 229.9), pt(120, 230)}
	s, err := shape.FromOutline(net, nil, nil, shape.BackHint{SheetEdge: sheet})
	if err != nil {
		t.Fatal(err)
	}
	if s.Back.Source != shape.BackSheetEdge || s.Edges[s.Back.Edge].First != 4 {
		t.Errorf("back = piece %d by %q, want 4 by the sheet's edge", s.Edges[s.Back.Edge].First, s.Back.Source)
	}
	tick := shape.PlaneTick{At: pt(5, -230.4), From: pt(5, -220), To: pt(5, -240)}
	s, err = shape.FromOutline(net, nil, []shape.PlaneTick{tick}, shape.BackHint{})
	if err != nil {
		t.Fatal(err)
	}
	if s.Back.Source != shape.BackTick || s.Edges[s.Back.Edge].First != 0 {
		t.Fatalf("back = piece %d by %q, want 0 by the tick", s.Edges[s.Back.Edge].First, s.Back.Source)
	}
	// The back faced -y and was turned by 180°, so the tick 5 mm to the right of its
	// middle comes to lie 5 mm to the left: in the counter-clockwise sense of
	// travel, which runs right to left along the back, that is +5 mm.
	if got := s.Ticks[0].FromBackCentre.Millimetres(); math.Abs(got-5) > 1e-6 {
		t.Errorf("tick lies %v mm from the back's centre, want +5", got)
	}
	if got := s.Ticks[0].At; math.Abs(got.X+5) > 1e-6 || math.Abs(got.Y) > 1e-6 {
		t.Errorf("tick lies at %v, want (-5, 0)", got)
	}
}

func TestSquareSeatIsUnsure(t *testing.T) {
	square := curve.Polygon(pt(0, 0), pt(400, 0), pt(400, 400), pt(0, 400))
	s, err := shape.FromOutline(square, []int{0, 1, 2, 3}, nil, shape.BackHint{})
	if err != nil {
		t.Fatal(err)
	}
	if s.Back.Sure {
		t.Error("the back of a square was called sure")
	}
}

func TestRoundSeatHasItsBackAtTheTop(t *testing.T) {
	const r, k = 170.0, 170 * 0.5522847498
	circle := curve.ClosedPath(
		curve.Cubic(pt(r, 0), pt(r, k), pt(k, r), pt(0, r)), curve.Cubic(pt(0, r), pt(-k, r), pt(-r, k), pt(-r, 0)),
		curve.Cubic(pt(-r, 0), pt(-r, -k), pt(-k, -r), pt(0, -r)), curve.Cubic(pt(0, -r), pt(k, -r), pt(r, -k), pt(r, 0)),
	)
	s, err := shape.FromOutline(circle, nil, nil, shape.BackHint{})
	if err != nil {
		t.Fatal(err)
	}
	if s.Back.Source != shape.BackTop {
		t.Errorf("back found by %q, want %q", s.Back.Source, shape.BackTop)
	}
	if w := s.Size.Width.Millimetres(); math.Abs(w-340) > 0.01 {
		t.Errorf("width = %v, want 340", w)
	}
	if top := s.Net.Bounds().Max.Y; math.Abs(top) > 0.2 {
		t.Errorf("the top of the stool lies at y = %v, want 0", top)
	}
}

func TestOutlinesThatAreNoneAreRefused(t *testing.T) {
	seat, corners := trapezoid()
	for name, p := range map[string]curve.Path{
		"clockwise": seat.Reversed(), "empty": {}, "open": curve.OpenPath(seat.Segments()...),
		"torn": curve.ClosedPath(seat.Segments()[:3]...),
	} {
		if _, err := shape.FromOutline(p, corners[:0], nil, shape.BackHint{}); err == nil {
			t.Errorf("%s outline was accepted", name)
		}
	}
}
