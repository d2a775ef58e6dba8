package detect

import (
	"math"
	"testing"

	"fairedge/internal/plane"
)

// disc draws a ring of the given radius and stroke width, with gaps where keep
// says no for the angle.
func drawRing(w, h int, radius, width float64, keep func(angle float64) bool) *grid {
	g := newGrid(w, h)
	for y := range h {
		for x := range w {
			dx, dy := float64(x)+0.5-float64(w)/2, float64(y)+0.5-float64(h)/2
			if math.Abs(math.Hypot(dx, dy)-radius) <= width/2 && keep(math.Atan2(dy, dx)) {
				g.pix[y*w+x] = 1
			}
		}
	}
	g.clearBorder()
	return g
}

func allSeen(n int) []bool {
	seen := make([]bool, n)
	for k := range seen {
		seen[k] = true
	}
	return seen
}

// A thinned ring is a closed way of single pixels about its middle radius: every
// pixel has a number of changes of 2, and pruning takes nothing but stairs.
func TestThinKeepsARingClosed(t *testing.T) {
	for _, width := range []float64{1.5, 3, 6, 9} {
		g := drawRing(200, 180, 70, width, func(float64) bool { return true })
		g.thin()
		for _, k := range g.set() {
			r := math.Hypot(float64(int(k)%200)+0.5-100, float64(int(k)/200)+0.5-90)
			if math.Abs(r-70) > 1.6 {
				t.Fatalf("width %v: a pixel at radius %.2f, want 70", width, r)
			}
		}
		if ends := g.freeEnds(); len(ends) != 0 {
			t.Errorf("width %v: %d free ends on a ring", width, len(ends))
		}
		g.prune()
		r := labelRegions(g, allSeen(200*180))
		if len(r.area) != 3 || !r.open[1] || r.open[2] {
			t.Fatalf("width %v: regions %v, open %v; want outside and inside", width, r.area, r.open)
		}
		// The border of the inside runs through the ring's pixels: it encloses the
		// pixels of the inside, a disc of about radius 69.5.
		if want := math.Pi * 69.5 * 69.5; math.Abs(r.around(2).area-want) > 0.03*want {
			t.Errorf("width %v: inside has %.0f px, want about %.0f", width, r.around(2).area, want)
		}
	}
}

// A gap is bridged when it is short enough and not when it is not.
func TestBridgeClosesShortGaps(t *testing.T) {
	for _, c := range []struct {
		gap    float64 // px
		closed bool
	}{{4, true}, {20, true}, {34, true}, {60, false}} {
		half := c.gap / 2 / 70
		g := drawRing(200, 200, 70, 3, func(a float64) bool { return math.Abs(a-0.5) > half })
		g.thin()
		g.bridge(40, 0.6, 8)
		g.prune()
		if closed := len(g.set()) > 0; closed != c.closed {
			t.Errorf("gap of %v px: closed %v, want %v", c.gap, closed, c.closed)
		}
	}
}

// A stroke with free ends goes, whatever its shape; a letter hung to the ring by
// one stroke does not change the region's border.
func TestPruneAndDissolve(t *testing.T) {
	g := drawRing(200, 200, 70, 2, func(float64) bool { return true })
	for x := 100; x < 165; x++ {
		g.pix[100*200+x] = 1 // from the middle to the ring
	}
	small := drawRing(200, 200, 12, 2, func(float64) bool { return true }) // at its end
	for k, b := range small.pix {
		g.pix[k] |= b
	}
	g.thin()
	g.prune()
	r := labelRegions(g, allSeen(200*200))
	var largest int32
	for l := 1; l < len(r.area); l++ {
		if !r.open[l] && (largest == 0 || r.area[l] > r.area[largest]) {
			largest = int32(l)
		}
	}
	if want := math.Pi * 69.5 * 69.5; math.Abs(r.around(largest).area-want) > 0.03*want {
		t.Errorf("border encloses %.0f px, want about %.0f", r.around(largest).area, want)
	}
}

// The slow way to label: flood fill, pixel by pixel.
func TestLabelsAgainstFloodFill(t *testing.T) {
	const w, h = 61, 47
	state := uint32(7)
	for trial := range 40 {
		g := newGrid(w, h)
		seen := allSeen(w * h)
		for k := range g.pix {
			state = state*1664525 + 1013904223
			if state>>24 < uint32(60+trial) {
				g.pix[k] = 1
			}
			seen[k] = state>>16&255 > 3
		}
		g.clearBorder()
		r := labelRegions(g, seen)
		slow := floodLabels(g, seen)
		pair := map[int32]int32{}
		for k := range slow {
			if slow[k] == 0 {
				continue // a wall: dissolve may have given it away
			}
			if p, ok := pair[slow[k]]; ok && p != r.label[k] {
				t.Fatalf("trial %d: pixel %d has label %d, want %d", trial, k, r.label[k], p)
			}
			pair[slow[k]] = r.label[k]
		}
		back := map[int32]bool{}
		for _, l := range pair {
			if l == 0 || back[l] {
				t.Fatalf("trial %d: two regions share label %d", trial, l)
			}
			back[l] = true
		}
		for k := range slow {
			x, y := k%w, k/w
			if slow[k] != 0 && (x == 1 || y == 1 || x == w-2 || y == h-2 || !seen[k-1] || !seen[k+1] || !seen[k-w] || !seen[k+w]) && !r.open[r.label[k]] {
				t.Fatalf("trial %d: region %d touches what is not seen but is not open", trial, r.label[k])
			}
		}
	}
}

func floodLabels(g *grid, seen []bool) []int32 {
	label := make([]int32, len(g.pix))
	next := int32(0)
	free := func(k int) bool { return g.inner(k) && g.pix[k] == 0 && seen[k] }
	for k := range label {
		if !free(k) || label[k] != 0 {
			continue
		}
		next++
		stack := []int{k}
		label[k] = next
		for len(stack) > 0 {
			q := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			for _, d := range [4]int{1, -1, g.w, -g.w} {
				if free(q+d) && label[q+d] == 0 {
					label[q+d] = next
					stack = append(stack, q+d)
				}
			}
		}
	}
	return label
}

// Two straight arms meet where geometry says, and a fillet is told from a corner.
func TestCornersAreFoundAndFilletsAreNot(t *testing.T) {
	square := chain{{X: 0, Y: 0}, {X: 200, Y: 0}, {X: 200, Y: 150}, {X: 0, Y: 150}}
	var rounded chain
	for _, c := range []struct{ x, y, from float64 }{{190, 10, -90}, {190, 140, 0}, {10, 140, 90}, {10, 10, 180}} {
		for a := 0.0; a <= 90; a += 3 {
			s, co := math.Sincos((c.from + a) * math.Pi / 180)
			rounded = append(rounded, plane.Point{X: c.x + 10*co, Y: c.y + 10*s})
		}
	}
	for _, k := range []struct {
		name    string
		outline chain
		corners int
	}{{"square", square, 4}, {"fillets of 10 mm", rounded, 0}} {
		n := len(k.outline)
		c := newCourse(candidate{course: k.outline, bridged: make([]bool, n), sheet: make([]bool, n)}, DefaultEdgeParams())
		found := 0
		for i, is := range c.corner {
			if is {
				found++
				best := math.Inf(1)
				for _, q := range square {
					best = math.Min(best, q.DistanceTo(c.chain[i]))
				}
				if best > 0.3 {
					t.Errorf("%s: corner at %v, %.2f mm off", k.name, c.chain[i], best)
				}
			}
		}
		if found != k.corners {
			t.Errorf("%s: %d corners, want %d", k.name, found, k.corners)
		}
	}
}
