package nest

import (
	"context"
	"math"
	"strings"
	"testing"

	"fairedge/internal/plane"
	"fairedge/internal/problem"

	"pgregory.net/rapid"
)

// TestAnyProblem: every problem that is drawn gets a lay that the independent check
// accepts (Solve proves overlap, cloth, buffers, turns and numbers before it returns),
// not worse than rows and fill, whose density and sheets are what its places say.
func TestAnyProblem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyProblem(t)
		r, err := Solve(context.Background(), p, Options{Seed: rapid.Uint64().Draw(t, "seed"), Work: 3000})
		if err != nil {
			t.Fatal(err, problemCause(err))
		}
		total := r.UsedLength + float64(r.Sheets-1)*p.SheetLength
		if total > r.RowsLength+1e-6 || total > r.FillLength+1e-6 {
			t.Fatalf("length %v, rows %v, fill %v", total, r.RowsLength, r.FillLength)
		}
		if r.Sheets > 0 && total > 0 && math.Abs(r.Density-p.ItemArea()/(total*p.Width)) > 1e-6 {
			t.Fatalf("density %v, area over cloth is %v", r.Density, p.ItemArea()/(total*p.Width))
		}
		if end := farthest(p, r); math.Abs(end+p.EdgeBuffer-r.UsedLength) > 1e-5 && len(r.Placements) > 0 {
			t.Fatalf("the last piece ends at %v, used length %v, margin %v", end, r.UsedLength, p.EdgeBuffer)
		}
	})
}

func problemCause(err error) error {
	if u, ok := err.(interface{ Unwrap() error }); ok {
		return u.Unwrap()
	}
	return nil
}

// farthest returns where the last piece on the last sheet ends.
func farthest(p *Problem, r *Result) float64 {
	end := 0.0
	for _, at := range r.Placements {
		if at.Sheet == r.Sheets-1 {
			for _, v := range p.Outline(at) {
				end = math.Max(end, v.X)
			}
		}
	}
	return end
}

// TestTurnedOutlineSameField: turning both outlines and the displacement by a half
// turn leaves the depth as it was.
func TestTurnedOutlineSameField(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyOutline(t, "a"), anyOutline(t, "b")
		half := func(o []plane.Point) []plane.Point {
			out := make([]plane.Point, len(o))
			for i, v := range o {
				out[i] = plane.Point{X: -v.X, Y: -v.Y}
			}
			return out
		}
		q := vec{rapid.Float64Range(-300, 300).Draw(t, "x") * nmPerMM, rapid.Float64Range(-300, 300).Draw(t, "y") * nmPerMM}.rounded()
		_, d1, ok1 := fieldFor(a, b, 0).touch(q)
		_, d2, ok2 := fieldFor(half(a), half(b), 0).touch(vec{-q.x, -q.y})
		if ok1 && ok2 && math.Abs(d1-d2) > 1e-3 {
			t.Fatalf("depth %v nm, turned by half %v", d1, d2)
		}
	})
}

// TestPatternRepeat: a motif every 640 mm along and 350 mm across; every plate has
// the motif in its middle. (Solve's proof checks the places as well; here they are
// worked out anew.)
func TestPatternRepeat(t *testing.T) {
	for _, half := range []bool{false, true} {
		p := seatSet(4, true, 0)
		for i := range p.Items {
			if i%2 == 0 { // the plates; strips lie free
				p.Items[i].Repeat = &Repeat{Reference: plane.Point{X: 0, Y: 200}, Along: 640, AlongOffset: 55, Across: 350, AcrossOffset: 20, HalfDrop: half}
			}
		}
		r := solve(t, p, 200_000)
		for _, at := range r.Placements {
			if p.Items[at.Item].Repeat == nil {
				continue
			}
			x, y := at.At.X-55, at.At.Y+200-20
			column := math.Round(y / 350)
			if half && math.Mod(column, 2) != 0 {
				x -= 320
			}
			if math.Abs(y-350*column) > 1e-6 || math.Abs(x-640*math.Round(x/640)) > 1e-6 {
				t.Errorf("half drop %v: a motif at (%v, %v)", half, x, y)
			}
		}
		free := seatSet(4, true, 0)
		if f := solve(t, free, 200_000); f.UsedLength > r.UsedLength+1e-6 {
			t.Errorf("free pieces need %v mm, bound to the pattern %v", f.UsedLength, r.UsedLength)
		}
	}
}

func TestFixedPiecesStay(t *testing.T) {
	p := &Problem{Width: 1000, Items: []Item{{Outline: rectangle(400, 300), Demand: 4}, {Outline: rectangle(100, 1000)}}}
	p.Fixed = []Placement{{Item: 1, At: plane.Vec{X: 450}}}
	r := solve(t, p, 100_000)
	if got := r.Placements[len(r.Placements)-1]; got != p.Fixed[0] {
		t.Errorf("the fixed piece moved to %+v", got)
	}
	if math.Abs(r.UsedLength-950) > 1e-5 { // three before the bar, one after it
		t.Errorf("used %v mm, want 950", r.UsedLength)
	}
}

func TestSheets(t *testing.T) {
	// Nine blanks of 600 × 600 on sheets of 2000 × 1000: three on each (area alone
	// would allow five).
	p := &Problem{Width: 1000, SheetLength: 2000, Items: []Item{{Outline: rectangle(600, 600), Demand: 9, Turns: []float64{0, 90}}}}
	if r := solve(t, p, 100_000); r.Sheets != 3 || math.Abs(r.UsedLength-1800) > 1e-5 {
		t.Errorf("%d sheets, %v mm of the last", r.Sheets, r.UsedLength)
	}
}

func TestStoppedGivesBestSoFar(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	told := 0
	r, err := Solve(ctx, readInstance(t, "fu"), Options{Work: 1 << 40, Progress: func(p Progress) {
		if told++; told == 3 {
			cancel()
		}
	}})
	if err != nil || !r.Stopped || r.UsedLength > r.FillLength {
		t.Errorf("%v, %+v", err, r)
	}
}

func TestProgressOnlyImproves(t *testing.T) {
	last := math.Inf(1)
	_, err := Solve(context.Background(), readInstance(t, "albano"), Options{Work: 50_000, Progress: func(p Progress) {
		if p.UsedLength >= last || p.Density <= 0 || p.Density > 1 {
			t.Errorf("%+v after %v mm", p, last)
		}
		last = p.UsedLength
	}})
	if err != nil {
		t.Fatal(err)
	}
}

func TestUnsoundProblemsAreNamed(t *testing.T) {
	bowTie := []plane.Point{{X: 0, Y: 0}, {X: 100, Y: 100}, {X: 100, Y: 0}, {X: 0, Y: 90}}
	for _, c := range []struct {
		want string
		p    Problem
	}{
		{"no sound size", Problem{}},
		{"no sound size", Problem{Width: math.NaN()}},
		{"negative", Problem{Width: 100, Buffer: -1}},
		{"no area", Problem{Width: 100, Items: []Item{{Outline: rectangle(10, 0), Demand: 1}}}},
		{"no area", Problem{Width: 100, Items: []Item{{Demand: 1}}}},
		{"edges cross", Problem{Width: 100, Items: []Item{{Outline: bowTie, Demand: 1}}}},
		{"does not fit", Problem{Width: 100, Items: []Item{{Outline: rectangle(10, 101), Demand: 1}}}},
		{"does not fit", Problem{Width: 100, SheetLength: 50, Items: []Item{{Outline: rectangle(60, 60), Demand: 1}}}},
		{"does not fit", Problem{Width: 100, Items: []Item{{Outline: rectangle(60, 60), Demand: 1, Repeat: &Repeat{Across: 90, AcrossOffset: 80}}}}},
		{"below 1 mm", Problem{Width: 100, Items: []Item{{Outline: rectangle(60, 60), Demand: 1, Repeat: &Repeat{Across: 0.1}}}}},
		{"half-drop", Problem{Width: 100, Items: []Item{{Outline: rectangle(60, 60), Demand: 1, Repeat: &Repeat{Across: 10, HalfDrop: true}}}}},
		{"less than no", Problem{Width: 100, Items: []Item{{Outline: rectangle(60, 60), Demand: -1}}}},
		{"fixed piece", Problem{Width: 100, Fixed: []Placement{{Item: 2}}}},
	} {
		_, err := Solve(context.Background(), &c.p, Options{Work: 100})
		if err == nil || !strings.Contains(err.Error(), c.want) || problem.KindOf(err) == problem.Internal {
			t.Errorf("got %v, want %q", err, c.want)
		}
	}
}

// TestWeightsStayFinite: a pair that never comes apart doubles its weight in every
// pass; thousands of passes must leave sums finite.
func TestWeightsStayFinite(t *testing.T) {
	c, p := newConflicts(2), defaultSearchParams()
	c.set(0, 1, 1e12)
	for range 5000 {
		c.learn(&p)
	}
	if total := c.weighted(0); math.IsInf(total, 0) || math.IsNaN(total) {
		t.Errorf("weighted depth %v", total)
	}
}
