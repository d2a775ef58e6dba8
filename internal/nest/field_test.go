package nest

import (
	"math"
	"testing"

	"fairedge/internal/nest/nestcheck"
	"fairedge/internal/plane"

	"pgregory.net/rapid"
)

// overlapExactly asks the independent check whether B moved by q overlaps A, or comes
// closer to it than the buffer.
func overlapExactly(a, b []plane.Point, q vec, buffer float64) bool {
	const far = 1e5 // the check wants all on the cloth
	lay := nestcheck.Lay{Width: 2 * far, UsedLength: 2 * far, Sheets: 1, Buffer: buffer,
		Items: []nestcheck.Item{{Outline: a, Demand: 1}, {Outline: b, Demand: 1}},
		Pieces: []nestcheck.Piece{{Item: 0, At: plane.Vec{X: far, Y: far}},
			{Item: 1, At: plane.Vec{X: far + fromNM(q.x), Y: far + fromNM(q.y)}}}}
	return nestcheck.Check(&lay) != nil
}

func fieldFor(a, b []plane.Point, buffer float64) *field {
	parts := func(o []plane.Point) []ring { return convexParts(cleaned(nmPoints(o))) }
	return newField(parts(a), parts(b), toNM(buffer), toNM(15), 48)
}

// TestDepthIsExact: depth is zero exactly where the independent check finds no
// overlap, and without a buffer touch leads through an edge to a place that is just clear, while a
// shorter motion in any of 32 directions is not (with one, only the latter).
func TestDepthIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyOutline(t, "a"), anyOutline(t, "b")
		buffer := rapid.SampledFrom([]float64{0, 0, 4}).Draw(t, "buffer")
		f := fieldFor(a, b, buffer)
		q := vec{rapid.Float64Range(-320, 320).Draw(t, "x") * nmPerMM, rapid.Float64Range(-320, 320).Draw(t, "y") * nmPerMM}.rounded()
		depth := f.depth(q)
		slanted := depth > 0 && depth < 1 // a slanted contact counts as overlap: see slantNM
		if !slanted && overlapExactly(a, b, q, buffer) != (depth > 0) {
			t.Fatalf("depth %v nm, the check says overlap %v", depth, depth == 0)
		}
		n, exact, ok := f.touch(q)
		if (depth > 0) != (ok && exact > 0.5*slantNM) {
			t.Fatalf("depth %v, touch %v %v", depth, exact, ok)
		}
		if !ok {
			return
		}
		if beyond := q.add(n.scale(exact + 3)).rounded(); buffer == 0 && leavesThroughEdge(f, q) && overlapExactly(a, b, beyond, buffer) {
			t.Fatalf("still overlapping after the way out, depth %v", exact)
		}
		if exact < 1000 {
			return
		}
		for i := range 32 {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / 32)
			if less := q.add(vec{cos, sin}.scale(exact - 1000)).rounded(); !overlapExactly(a, b, less, buffer) {
				t.Fatalf("depth %v nm, but a shorter motion towards %d/32 parts them", exact, i)
			}
		}
	})
}

// leavesThroughEdge reports whether the nearest point of the border lies inside a piece
// of it. (Through the tip of a narrow notch of the border the way out leads to the
// contact as well, but a step beyond it can be in the other side of the notch.)
func leavesThroughEdge(f *field, q vec) bool {
	nearest, least := 0, math.Inf(1)
	for i := range f.border {
		if d := f.border[i].distanceSq(q); d < least {
			nearest, least = i, d
		}
	}
	s := &f.border[nearest]
	t := q.sub(s.a).dot(s.u)
	return t > 10 && t < s.l-10
}

// TestDepthOfContact: closed forms, two rectangles.
func TestDepthOfContact(t *testing.T) {
	a, b := rectangle(100, 50), rectangle(30, 20)
	for _, c := range []struct{ x, y, buffer, want float64 }{
		{100, 0, 0, 0}, {99.999999, 0, 0, 1e-6}, {-30, 10, 0, 0}, {0, 50, 0, 0}, {100, 50, 0, 0},
		{99, 0, 0, 1}, {35, 10, 0, 30}, {103, 0, 4, 1}, {104, 0, 4, 0}, {103, 54, 5, 0}, {103, 53, 5, 5 - math.Hypot(3, 3)},
	} {
		got := fromNM(fieldFor(a, b, c.buffer).depth(vec{toNM(c.x), toNM(c.y)}))
		tolerance := 1e-7
		if c.want >= 10 {
			tolerance = 1 // read between corners of cells of 2.7 mm
		}
		if math.Abs(got-c.want) > tolerance {
			t.Errorf("at (%v, %v), buffer %v: %v mm, want %v", c.x, c.y, c.buffer, got, c.want)
		}
	}
}

// TestConvexPartsCover: the parts are convex and their areas add up.
func TestConvexPartsCover(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := cleaned(nmPoints(anyOutline(t, "outline")))
		total := 0.0
		for _, part := range convexParts(r) {
			total += part.doubleArea()
			for i, p := range part {
				if turnSign(p, at(part, i+1), at(part, i+2)) <= 0 {
					t.Fatalf("part %v is not convex", part)
				}
			}
		}
		if math.Abs(total-r.doubleArea()) > 1e-9*r.doubleArea() {
			t.Fatalf("the parts have an area of %v, the outline %v", total, r.doubleArea())
		}
	})
}

// TestExactSlot: a piece exactly as wide as a notch can be in it.
func TestExactSlot(t *testing.T) {
	u := []plane.Point{{X: 0, Y: 0}, {X: 30, Y: 0}, {X: 30, Y: 20}, {X: 20, Y: 20}, {X: 20, Y: 10}, {X: 10, Y: 10}, {X: 10, Y: 20}, {X: 0, Y: 20}}
	f := fieldFor(u, rectangle(10, 10), 0)
	for y := 10.0; y <= 20; y += 0.5 {
		if d := f.depth(vec{toNM(10), toNM(y)}); d != 0 {
			t.Errorf("at height %v in the slot: depth %v nm", y, d)
		}
		if d := f.depth(vec{toNM(10) + 1, toNM(y)}); d == 0 && y < 20 {
			t.Errorf("at height %v, one nanometre aside: free", y)
		}
	}
}

// TestSightsAgree: whatever pair and turn share a field, the depth is zero exactly
// where the independent check finds no overlap.
func TestSightsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &Problem{Width: 2000, Items: []Item{
			{Outline: anyOutline(t, "a"), Demand: 1, Turns: []float64{0, 180}},
			{Outline: anyOutline(t, "b"), Demand: 1, Turns: []float64{180, 0}},
			{Outline: rectangle(50, 30), Demand: 1, Turns: []float64{0, 180}},
		}}
		in, err := newInstance(p)
		if err != nil {
			t.Fatal(err)
		}
		in.prepareFields(2)
		for range 20 {
			a, b := rapid.IntRange(0, len(in.forms)-1).Draw(t, "form"), rapid.IntRange(0, len(in.forms)-1).Draw(t, "other")
			d := vec{rapid.Float64Range(-300, 300).Draw(t, "x") * nmPerMM, rapid.Float64Range(-300, 300).Draw(t, "y") * nmPerMM}.rounded()
			depth := in.sightOf(a, b).depthAt(d)
			if depth > 0 && depth < 1 {
				continue // a slanted contact, which counts as overlap: see slantNM
			}
			got := depth > 0
			if want := overlapExactly(mmPoints(in.forms[b].ring), mmPoints(in.forms[a].ring), d, 0); got != want {
				t.Fatalf("form %d at %v from form %d: overlap %v, the check says %v", a, d, b, got, want)
			}
			if got && !in.sightOf(a, b).reaches(d) {
				t.Fatalf("%v is not in the box of sight", d)
			}
		}
	})
}

func (v *sight) reaches(d vec) bool {
	return d.x > v.min.x && d.x < v.max.x && d.y > v.min.y && d.y < v.max.y
}

func mmPoints(r ring) []plane.Point {
	out := make([]plane.Point, len(r))
	for i, v := range r {
		out[i] = plane.Point{X: fromNM(v.x), Y: fromNM(v.y)}
	}
	return out
}
