package nestcheck

import (
	"math"
	"math/big"
	"strings"
	"testing"

	"fairedge/internal/plane"

	"pgregory.net/rapid"
)

func poly(xy ...int64) polygon {
	var p polygon
	for i := 0; i < len(xy); i += 2 {
		p = append(p, point{xy[i], xy[i+1]})
	}
	return p
}

func (p polygon) moved(dx, dy int64) polygon {
	out := make(polygon, len(p))
	for i, v := range p {
		out[i] = point{v.x + dx, v.y + dy}
	}
	return out
}

// TestInteriorsMeet: every way in which borders can touch, decided by hand.
func TestInteriorsMeet(t *testing.T) {
	square := poly(0, 0, 10, 0, 10, 10, 0, 10)
	slot := poly(0, 0, 30, 0, 30, 20, 20, 20, 20, 10, 10, 10, 10, 20, 0, 20) // a U with a slot 10 wide
	diamond := poly(0, -10, 10, 0, 0, 10, -10, 0)
	const huge = 1 << 45
	for _, c := range []struct {
		name string
		p, q polygon
		want bool
	}{
		{"the same place", square, square, true},
		{"edge to edge", square, square.moved(10, 0), false},
		{"edge to edge, one nanometre in", square, square.moved(9, 0), true},
		{"part of an edge", square, square.moved(10, 7), false},
		{"corner to corner", square, square.moved(10, 10), false},
		{"one inside", square, poly(4, 4, 6, 4, 6, 6, 4, 6), true},
		{"one inside, sharing a corner", square, poly(0, 0, 6, 0, 6, 6, 0, 6), true},
		{"fits the slot", slot, square.moved(10, 10), false},
		{"sits in the slot, sunk by one", slot, square.moved(10, 9), true},
		{"above the slot", slot, square.moved(10, 20), false},
		{"too wide for the slot", slot, poly(10, 10, 21, 10, 21, 20, 10, 20), true},
		{"corners on middles of edges only", square, poly(5, 0, 10, 5, 5, 10, 0, 5), true},
		{"edges through corners", square.moved(-5, -5), diamond, true},
		{"corner touches a slanted edge", diamond, square.moved(5, 5), false},
		{"corner sunk in a slanted edge by half", diamond, square.moved(5, 4), true},
		{"huge, a hair apart", poly(0, 0, huge, 1, huge, huge, 0, huge), poly(0, 0, 0, -5, huge, -5, huge, 1), false},
		{"huge, a hair in", poly(0, 0, huge, 1, huge, huge, 0, huge), poly(0, 0, 0, -5, huge, -5, huge, 2), true},
		{"cross of two bars without a corner inside", poly(-20, -1, 20, -1, 20, 1, -20, 1), poly(-1, -20, 1, -20, 1, 20, -1, 20), true},
	} {
		if got := interiorsMeet(c.p, c.q); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
		if got := interiorsMeet(c.q, c.p); got != c.want {
			t.Errorf("%s, the other way round: %v, want %v", c.name, got, c.want)
		}
	}
}

// starPolygon returns an outline that is star-shaped about the origin, on a coarse
// lattice so that touching is common.
func starPolygon(t *rapid.T, name string) polygon {
	n := rapid.IntRange(3, 9).Draw(t, name+".n")
	var p polygon
	for i := range n {
		a := 2 * math.Pi * float64(i) / float64(n)
		r := rapid.Float64Range(3, 9).Draw(t, name+".r")
		p = append(p, point{int64(math.Round(r * math.Cos(a))), int64(math.Round(r * math.Sin(a)))})
	}
	for i, a := range p {
		if side(point{}, a, p[(i+1)%len(p)]) <= 0 {
			t.Skip("not star-shaped after rounding")
		}
	}
	return p
}

// TestInteriorsMeetAgainstClipping: the oracle cuts both outlines in triangles about
// their centres and clips triangle by triangle in rational numbers.
func TestInteriorsMeetAgainstClipping(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, q := starPolygon(t, "p"), starPolygon(t, "q")
		dx, dy := rapid.Int64Range(-18, 18).Draw(t, "dx"), rapid.Int64Range(-18, 18).Draw(t, "dy")
		got := interiorsMeet(p, q.moved(dx, dy))
		if want := trianglesMeet(p, q, point{dx, dy}); got != want {
			t.Fatalf("%v and %v + (%d, %d): %v, clipping says %v", p, q, dx, dy, got, want)
		}
	})
}

type ratPoint struct{ x, y *big.Rat }

func trianglesMeet(p, q polygon, d point) bool {
	for i := range p {
		for j := range q {
			a := []point{{}, p[i], p[(i+1)%len(p)]}
			b := []point{d, {q[j].x + d.x, q[j].y + d.y}, {q[(j+1)%len(q)].x + d.x, q[(j+1)%len(q)].y + d.y}}
			if clippedArea(a, b).Sign() > 0 {
				return true
			}
		}
	}
	return false
}

// clippedArea returns twice the area of the intersection of two triangles.
func clippedArea(a, b []point) *big.Rat {
	var rest []ratPoint
	for _, v := range a {
		rest = append(rest, ratPoint{big.NewRat(v.x, 1), big.NewRat(v.y, 1)})
	}
	for i, u := range b {
		w := b[(i+1)%3]
		height := func(v ratPoint) *big.Rat {
			l := new(big.Rat).Mul(big.NewRat(w.x-u.x, 1), new(big.Rat).Sub(v.y, big.NewRat(u.y, 1)))
			r := new(big.Rat).Mul(big.NewRat(w.y-u.y, 1), new(big.Rat).Sub(v.x, big.NewRat(u.x, 1)))
			return l.Sub(l, r)
		}
		var kept []ratPoint
		for k, v := range rest {
			next := rest[(k+1)%len(rest)]
			hv, hn := height(v), height(next)
			if hv.Sign() >= 0 {
				kept = append(kept, v)
			}
			if hv.Sign()*hn.Sign() < 0 {
				s := new(big.Rat).Quo(hv, new(big.Rat).Sub(hv, hn))
				x := new(big.Rat).Add(v.x, new(big.Rat).Mul(s, new(big.Rat).Sub(next.x, v.x)))
				y := new(big.Rat).Add(v.y, new(big.Rat).Mul(s, new(big.Rat).Sub(next.y, v.y)))
				kept = append(kept, ratPoint{x, y})
			}
		}
		rest = kept
	}
	area := new(big.Rat)
	for k, v := range rest {
		next := rest[(k+1)%len(rest)]
		area.Add(area, new(big.Rat).Mul(v.x, next.y))
		area.Sub(area, new(big.Rat).Mul(v.y, next.x))
	}
	return area
}

func TestDistance(t *testing.T) {
	square := poly(0, 0, 10, 0, 10, 10, 0, 10)
	for _, c := range []struct {
		q    polygon
		d    int64
		want bool
	}{
		{square.moved(15, 0), 5, false},
		{square.moved(15, 0), 6, true},
		{square.moved(13, 14), 5, false}, // corner to corner, 3-4-5
		{square.moved(13, 14), 6, true},
		{poly(20, 0, 30, 10, 20, 20), 10, false},
		{poly(5, 17, 17, 5, 17, 17), 2, true}, // x + y = 22, corner (10, 10): √2 away
		{poly(5, 17, 17, 5, 17, 17), 1, false},
		{poly(5, 16, 16, 5, 17, 17), 1, true}, // x + y = 21: half of √2
	} {
		if got := closerThan(square, c.q, c.d); got != c.want {
			t.Errorf("%v closer than %d: %v", c.q, c.d, got)
		}
	}
}

func TestCheckNamesWhatIsWrong(t *testing.T) {
	rectangle := []plane.Point{{X: 0, Y: 0}, {X: 100, Y: 0}, {X: 100, Y: 50}, {X: 0, Y: 50}}
	sound := func() *Lay {
		return &Lay{Width: 100, UsedLength: 100, Sheets: 1, Items: []Item{{Outline: rectangle, Demand: 2, Turns: []float64{0, 180}}},
			Pieces: []Piece{{}, {Degrees: 180, At: plane.Vec{X: 100, Y: 100}}}}
	}
	if err := Check(sound()); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		want string
		harm func(*Lay)
	}{
		{"overlap", func(l *Lay) { l.Pieces[1].At.Y -= 1e-6 }},
		{"leaves the cloth", func(l *Lay) { l.Pieces[1].At.Y += 1e-6 }},
		{"leaves the cloth", func(l *Lay) { l.UsedLength -= 1e-6 }},
		{"leaves the cloth", func(l *Lay) { l.EdgeBuffer = 1e-6 }},
		{"closer than the buffer", func(l *Lay) { l.Buffer = 1 }},
		{"turned by", func(l *Lay) { l.Items[0].Turns = nil }},
		{"face down", func(l *Lay) { l.Pieces[1].Flipped, l.Pieces[1].At.X = true, 0 }},
		{"wanted", func(l *Lay) { l.Items[0].Demand = 3 }},
		{"no known item", func(l *Lay) { l.Pieces[0].Item = 7 }},
		{"on sheet", func(l *Lay) { l.Pieces[0].Sheet = 1 }},
		{"over its length", func(l *Lay) { l.SheetLength = 99 }},
		{"off the pattern", func(l *Lay) { l.Items[0].Repeat = &Repeat{Along: 70} }},
		{"off the pattern", func(l *Lay) { l.Items[0].Repeat = &Repeat{Across: 70} }},
		{"off the pattern", func(l *Lay) { l.Items[0].Repeat = &Repeat{Along: 100, Across: 100, HalfDrop: true} }},
	} {
		l := sound()
		c.harm(l)
		if err := Check(l); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want %q", err, c.want)
		}
	}
	l := sound()
	l.Items[0].Repeat = &Repeat{Along: 100, Across: 50, HalfDrop: false}
	if err := Check(l); err != nil {
		t.Errorf("both pieces lie on the pattern: %v", err)
	}
}
