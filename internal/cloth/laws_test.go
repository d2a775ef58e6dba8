package cloth_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"fairedge/internal/cloth"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/shapefile"

	"pgregory.net/rapid"
)

// anySet draws one to three kinds of pads on any cloth that may hold them.
func anySet(t *rapid.T) (cloth.Cloth, []cloth.Order) {
	c := anyCloth(t)
	var orders []cloth.Order
	for range rapid.IntRange(1, 2).Draw(t, "kinds") {
		back := rapid.Float64Range(300, 440).Draw(t, "back")
		front := back + rapid.Float64Range(-20, 110).Draw(t, "taper")
		depth := rapid.Float64Range(330, 460).Draw(t, "depth")
		s, err := shapefile.Trapezoid(length.Length(back), length.Length(front), length.Length(depth), shapefile.AllCorners(length.Length(rapid.Float64Range(10, 60).Draw(t, "radius"))))
		if err != nil {
			t.Fatal(err)
		}
		r, err := pad.Named(rapid.SampledFrom([]string{"tie-on", "boxed-zip", "tie-on-square"}).Draw(t, "recipe"))
		if err != nil {
			t.Fatal(err)
		}
		r.Cloth.Width, r.Cloth.Selvedge = c.Width, c.Selvedge
		if rapid.IntRange(0, 3).Draw(t, "bias") == 0 {
			r.Piping.Cut = pad.Bias
		}
		p, err := pad.Cut(s, r)
		if err != nil {
			t.Fatal(err)
		}
		orders = append(orders, cloth.Order{Name: "chair", Pad: p, Pads: rapid.IntRange(1, 3).Draw(t, "pads")})
	}
	return c, orders
}

func anyCloth(t *rapid.T) cloth.Cloth {
	c := cloth.DefaultCloth()
	c.Width = length.Length(rapid.Float64Range(1130, 1600).Draw(t, "width"))
	c.Selvedge = length.Length(rapid.Float64Range(5, 25).Draw(t, "selvedge"))
	c.Gap = length.Length(rapid.SampledFrom([]float64{0, 3, 7.5}).Draw(t, "gap"))
	c.Way = rapid.SampledFrom([]cloth.Way{cloth.EitherWay, cloth.OneNap, cloth.OneDesign}).Draw(t, "way")
	c.Railroad = rapid.IntRange(0, 3).Draw(t, "railroad") == 0
	c.Tilt = rapid.SampledFrom([]float64{0, 0, 2}).Draw(t, "tilt")
	switch rapid.IntRange(0, 3).Draw(t, "kind") {
	case 0:
		c.Fold = true
	case 1:
		c.Repeat = cloth.Repeat{Along: length.Length(rapid.Float64Range(50, 640).Draw(t, "along")), Across: length.Length(rapid.Float64Range(50, 340).Draw(t, "across")),
			HalfDrop: rapid.Bool().Draw(t, "half"), TopOnly: rapid.Bool().Draw(t, "top only")}
		if rapid.Bool().Draw(t, "known") {
			c.Repeat.First = &cloth.Motif{Along: length.Length(rapid.Float64Range(0, 700).Draw(t, "first")), Across: length.Length(rapid.Float64Range(0, 700).Draw(t, "column"))}
		}
	}
	return c
}

// TestAnyLayIsSound: whatever is laid on whatever cloth is proven by a check that shares no
// code with the solver, is no longer than a lay in rows, and adds up.
func TestAnyLayIsSound(t *testing.T) {
	o := cloth.DefaultOptions()
	o.Params.Work = 6_000
	rapid.Check(t, func(t *rapid.T) {
		c, orders := anySet(t)
		l, err := cloth.Lay(context.Background(), c, orders, o)
		if err != nil {
			t.Fatal(err, errors.Unwrap(err))
		}
		gap := c.Gap.Millimetres()
		for _, p := range l.Parts {
			if p.Strip {
				gap = 0 // strips may share a line
			}
		}
		if err := prove(l, gap); err != nil {
			t.Fatal(err)
		}
		if l.Needed > l.Rows+length.Millimetre/1000 {
			t.Fatalf("needed %v, in rows %v", l.Needed, l.Rows)
		}
		if l.Buy < l.Needed-length.Millimetre/50 || l.Usage <= 0 || l.Usage > 1 {
			t.Fatalf("needed %v, buy %v, usage %v", l.Needed, l.Buy, l.Usage)
		}
		checkLeftOvers(t, l)
	})
}

// checkLeftOvers samples every left-over rectangle: no point lies in a piece.
func checkLeftOvers(t *rapid.T, l *cloth.Laid) {
	for _, left := range l.Left {
		if left.At.Min.X < -1e-9 || left.At.Max.X > l.Cloth.Width.Millimetres()+1e-9 || left.At.Min.Y < -1e-9 {
			t.Fatalf("%s leaves the cloth", left.Words)
		}
		for i := range 12 {
			for j := range 12 {
				q := plane.Point{X: left.At.Min.X + (float64(i)+0.5)/12*left.At.Width(), Y: left.At.Min.Y + (float64(j)+0.5)/12*left.At.Height()}
				for _, p := range l.Pieces {
					if inside(l.Outline(p), q) || p.Folded && !p.SpareTwin && inside(l.TwinOutline(p), q) {
						t.Fatalf("%s: piece %d lies in it", left.Words, p.Number)
					}
				}
			}
		}
	}
}

// inside is the even-odd rule.
func inside(polygon []plane.Point, q plane.Point) bool {
	in := false
	for i, a := range polygon {
		b := polygon[(i+1)%len(polygon)]
		if (a.Y > q.Y) != (b.Y > q.Y) && q.X < a.X+(q.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			in = !in
		}
	}
	return in
}

// TestNeverLongerThanRows: an own lay by shelves, box beside box, the tallest first.
func TestNeverLongerThanRows(t *testing.T) {
	p := padOf(t, seat(t), "tie-on")
	for _, way := range []cloth.Way{cloth.EitherWay, cloth.OneNap} {
		for pads := 1; pads <= 5; pads += 2 {
			c := cloth.DefaultCloth()
			c.Way = way
			l := mustLay(t, c, quick(), cloth.Order{Pad: p, Pads: pads})
			if rows := shelves(l); l.Needed.Millimetres() > rows+1e-3 {
				t.Errorf("%d pads, %s: needed %v, in rows %.1f mm", pads, way, l.Needed, rows)
			}
		}
	}
}

func shelves(l *cloth.Laid) float64 {
	var boxes []box
	for _, part := range l.Parts {
		b := part.Cut.Bounds()
		for range part.Count {
			boxes = append(boxes, box{w: b.Width(), h: b.Height()})
		}
	}
	slices.SortStableFunc(boxes, func(a, b box) int { return int(math.Copysign(1, b.h-a.h)) })
	gap, usable := l.Cloth.Gap.Millimetres(), l.Cloth.Usable().Millimetres()
	x, y, tall := 0.0, 0.0, 0.0
	for _, b := range boxes {
		if x > 0 && x+b.w > usable+1e-6 {
			x, y, tall = 0, y+tall+gap, 0
		}
		x += b.w + gap
		tall = math.Max(tall, b.h)
	}
	return y + tall + 2*l.Cloth.Squaring.Millimetres()
}

// TestMorePadsTakeMoreCloth: the length needed never falls as pads are added.
func TestMorePadsTakeMoreCloth(t *testing.T) {
	p := padOf(t, seat(t), "tie-on")
	last := length.Length(0)
	for pads := 1; pads <= 7; pads++ {
		l := mustLay(t, cloth.DefaultCloth(), quick(), cloth.Order{Pad: p, Pads: pads})
		if l.Needed < last-length.Millimetre {
			t.Errorf("%d pads need %v, one fewer %v", pads, l.Needed, last)
		}
		last = l.Needed
	}
}

// TestScale: twice the seats on twice the cloth need twice the length.
func TestScale(t *testing.T) {
	o := quick()
	for _, n := range []int{1, 5} {
		one := mustLay(t, bare(1400*mm), o, cloth.Order{Pad: block(430*mm, 390*mm), Pads: n})
		two := mustLay(t, bare(2800*mm), o, cloth.Order{Pad: block(860*mm, 780*mm), Pads: n})
		if math.Abs(float64(two.Needed-2*one.Needed)) > 1e-3 {
			t.Errorf("%d squares: %v, at twice the size %v", n, one.Needed, two.Needed)
		}
	}
}

// TestSameLay: the same orders give the same bytes.
func TestSameLay(t *testing.T) {
	p := padOf(t, seat(t), "tie-on")
	var reports []string
	for range 2 {
		l := mustLay(t, cloth.DefaultCloth(), quick(), cloth.Order{Pad: p, Pads: 4})
		data, err := cloth.Report(l, nil, cloth.TakeOff(l, nil, pad.DefaultSpare()))
		if err != nil {
			t.Fatal(err)
		}
		reports = append(reports, string(data))
	}
	if reports[0] != reports[1] {
		t.Error("two runs differ")
	}
}
