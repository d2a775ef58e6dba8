package curve

import (
	"math"
	"testing"

	"fairedge/internal/plane"
)

// The tests of this file measure the property that defines an offset: the distance of
// its points from the seam, found by Nearest, which TestNearestMissesNothing holds
// against brute force.

// borderErrors returns how far points of the region's border stray from distance |d|
// of the seam, inward and outward; points of mitres may lie farther and should not be
// asked about.
func borderErrors(seam Path, r Region, d float64) (tooNear, tooFar float64) {
	for _, p := range r.Paths() {
		for _, s := range p.segments {
			n := 40
			for k := range n {
				_, away := seam.Nearest(s.At((float64(k) + 0.5) / float64(n)))
				tooNear = math.Max(tooNear, math.Abs(d)-away)
				tooFar = math.Max(tooFar, away-math.Abs(d))
			}
		}
	}
	return tooNear, tooFar
}

// missing returns the greatest distance from the border of points at distance d
// square to the seam that have no nearer part of the seam: every one belongs to the
// true offset.
func missing(seam Path, r Region, d float64) float64 {
	border := newCells(r.Paths())
	worst := 0.0
	for _, s := range seam.segments {
		const n = 60
		for k := range n {
			t := (float64(k) + 0.5) / n
			q := s.At(t).Add(s.OutwardNormal(t).Scale(d))
			if _, away := seam.Nearest(q); away < math.Abs(d)-1e-7 {
				continue
			}
			worst = math.Max(worst, border.distance(q))
		}
	}
	return worst
}

func TestOffsetKeepsItsDistance(t *testing.T) {
	outlines := map[string]Path{"ellipse": ellipse(240, 180, 4), "T polygon": tPolygon()}
	names := []string{"ellipse", "T polygon"}
	for _, s := range readSeatTruths(t) {
		outlines[s.Name] = s.Path
		names = append(names, s.Name)
	}
	r := seeded(21)
	for _, name := range []string{"blob 1", "blob 2", "blob 3", "blob 4"} {
		outlines[name] = blob(r, 9, 200, 0.3)
		names = append(names, name)
	}
	for _, name := range names {
		for _, d := range []float64{seam, 60, -5, -seam, -60, -110} {
			for _, tolerance := range []float64{0.05, 0.001} {
				p := outlines[name]
				region, err := p.Offset(Allowance{All: d, Join: JoinRound}, tolerance)
				if err != nil {
					if d > 0 || p.widest() > -d {
						t.Errorf("%s by %g: %v", name, d, err)
					}
					continue
				}
				tooNear, tooFar := borderErrors(p, region, d)
				if tooNear > tolerance || tooFar > tolerance {
					t.Errorf("%s by %g to %g: %.5f mm too near, %.5f too far", name, d, tolerance, tooNear, tooFar)
				}
				if gap := missing(p, region, d); gap > tolerance {
					t.Errorf("%s by %g to %g: a point of the offset lies %.5f mm from the border", name, d, tolerance, gap)
				}
				for _, b := range region.Paths() {
					if !b.IsSimple() {
						t.Errorf("%s by %g to %g: the border crosses itself at %v", name, d, tolerance, b.SelfCrossings())
					}
				}
			}
		}
	}
}

// widest returns about the greatest distance of an inner point from the path: the
// radius of the largest disc inside, by a grid of 8 mm.
func (p Path) widest() float64 {
	widest, box := 0.0, p.Bounds()
	for x := box.Min.X; x < box.Max.X; x += 8 {
		for y := box.Min.Y; y < box.Max.Y; y += 8 {
			if q := (plane.Point{X: x, Y: y}); p.Contains(q) {
				_, d := p.Nearest(q)
				widest = math.Max(widest, d)
			}
		}
	}
	return widest
}

// TestFewCubics sets the number of cubics that one source cubic may cost: 2 for
// 0.01 mm (3 above 150 degrees of turn), 4 for 0.001 mm. Hermite's end derivatives
// need 2 to 14 and 3 to more than 32 on such curves (own measurement of the method
// of Tiller and Hanson 1984 and of exact end derivatives).
func TestFewCubics(t *testing.T) {
	quarter := ellipse(60, 60, 4).Segment(0)
	cubics := []struct {
		name string
		s    Segment
	}{
		{"quarter arc of 60", quarter},
		{"bow front of 480", Cubic(plane.Point{}, plane.Point{X: 150, Y: -40}, plane.Point{X: 330, Y: -40}, plane.Point{X: 480})},
		{"concave back of 53", ellipse(53, 53, 4).Segment(0).Reversed()},
		{"U of 300 by 240", Cubic(plane.Point{}, plane.Point{X: 0, Y: -320}, plane.Point{X: 300, Y: -320}, plane.Point{X: 300})},
		{"U of 300 by 320", Cubic(plane.Point{}, plane.Point{X: 0, Y: -427}, plane.Point{X: 300, Y: -427}, plane.Point{X: 300})},
		{"S of 400 by 200", Cubic(plane.Point{}, plane.Point{X: 200, Y: 0}, plane.Point{X: 200, Y: 200}, plane.Point{X: 400, Y: 200})},
	}
	for _, s := range readSeatTruths(t) {
		for _, piece := range s.Path.Segments() {
			if !piece.Straight && s.Name != "S1_roundrect" {
				cubics = append(cubics, struct {
					name string
					s    Segment
				}{s.Name, piece})
			}
		}
	}
	for _, c := range cubics {
		start := ray{c.s.P0.Add(c.s.OutwardNormal(0).Scale(seam)), c.s.Tangent(0)}
		end := ray{c.s.P3.Add(c.s.OutwardNormal(1).Scale(seam)), c.s.Tangent(1)}
		for _, goal := range []struct {
			tolerance float64
			pieces    int
		}{{0.01, 2}, {0.001, 4}} {
			pieces, worst := newParallel(c.s, seam, start, end).cubics(fitShare * goal.tolerance)
			most := goal.pieces
			if math.Abs(c.s.Turn()) > 150*math.Pi/180 && most == 2 {
				most = 3
			}
			if len(pieces) > most {
				t.Errorf("%s to %g mm: %d cubics, want at most %d", c.name, goal.tolerance, len(pieces), most)
			}
			if d := worstDistance(pieces, c.s, seam); d > goal.tolerance || d > worst+1e-9 {
				t.Errorf("%s to %g mm: a point lies %.6f off, measured %.6f", c.name, goal.tolerance, d, worst)
			}
		}
	}
}

// worstDistance samples the pieces densely and returns how far a point lies from
// distance d of the source.
func worstDistance(pieces []Segment, source Segment, d float64) float64 {
	worst := 0.0
	for _, s := range pieces {
		for k := 1; k < 500; k++ {
			_, away := source.Nearest(s.At(float64(k) / 500))
			worst = math.Max(worst, math.Abs(away-d))
		}
	}
	return worst
}

func BenchmarkOffset(b *testing.B) {
	for _, s := range readSeatTruths(b) {
		for _, d := range []float64{seam, -60} {
			b.Run(s.Name+map[bool]string{true: "/out", false: "/in"}[d > 0], func(b *testing.B) {
				for b.Loop() {
					if _, err := s.Path.Offset(Allowance{All: d}, 0.01); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
