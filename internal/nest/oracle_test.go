package nest

import (
	"context"
	"math"
	"math/rand/v2"
	"syscall"
	"testing"
	"time"

	"fairedge/internal/plane"
)

// seatPlate returns an outline like a chair seat: a trapezium with a bowed front and
// rounded corners, about 450 mm wide and deep (common practice: seats are 400 to
// 500 mm), its back narrower than its front.
func seatPlate(front, back, depth, bow float64) []plane.Point {
	var out []plane.Point
	for i := range 9 {
		s := float64(i)/4 - 1 // along the front, left to right
		out = append(out, plane.Point{X: s * front / 2, Y: -bow * (1 - s*s)})
	}
	for _, p := range [][2]float64{{back/2 + 4, depth - 40}, {back/2 - 12, depth - 12}, {back/2 - 40, depth}} {
		out = append(out, plane.Point{X: p[0], Y: p[1]})
	}
	for _, p := range [][2]float64{{back/2 - 40, depth}, {back/2 - 12, depth - 12}, {back/2 + 4, depth - 40}} {
		out = append(out, plane.Point{X: -p[0], Y: p[1]})
	}
	return out
}

// seatSet returns plates and boxing strips of n seats on cloth of 1370 mm, 54 in, the
// usual width of furnishing cloth.
func seatSet(n int, strips bool, turns ...float64) *Problem {
	p := &Problem{Width: 1370, Buffer: 3, EdgeBuffer: 10}
	rng := rand.New(rand.NewPCG(uint64(n), 4))
	for range n {
		plate := seatPlate(430+60*rng.Float64(), 360+60*rng.Float64(), 410+60*rng.Float64(), 25*rng.Float64())
		p.Items = append(p.Items, Item{Outline: plate, Demand: 1, Turns: turns})
		if strips {
			p.Items = append(p.Items, Item{Outline: rectangle(640+300*rng.Float64(), 76), Demand: 1, Turns: turns})
		}
	}
	return p
}

// exhaustive is the slow oracle: bottom-left fill at the corners of the no-fit borders
// in every order and every turn of the pieces. It returns the shortest used length, mm.
func exhaustive(t *testing.T, p *Problem) float64 {
	in, err := newInstance(p)
	if err != nil {
		t.Fatal(err)
	}
	in.prepareFields(2)
	s := newRun(context.Background(), in, Options{}, defaultSearchParams()).newSearcher(0)
	e := exhaustion{searcher: s, best: math.Inf(1)}
	s.lay.strip.length = in.enough()
	e.from(nil, 0, 0)
	return fromNM(e.best)
}

type exhaustion struct {
	*searcher
	best float64
}

func (e *exhaustion) from(placed []int, taken uint, used float64) {
	if used >= e.best {
		return
	}
	if len(placed) == len(e.in.pieces) {
		e.best = used
		return
	}
	for k := range e.in.pieces {
		if taken&(1<<k) != 0 {
			continue
		}
		for i := range e.in.pieces[k].poses {
			f := filler{searcher: e.searcher, end: math.Inf(1), all: e.boundsOf(k, i)}
			e.look(k, i, placed)
			f.consider(k, i)
			e.lay.pose[k], e.lay.at[k] = i, f.best.at
			e.from(append(placed[:len(placed):len(placed)], k), taken|1<<k, math.Max(used, e.in.measure(f.end)))
		}
	}
}

// TestSeatSetsAgainstExhaustiveSearch: within 2 % of all orders and turns of
// bottom-left fill, never longer than rows, on small sets.
func TestSeatSetsAgainstExhaustiveSearch(t *testing.T) {
	for _, c := range []struct {
		name string
		p    *Problem
	}{
		{"2 plates", seatSet(2, false, 0, 180)},
		{"3 plates", seatSet(3, false, 0, 180)},
		{"4 plates", seatSet(4, false, 0, 180)},
		{"5 plates, nap one way", seatSet(5, false, 0)},
		{"2 plates and strips", seatSet(2, true, 0, 180)},
		{"2 plates and strips, quarter turns", seatSet(2, true, 0, 90, 180, 270)},
		{"3 plates and strips, nap one way", seatSet(3, true, 0)},
	} {
		want := exhaustive(t, c.p)
		r := solve(t, c.p, 0)
		t.Logf("%s: %.1f mm, exhaustive %.1f (%+.2f %%), rows %.1f", c.name, r.UsedLength, want, 100*(r.UsedLength/want-1), r.RowsLength)
		if r.UsedLength > 1.02*want {
			t.Errorf("%s: %v mm, exhaustive search finds %v", c.name, r.UsedLength, want)
		}
		if r.UsedLength > r.RowsLength {
			t.Errorf("%s: longer than rows", c.name)
		}
	}
}

// cpuTime returns the processor time of this process so far, which a busy machine
// does not stretch as it does the time of day.
func cpuTime(t testing.TB) time.Duration {
	var use syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &use); err != nil {
		t.Fatal(err)
	}
	return time.Duration(use.Utime.Nano() + use.Stime.Nano())
}

// TestSeatSetsInTime: sets of 2 to 16 plates with strips are answered in 2 s of two
// processors.
func TestSeatSetsInTime(t *testing.T) {
	for _, n := range []int{2, 6, 16} {
		p := seatSet(n, true, 0, 180)
		began := cpuTime(t)
		r := solve(t, p, 0)
		took := cpuTime(t) - began
		t.Logf("%d plates: %.1f mm, density %.1f %%, rows %.1f, fill %.1f, %v", n, r.UsedLength, 100*r.Density, r.RowsLength, r.FillLength, took)
		if took > 4*time.Second {
			t.Errorf("%d plates took %v", n, took)
		}
	}
}
