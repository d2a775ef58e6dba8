package curve

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"fairedge/internal/plane"
)

// fitTruth is an exact outline: dense points and corners.
type fitTruth struct {
	name    string
	path    []func(t float64) plane.Point // pieces by their own parameter
	corners []plane.Point
	lines   [][2]plane.Point // straight edges of 60 mm and more
	dense   []plane.Point    // about every 0.25 mm, joints included
}

var fitTruthNames = []string{"S1_roundrect", "S2_bowfront", "S3_Tcushion", "S4_saddle", "S5_horseshoe"}

func loadFitTruth(t testing.TB, name string) fitTruth {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("testdata", "seat_curves_truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	var all map[string]struct {
		Segments []struct {
			Type   string
			P      [][2]float64
			C      [2]float64
			R      float64
			A0, A1 float64
		}
		Corners [][2]json.RawMessage
	}
	if err := json.Unmarshal(raw, &all); err != nil {
		t.Fatal(err)
	}
	truth := fitTruth{name: name}
	for _, s := range all[name].Segments {
		p := make([]plane.Point, len(s.P))
		for i := range p {
			p[i] = plane.Point{X: s.P[i][0], Y: s.P[i][1]}
		}
		switch s.Type {
		case "L":
			truth.path = append(truth.path, func(t float64) plane.Point { return p[0].Lerp(p[1], t) })
			if p[0].DistanceTo(p[1]) >= 60 {
				truth.lines = append(truth.lines, [2]plane.Point{p[0], p[1]})
			}
		case "C":
			truth.path = append(truth.path, Cubic(p[0], p[1], p[2], p[3]).At)
		case "A":
			truth.path = append(truth.path, func(t float64) plane.Point {
				a := s.A0 + t*(s.A1-s.A0)
				return plane.Point{X: s.C[0] + s.R*math.Cos(a), Y: s.C[1] + s.R*math.Sin(a)}
			})
		}
	}
	for _, c := range all[name].Corners {
		var at [2]float64
		if err := json.Unmarshal(c[0], &at); err != nil {
			t.Fatal(err)
		}
		truth.corners = append(truth.corners, plane.Point{X: at[0], Y: at[1]})
	}
	truth.dense = densely(truth.path)
	return truth
}

// densely returns points about 0.25 mm apart that include the ends of all pieces:
// the polyline through them leaves a curve of radius 30 by 0.0003 mm.
func densely(path []func(float64) plane.Point) []plane.Point {
	var out []plane.Point
	for _, f := range path {
		length := 0.0
		for i := range 200 {
			length += f(float64(i) / 200).DistanceTo(f(float64(i+1) / 200))
		}
		n := int(length/0.25) + 1
		for i := range n {
			out = append(out, f(float64(i)/float64(n)))
		}
	}
	return out
}

// sampleEvenly returns points at even arc length along the pieces, one turn.
func sampleEvenly(path []func(float64) plane.Point, step float64) []plane.Point {
	var fine []plane.Point
	for _, f := range path {
		for i := range 4000 {
			fine = append(fine, f(float64(i)/4000))
		}
	}
	total := 0.0
	for i := range fine {
		total += fine[i].DistanceTo(fine[(i+1)%len(fine)])
	}
	n := int(math.Ceil(total / step))
	out := make([]plane.Point, 0, n)
	run, k := 0.0, 0
	for i := range fine {
		q := fine[(i+1)%len(fine)]
		d := fine[i].DistanceTo(q)
		for k < n && float64(k)*total/float64(n) <= run+d {
			out = append(out, fine[i].Lerp(q, (float64(k)*total/float64(n)-run)/math.Max(d, 1e-12)))
			k++
		}
		run += d
	}
	return out
}

func loadFitCSV(t testing.TB, file string) []Sample {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []Sample
	for _, r := range rows {
		x, ex := strconv.ParseFloat(r[0], 64)
		y, ey := strconv.ParseFloat(r[1], 64)
		if ex == nil && ey == nil {
			out = append(out, Sample{At: plane.Point{X: x, Y: y}})
		}
	}
	return out
}

// noisy returns the points with Gaussian noise in x and y, each of standard
// deviation sigma; corr > 0 smooths white noise along the points by a Gaussian of
// that standard deviation in mm first.
func noisy(points []plane.Point, sigma, corr float64, seed uint64) []Sample {
	rng := rand.New(rand.NewPCG(seed, 77))
	n := len(points)
	dx, dy := make([]float64, n), make([]float64, n)
	for i := range dx {
		dx[i], dy[i] = rng.NormFloat64(), rng.NormFloat64()
	}
	if corr > 0 {
		step := points[0].DistanceTo(points[1])
		dx, dy = colour(dx, corr/step), colour(dy, corr/step)
	}
	out := make([]Sample, n)
	for i, p := range points {
		out[i].At = p.Add(plane.Vec{X: sigma * dx[i], Y: sigma * dy[i]})
	}
	return out
}

// colour smooths white noise by a Gaussian of sigma samples and keeps variance 1.
func colour(e []float64, sigma float64) []float64 {
	half := int(4 * sigma)
	kernel := make([]float64, 2*half+1)
	sq := 0.0
	for j := range kernel {
		d := float64(j-half) / sigma
		kernel[j] = math.Exp(-d * d / 2)
		sq += kernel[j] * kernel[j]
	}
	n := len(e)
	out := make([]float64, n)
	for i := range out {
		for j, k := range kernel {
			out[i] += k * e[((i+j-half)%n+n)%n]
		}
		out[i] /= math.Sqrt(sq)
	}
	return out
}

// twoSided returns the greatest and the root mean square distance between a path
// and the dense truth, both ways, from points to polylines.
func twoSided(path Path, truth []plane.Point) (worst, rms float64) {
	var pieces []func(float64) plane.Point
	for _, s := range path.Segments() {
		pieces = append(pieces, s.At)
	}
	ours := densely(pieces)
	a, ra := oneSided(ours, truth)
	b, rb := oneSided(truth, ours)
	return math.Max(a, b), math.Max(ra, rb)
}

// oneSided measures from each point to the closed polyline through the others. To
// spare time it only skips edges that cannot be nearer than the best so far: an
// edge k places on begins at most the length of k edges nearer. The first guess is the
// edges after the one nearest to the point before.
func oneSided(from, to []plane.Point) (worst, rms float64) {
	step, n := 0.0, len(to)
	for i, p := range to {
		step = math.Max(step, p.DistanceTo(to[(i+1)%n]))
	}
	sum, last := 0.0, 0
	for _, p := range from {
		best := math.Inf(1)
		try := func(i int) {
			if d := edgeDistance(p, to[i%n], to[(i+1)%n]); d < best {
				best, last = d, i%n
			}
		}
		for i, near := 0, last; i < 4; i++ {
			try(near + i)
		}
		for i := 0; i < n; {
			try(i)
			i += max(1, int((p.DistanceTo(to[i])-best)/step))
		}
		worst = math.Max(worst, best)
		sum += best * best
	}
	return worst, math.Sqrt(sum / float64(len(from)))
}

func edgeDistance(p, a, b plane.Point) float64 {
	d := b.Sub(a)
	if d.LengthSq() == 0 {
		return p.DistanceTo(a)
	}
	return p.DistanceTo(a.Lerp(b, math.Min(1, math.Max(0, p.Sub(a).Dot(d)/d.LengthSq()))))
}
