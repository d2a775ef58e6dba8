package curve

import (
	"math"

	"fairedge/internal/plane"
)

// arc is a span of a piece on which the tangent turns little and one way only, so
// that it cannot cross itself. Its Segment traces piece from t0 to t1.
type arc struct {
	Segment
	piece  int
	t0, t1 float64
	box    plane.Rect // of the control points
	turn   float64    // radians, without sign
}

// cannotMeet reports whether b follows a and both together turn by less than π, and
// so cannot cross: a curve that comes back to itself turns by more than π.
func cannotMeet(a, b arc) bool {
	if a.P3.DistanceSqTo(b.P0) > joinTolerance*joinTolerance {
		return false
	}
	turn := math.Abs(a.Tangent(1).AngleTo(b.Tangent(0)))
	return a.turn+turn+b.turn < 0.999*math.Pi
}

// meeting is a place where two arcs cross: parameter t on the first one's piece, u
// on the second one's.
type meeting struct {
	t, u  float64
	point plane.Point
}

// greatestArcTurn bounds the turn of an arc, in radians. Two neighbours at a
// smooth joint together turn by less than π, and so cannot cross each other.
const greatestArcTurn = 0.45 * math.Pi

// arcs appends the arcs of the piece with the given index.
func (s Segment) arcs(out []arc, piece int) []arc {
	if s.Straight {
		return append(out, arc{s, piece, 0, 1, s.hull(), 0})
	}
	t0 := 0.0
	rest := s
	var buffer [2]float64
	for _, t := range s.inflections(buffer[:0]) {
		var before Segment
		before, rest = rest.Split((t - t0) / (1 - t0))
		out = before.gentleArcs(out, piece, t0, t, 8)
		t0 = t
	}
	return rest.gentleArcs(out, piece, t0, 1, 8)
}

func (s Segment) gentleArcs(out []arc, piece int, t0, t1 float64, depth int) []arc {
	turn := math.Abs(s.Turn())
	if depth == 0 || turn < greatestArcTurn {
		return append(out, arc{s, piece, t0, t1, s.hull(), turn})
	}
	before, after := s.Split(0.5)
	mid := (t0 + t1) / 2
	out = before.gentleArcs(out, piece, t0, mid, depth-1)
	return after.gentleArcs(out, piece, mid, t1, depth-1)
}

// inflections appends the parameters inside (0, 1) where the piece changes from
// bending left to bending right. With the legs h0, h1, h2 of the control polygon,
// P'×P” is proportional to h0×h1 u² + h0×h2 ut + h1×h2 t², u = 1-t.
func (s Segment) inflections(out []float64) []float64 {
	h0, h1, h2 := s.P1.Sub(s.P0), s.P2.Sub(s.P1), s.P3.Sub(s.P2)
	p, q, r := h0.Cross(h1), h0.Cross(h2), h1.Cross(h2)
	return quadraticRoots(out, p-q+r, q-2*p, p)
}

// chordFlatness is how far, in mm, a curve may lie from the chord that stands for
// it in the search for crossings. Two curves that overlap by less than about this
// may be found not to cross. Smaller: slower on nearly coincident curves.
const chordFlatness = 1e-5

// span is a part of an arc, cut by halving.
type span struct {
	Segment
	t0, t1 float64
}

func (s span) halves() (a, b span) {
	before, after := s.Split(0.5)
	mid := (s.t0 + s.t1) / 2
	return span{before, s.t0, mid}, span{after, mid, s.t1}
}

// isChord reports whether the span is flat enough to be replaced by its chord: the
// distance is at most 3/4 of the greater second difference of its control points.
func (s span) isChord() bool {
	if s.Straight {
		return true
	}
	a := s.P2.Sub(s.P1).Sub(s.P1.Sub(s.P0))
	b := s.P3.Sub(s.P2).Sub(s.P2.Sub(s.P1))
	return 0.75*math.Sqrt(math.Max(a.LengthSq(), b.LengthSq())) < chordFlatness
}

// meetings appends the places where arcs a and b cross. Whether a span is a chord
// depends on it alone, so each curve is compared as one fixed polyline, of which
// only the parts near the other curve are ever made; the crossing is then moved
// onto the curves by Newton's method.
func meetings(out []meeting, a, b arc) []meeting {
	if !boxesMeet(a.box, b.box) || cannotMeet(a, b) || cannotMeet(b, a) {
		return out
	}
	first := len(out)
	if a.Straight && b.Straight && a.liesAlong(b.Segment) {
		return overlapMeetings(out, a, b)
	}
	out = spanMeetings(out, span{a.Segment, 0, 1}, span{b.Segment, 0, 1})
	kept := out[:first]
	for _, m := range out[first:] {
		m = polish(a.Segment, b.Segment, m)
		m.t = a.t0 + m.t*(a.t1-a.t0)
		m.u = b.t0 + m.u*(b.t1-b.t0)
		kept = append(kept, m)
	}
	return kept
}

// alongReach is the distance in mm within which two lines count as one.
const alongReach = 5e-7

// liesAlong reports whether both ends of line b lie on the line through a.
func (a arc) liesAlong(b Segment) bool {
	u := a.P3.Sub(a.P0).Unit()
	return math.Abs(u.Cross(b.P0.Sub(a.P0))) < alongReach && math.Abs(u.Cross(b.P3.Sub(a.P0))) < alongReach
}

// overlapMeetings appends the ends of each of two lines, one along the other, that lie
// on the other: there a path divides or comes together.
func overlapMeetings(out []meeting, a, b arc) []meeting {
	place := func(s Segment, q plane.Point) float64 {
		along := s.P3.Sub(s.P0)
		return q.Sub(s.P0).Dot(along) / along.LengthSq()
	}
	for _, end := range [2]float64{0, 1} {
		q := b.At(end)
		if t := place(a.Segment, q); t >= 0 && t <= 1 {
			out = append(out, meeting{t, end, q})
		}
		q = a.At(end)
		if u := place(b.Segment, q); u > 0 && u < 1 {
			out = append(out, meeting{end, u, q})
		}
	}
	return out
}

func boxesMeet(a, b plane.Rect) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X && a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y
}

func spanMeetings(out []meeting, a, b span) []meeting {
	if !boxesMeet(a.hull(), b.hull()) {
		return out
	}
	aFlat, bFlat := a.isChord(), b.isChord()
	switch {
	case aFlat && bFlat:
		return chordMeeting(out, a, b)
	case bFlat || (!aFlat && a.P0.DistanceSqTo(a.P3) > b.P0.DistanceSqTo(b.P3)):
		a1, a2 := a.halves()
		return spanMeetings(spanMeetings(out, a1, b), a2, b)
	}
	b1, b2 := b.halves()
	return spanMeetings(spanMeetings(out, a, b1), a, b2)
}

// chordMeeting appends the crossing of the chords. A point on a line counts as on
// its left, so that a crossing through a joint of two spans is found once.
func chordMeeting(out []meeting, a, b span) []meeting {
	da, db := a.P3.Sub(a.P0), b.P3.Sub(b.P0)
	a0, a1 := db.Cross(a.P0.Sub(b.P0)), db.Cross(a.P3.Sub(b.P0))
	b0, b1 := da.Cross(b.P0.Sub(a.P0)), da.Cross(b.P3.Sub(a.P0))
	if (a0 >= 0) == (a1 >= 0) || (b0 >= 0) == (b1 >= 0) {
		return out
	}
	t, u := a0/(a0-a1), b0/(b0-b1)
	return append(out, meeting{
		t: a.t0 + t*(a.t1-a.t0), u: b.t0 + u*(b.t1-b.t0), point: a.P0.Lerp(a.P3, t),
	})
}

// polish moves a crossing of two chords onto the curves: Newton's method for
// A(t) = B(u). Nearly parallel curves keep the crossing of the chords, which lies
// within chordFlatness of both.
func polish(a, b Segment, m meeting) meeting {
	if a.Straight && b.Straight {
		return m
	}
	t, u := m.t, m.u
	for range 6 {
		da, db := a.Derivative(t), b.Derivative(u)
		det := da.Cross(db)
		if math.Abs(det) <= 1e-6*da.Length()*db.Length() { // also 0, where a handle has no length
			return m
		}
		gap := b.At(u).Sub(a.At(t))
		dt, du := gap.Cross(db)/det, gap.Cross(da)/det
		t, u = t+dt, u+du
		if math.Abs(dt)+math.Abs(du) < 1e-14 {
			break
		}
	}
	t, u = clamp01(t), clamp01(u)
	moved := a.At(t)
	if moved.DistanceTo(m.point) > 1000*chordFlatness || moved.DistanceTo(b.At(u)) > chordFlatness {
		return m
	}
	return meeting{t, u, moved}
}

func clamp01(t float64) float64 { return max(0, min(1, t)) }
