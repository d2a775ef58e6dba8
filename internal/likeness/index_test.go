package likeness_test

import (
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"syscall"
	"testing"
	"time"

	"fairedge/internal/curve"
	"fairedge/internal/likeness"
)

// manySeats returns n random seats, each its own.
func manySeats(n int) []seat {
	rng := rand.New(rand.NewPCG(21, 22))
	seats := make([]seat, n)
	for i := range seats {
		seats[i] = randomSeat(rng)
	}
	return seats
}

func indexOf(seats []seat) *likeness.Index {
	var x likeness.Index
	for i, s := range seats {
		x.Add(int64(i), mustSign(s.outline()))
	}
	return &x
}

// Each of many kept seats, traced again by a hand that wavers by 1 mm rms, laid anyhow and
// turned over, is found among 10,000: within the first ten by their signatures, and the
// first when those are measured, unless another kept seat is as near to the tracing.
func TestTheRightSeatIsFoundAmongTenThousand(t *testing.T) {
	seats := manySeats(10000)
	x := indexOf(seats)
	rng := rand.New(rand.NewPCG(31, 32))
	for _, o := range []likeness.Options{{}, {Flip: true}, {Flip: true, Scale: true}} {
		queries := 8
		if os.Getenv("FAIREDGE_SLOW") != "" {
			queries = 100
		}
		among, first := 0, 0
		for range queries {
			i := rng.IntN(len(seats))
			query := anyMotion(rng, o).Path(wavered(rng, seats[i].outline(), 1))
			matches := x.Nearest(mustSign(query), 10, o)
			for _, m := range matches {
				if m.ID == int64(i) {
					among++
				}
			}
			found, err := likeness.Refine(query, matches, func(id int64) (curve.Path, error) { return seats[id].outline(), nil }, o)
			if err != nil {
				t.Fatal(err)
			}
			if found[0].ID == int64(i) {
				first++
			} else if right := register(t, seats[i].outline(), query, o); right.RMS < found[0].RMS-0.01 {
				t.Errorf("%+v: seat %d at %.2f mm rms is not found; seat %d at %.2f is put first", o, i, right.RMS, found[0].ID, found[0].RMS)
			}
		}
		t.Logf("%+v: among the first ten %d of %d, the first %d", o, among, queries, first)
		if among < queries-1 || first < queries*9/10 {
			t.Errorf("%+v: of %d seats %d are among the first ten, %d the first", o, queries, among, first)
		}
	}
}

// The slow oracle compares all of them without the bound.
func TestTheBoundLosesNoMatch(t *testing.T) {
	var signatures []likeness.Signature
	var all likeness.Index
	for i, s := range manySeats(400) {
		signatures = append(signatures, mustSign(s.outline()))
		all.Add(int64(i), signatures[i])
	}
	rng := rand.New(rand.NewPCG(41, 42))
	for _, o := range []likeness.Options{{}, {Flip: true}, {Scale: true}, {Flip: true, Scale: true}} {
		query := mustSign(anyMotion(rng, o).Path(wavered(rng, randomSeat(rng).outline(), 3)))
		got := all.Nearest(query, 7, o)
		var want []likeness.Match
		for i, s := range signatures { // an index of one has nothing to pass over
			var one likeness.Index
			one.Add(int64(i), s)
			want = append(want, one.Nearest(query, 1, o)...)
		}
		for k := range got {
			least := 0
			for i := range want {
				if want[i].RMS < want[least].RMS {
					least = i
				}
			}
			if got[k] != want[least] {
				t.Errorf("%+v: match %d is %+v, want %+v", o, k, got[k], want[least])
			}
			want[least].RMS = math.Inf(1)
		}
	}
}

// A signature's distance is that of points of equal share of the way, minimised over every
// start and turn: the slow oracle tries them all on 512 points.
func TestSignatureDistanceAgainstAllStarts(t *testing.T) {
	rng := rand.New(rand.NewPCG(51, 52))
	for range 6 {
		a, b := randomSeat(rng).outline(), randomSeat(rng).outline()
		var x likeness.Index
		x.Add(1, mustSign(b))
		got := x.Nearest(mustSign(a), 1, likeness.Options{})[0].RMS
		want := allStarts(a, b)
		// Harmonics beyond the 24th carry little on a seat; fillets some hundredths of a mm.
		if math.Abs(got-want) > 0.02*want+0.02 {
			t.Errorf("signatures say %.4f mm, all starts %.4f", got, want)
		}
	}
}

func allStarts(a, b curve.Path) float64 {
	const n = 512
	p, q := centred(a, n), centred(b, n)
	best := math.Inf(1)
	for s := range n {
		var dot, cross, sum float64
		for i := range p {
			u, v := p[i], q[(i+s)%n]
			dot += u[0]*v[0] + u[1]*v[1]
			cross += u[0]*v[1] - u[1]*v[0]
			sum += u[0]*u[0] + u[1]*u[1] + v[0]*v[0] + v[1]*v[1]
		}
		best = math.Min(best, (sum-2*math.Hypot(dot, cross))/n)
	}
	return math.Sqrt(best)
}

func centred(p curve.Path, n int) [][2]float64 {
	around := p.ArcLength(1e-3)
	out := make([][2]float64, n)
	var mx, my float64
	at := make([]float64, n)
	for i := range at {
		at[i] = around * float64(i) / float64(n)
	}
	for i, s := range p.AtLengths(at, 1e-3) {
		out[i] = [2]float64{s.Point.X, s.Point.Y}
		mx, my = mx+s.Point.X/float64(n), my+s.Point.Y/float64(n)
	}
	for i := range out {
		out[i][0], out[i][1] = out[i][0]-mx, out[i][1]-my
	}
	return out
}

func TestSignaturesComeBack(t *testing.T) {
	s := mustSign(lopsided())
	data, err := s.MarshalBinary()
	if err != nil || len(data) != likeness.SignatureSize {
		t.Fatalf("%d bytes, %v, want %d", len(data), err, likeness.SignatureSize)
	}
	var got likeness.Signature
	if err := got.UnmarshalBinary(data); err != nil || !reflect.DeepEqual(got, s) {
		t.Errorf("came back as %+v, %v", got, err)
	}
	for name, bad := range map[string][]byte{"short": data[:90], "empty": nil, "newer": append([]byte{2}, data[1:]...)} {
		if err := got.UnmarshalBinary(bad); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
}

func FuzzSignature(f *testing.F) {
	data, err := mustSign(lopsided()).MarshalBinary()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Fuzz(func(t *testing.T, data []byte) {
		var s likeness.Signature
		if s.UnmarshalBinary(data) != nil {
			return
		}
		var x likeness.Index
		x.Add(1, s)
		if got := x.Nearest(s, 2, likeness.Options{Flip: true, Scale: true}); len(got) != 1 {
			t.Errorf("%d matches of 1", len(got))
		}
	})
}

// cpu returns the processor time that this process has used: what a benchmark takes when
// others use the machine too.
func cpu(b *testing.B) time.Duration {
	b.Helper()
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// perOp runs the work and reports its processor time.
func perOp(b *testing.B, work func()) {
	b.Helper()
	started, n := cpu(b), 0
	for b.Loop() {
		work()
		n++
	}
	b.ReportMetric(float64((cpu(b)-started).Microseconds())/1000/float64(n), "cpu-ms/op")
}

// go test -run '^$' -bench . -cpu 1 ./internal/likeness
func BenchmarkNearestOfTenThousand(b *testing.B) {
	seats := manySeats(10000)
	x := indexOf(seats)
	rng := rand.New(rand.NewPCG(61, 62))
	query := mustSign(wavered(rng, seats[5000].outline(), 1))
	perOp(b, func() { x.Nearest(query, 10, likeness.Options{Flip: true, Scale: true}) })
}

// The whole search: read ten thousand signatures, sign the query, compare it with all,
// measure the best ten.
func BenchmarkFindAmongTenThousand(b *testing.B) {
	seats := manySeats(10000)
	stored := make([][]byte, len(seats))
	for i, s := range seats {
		data, err := mustSign(s.outline()).MarshalBinary()
		if err != nil {
			b.Fatal(err)
		}
		stored[i] = data
	}
	rng := rand.New(rand.NewPCG(61, 62))
	outline := wavered(rng, seats[5000].outline(), 1)
	o := likeness.Options{Flip: true, Scale: true}
	perOp(b, func() {
		var x likeness.Index
		for i, data := range stored {
			var s likeness.Signature
			if err := s.UnmarshalBinary(data); err != nil {
				b.Fatal(err)
			}
			x.Add(int64(i), s)
		}
		matches := x.Nearest(mustSign(outline), 10, o)
		found, err := likeness.Refine(outline, matches, func(id int64) (curve.Path, error) { return seats[id].outline(), nil }, o)
		if err != nil || found[0].ID != 5000 {
			b.Fatalf("found %+v, %v", found[0], err)
		}
	})
}

func BenchmarkSignature(b *testing.B) {
	p := lopsided()
	perOp(b, func() { mustSign(p) })
}

func BenchmarkRegister(b *testing.B) {
	rng := rand.New(rand.NewPCG(63, 64))
	p, q := anyMotion(rng, likeness.Options{}).Path(wavered(rng, lopsided(), 1)), lopsided()
	for name, o := range map[string]likeness.Options{"plain": {}, "flip": {Flip: true}, "least-max": {Flip: true, LeastMax: true}} {
		b.Run(name, func(b *testing.B) {
			perOp(b, func() {
				if _, err := likeness.Register(p, q, o); err != nil {
					b.Fatal(err)
				}
			})
		})
	}
}
