package curve

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairedge/internal/plane"
	"pgregory.net/rapid"
)

// anyOutline is a simple polygon or a smooth outline, and an allowance for it.
func anyOutline(t *rapid.T) Path {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
	n := rapid.IntRange(4, 12).Draw(t, "pieces")
	if rapid.Bool().Draw(t, "smooth") {
		p := blob(r, n, 200, 0.4)
		if !p.IsSimple() {
			t.Skip("crosses itself")
		}
		return p
	}
	p := randomPolygon(r, n)
	if !p.IsSimple() || !p.IsCounterClockwise() {
		t.Skip("crosses itself")
	}
	return p
}

func anyJoin(t *rapid.T) Join {
	return rapid.SampledFrom([]Join{JoinMitre, JoinRound, JoinTrimmed}).Draw(t, "join")
}

// TestOffsetLaws: moving, mirroring or starting elsewhere before or after the offset is
// the same; every border is simple and closed.
func TestOffsetLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyOutline(t)
		const tolerance = 0.01
		spec := Uniform(rapid.Float64Range(-40, 60).Draw(t, "allowance")).WithJoin(anyJoin(t))
		region, err := p.Offset(spec, tolerance)
		if err != nil {
			t.Skip("nothing left")
		}
		for _, b := range region.Paths() {
			if err := b.Validate(); err != nil {
				t.Fatal(err)
			}
			if at := b.SelfCrossings(); len(at) > 0 {
				t.Fatalf("the border crosses itself at %v", at)
			}
		}
		turn := plane.RigidFromAngle(rapid.Float64Range(-3, 3).Draw(t, "turn"), plane.Vec{X: 321, Y: -77})
		along := plane.Vec{X: 1, Y: rapid.Float64Range(-2, 2).Draw(t, "axis")}
		laws := []struct {
			name          string
			before, after func(Path) Path
		}{
			{"turned", func(p Path) Path { return p.Transform(turn) }, func(p Path) Path { return p.Transform(turn) }},
			{"mirrored", func(p Path) Path { return p.Mirrored(plane.Point{}, along) }, func(p Path) Path { return p.Mirrored(plane.Point{}, along) }},
			{"restarted", func(p Path) Path { return p.StartingAt(2) }, func(p Path) Path { return p }},
		}
		for _, law := range laws {
			other, err := law.before(p).Offset(spec, tolerance)
			if err != nil {
				t.Fatalf("%s: %v", law.name, err)
			}
			length := 0.0
			var want []Path
			for _, b := range region.Paths() {
				want = append(want, law.after(b))
				length += b.ArcLength(0.1)
			}
			if len(other.Outlines) != len(region.Outlines) || len(other.Holes) != len(region.Holes) {
				t.Fatalf("%s: %d parts and %d holes, want %d and %d", law.name, len(other.Outlines), len(other.Holes), len(region.Outlines), len(region.Holes))
			}
			if d := math.Abs(other.Area() - region.Area()); d > tolerance*length {
				t.Fatalf("%s: area differs by %g", law.name, d)
			}
			// Both are within the tolerance of the truth; at sharp inner corners that shows
			// more than once.
			if d := farthest(other.Paths(), want); d > 10*tolerance {
				t.Fatalf("%s: the borders lie %g mm apart", law.name, d)
			}
		}
	})
}

// TestAllowancesByPieceHoldTheirDistance: no border of an outward offset with an
// allowance for each piece comes nearer to a piece than its allowance, except on the
// far side of the piece's ends, and none crosses itself.
func TestAllowancesByPieceHoldTheirDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyOutline(t)
		const tolerance = 0.01
		d := make([]float64, p.Len())
		for i := range d {
			d[i] = rapid.SampledFrom([]float64{0, 6.35, 12.7, seam, 25.4}).Draw(t, "allowance")
		}
		region, err := p.Offset(ByPiece(d).WithJoin(anyJoin(t)), tolerance)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range region.Paths() {
			if at := b.SelfCrossings(); len(at) > 0 {
				t.Fatalf("the border crosses itself at %v", at)
			}
			for _, s := range b.Segments() {
				for k := range 10 {
					q := s.At((float64(k) + 0.5) / 10)
					if depth := depthInStrips(p, d, q); depth > tolerance {
						t.Fatalf("%v lies %.4f mm within an allowance", q, depth)
					}
				}
			}
		}
	})
}

// depthInStrips returns how deep q lies in the strips square to the pieces, clear of
// their sides.
func depthInStrips(p Path, d []float64, q plane.Point) float64 {
	deepest := 0.0
	for i, s := range p.Segments() {
		t, away := s.Nearest(q)
		out := q.Sub(s.At(t))
		if t > 0.01 && t < 0.99 && out.Dot(s.OutwardNormal(t)) > 0 {
			deepest = math.Max(deepest, d[i]-away)
		}
	}
	return deepest
}
