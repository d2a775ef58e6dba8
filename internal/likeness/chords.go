package likeness

import (
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// chords is an outline as a closed polyline, in a grid of cells so that the point nearest
// to another is found without looking at all of it.
type chords struct {
	at     []plane.Point
	box    plane.Rect
	cell   float64
	nx, ny int
	in     [][]int32 // for each cell the chords that touch it
}

// newChords returns the outline as chords within tolerance mm of it.
func newChords(p curve.Path, tolerance float64) *chords {
	c := &chords{at: p.Flatten(tolerance)}
	c.box = plane.RectFromPoints(c.at...)
	c.cell = math.Max(math.Max(c.box.Width(), c.box.Height())/gridSide, 1e-9)
	c.nx, c.ny = int(c.box.Width()/c.cell)+1, int(c.box.Height()/c.cell)+1
	c.in = make([][]int32, c.nx*c.ny)
	for i := range c.at {
		c.insert(i)
	}
	return c
}

// gridSide is the number of cells along the longer side of the outline. More: more empty
// cells to pass; fewer: more chords in each.
const gridSide = 32

func (c *chords) chord(i int) (from, to plane.Point) { return c.at[i], c.at[(i+1)%len(c.at)] }

// insert puts the chord into every cell of its box; a long slanted one into more than it
// touches, which only costs time.
func (c *chords) insert(i int) {
	a, b := c.chord(i)
	x0, y0 := c.cellOf(plane.Point{X: math.Min(a.X, b.X), Y: math.Min(a.Y, b.Y)})
	x1, y1 := c.cellOf(plane.Point{X: math.Max(a.X, b.X), Y: math.Max(a.Y, b.Y)})
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			c.in[y*c.nx+x] = append(c.in[y*c.nx+x], int32(i))
		}
	}
}

func (c *chords) cellOf(p plane.Point) (x, y int) {
	return min(max(int((p.X-c.box.Min.X)/c.cell), 0), c.nx-1), min(max(int((p.Y-c.box.Min.Y)/c.cell), 0), c.ny-1)
}

// foot is the point of an outline nearest to another point.
type foot struct {
	at      plane.Point
	outward plane.Vec // square to the chord there, unit
	dist    float64
}

// nearest returns the foot of q. It looks at cells in rings round q's own (or, for a q
// outside the box, the cell nearest to it) until no farther ring can hold a nearer chord.
func (c *chords) nearest(q plane.Point) foot {
	cx, cy := c.cellOf(q)
	// How far q lies outside the grid adds to what rings are away.
	best := foot{dist: math.Inf(1)}
	for ring := 0; ring <= max(c.nx, c.ny); ring++ {
		if float64(ring-1)*c.cell > best.dist {
			break
		}
		for y := cy - ring; y <= cy+ring; y++ {
			if y < 0 || y >= c.ny {
				continue
			}
			step := 2 * ring
			if y == cy-ring || y == cy+ring || ring == 0 {
				step = 1
			}
			for x := cx - ring; x <= cx+ring; x += step {
				if x >= 0 && x < c.nx {
					c.nearestIn(c.in[y*c.nx+x], q, &best)
				}
			}
		}
	}
	return best
}

func (c *chords) nearestIn(chords []int32, q plane.Point, best *foot) {
	for _, i := range chords {
		a, b := c.chord(int(i))
		along := b.Sub(a)
		t := 0.0
		if l := along.LengthSq(); l > 0 {
			t = math.Min(1, math.Max(0, q.Sub(a).Dot(along)/l))
		}
		p := a.Lerp(b, t)
		if d := p.DistanceSqTo(q); d < best.dist*best.dist {
			*best = foot{p, along.TurnRight().Unit(), math.Sqrt(d)}
		}
	}
}
