package cloth

import (
	"fmt"
	"math"
	"slices"

	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// LeftOver is an upright rectangle of cloth that stays whole.
type LeftOver struct {
	At    plane.Rect // on the cloth
	Where string     // "at the end", "beside 2 (Top plate)"
	Words string     // with its size
}

// leftOvers names the largest whole rectangles that are left: first what lies beyond the
// needed length, then what lies between the pieces.
func (l *layer) leftOvers() []LeftOver {
	laid, c := l.laid, l.cloth
	p := l.options.Params
	total := laid.Buy
	if c2 := l.options.Have; c2 > 0 && c2 >= laid.Needed {
		total = c2
	}
	var all []LeftOver
	if rest := total - laid.Needed; rest >= mm(p.LeftLeast) {
		all = append(all, newLeftOver(plane.Rect{
			Min: plane.Point{X: 0, Y: l.end}, Max: plane.Point{X: c.Width.Millimetres(), Y: l.end + rest.Millimetres()}}, "at the end"))
	}
	grid := newGrid(plane.Rect{
		Min: plane.Point{X: c.Selvedge.Millimetres()},
		Max: plane.Point{X: (c.Width - c.Selvedge).Millimetres(), Y: l.end}}, p.LeftCell)
	for _, piece := range laid.Pieces {
		grid.fill(laid.Outline(piece))
		if piece.Folded && !piece.SpareTwin {
			grid.fill(laid.TwinOutline(piece))
		}
	}
	for len(all) < p.LeftMost {
		r, ok := grid.largestFree(p.LeftLeast)
		if !ok {
			break
		}
		grid.fillRect(r)
		all = append(all, newLeftOver(r, "beside "+l.nearestPiece(r)))
	}
	return all
}

func newLeftOver(r plane.Rect, where string) LeftOver {
	long, wide := math.Max(r.Width(), r.Height()), math.Min(r.Width(), r.Height())
	return LeftOver{r, where, fmt.Sprintf("%s x %s m %s", downToCM(long), downToCM(wide), where)}
}

func downToCM(v float64) string { return fmt.Sprintf("%.2f", math.Floor(v/10+1e-6)/100) }

// nearestPiece names the piece whose box lies nearest to the rectangle.
func (l *layer) nearestPiece(r plane.Rect) string {
	best, least := "", math.Inf(1)
	for _, p := range l.laid.Pieces {
		b := boxOf(l.laid.Outline(p))
		dx := math.Max(0, math.Max(b.Min.X-r.Max.X, r.Min.X-b.Max.X))
		dy := math.Max(0, math.Max(b.Min.Y-r.Max.Y, r.Min.Y-b.Max.Y))
		d := math.Hypot(dx, dy) + 1e-3*b.Centre().DistanceTo(r.Centre())
		if d < least {
			best, least = fmt.Sprintf("%d (%s)", p.Number, l.laid.Parts[p.Part].Name), d
		}
	}
	return best
}

// grid says of every cell of the cloth whether a piece reaches into it.
type grid struct {
	box        plane.Rect
	cell       float64
	cols, rows int
	taken      []bool
}

func newGrid(box plane.Rect, cell float64) *grid {
	g := &grid{box: box, cell: cell, cols: int(box.Width() / cell), rows: int(box.Height() / cell)}
	g.taken = make([]bool, max(0, g.cols*g.rows))
	return g
}

// fill takes every cell that the outline touches: in each row of cells, from the least to
// the greatest x of what lies between two crossings of the row. Cells are taken rather
// than missed, so that a rectangle said to be free is free.
func (g *grid) fill(outline []plane.Point) {
	b := boxOf(outline)
	for row := max(0, g.row(b.Min.Y)); row < min(g.rows, g.row(b.Max.Y)+1); row++ {
		y0 := g.box.Min.Y + float64(row)*g.cell
		for _, y := range []float64{y0, y0 + g.cell/2, y0 + g.cell} {
			g.fillScan(outline, row, y)
		}
		for i, p := range outline {
			g.fillEdge(p, outline[(i+1)%len(outline)], row, y0)
		}
	}
}

func (g *grid) row(y float64) int { return int(math.Floor((y - g.box.Min.Y) / g.cell)) }
func (g *grid) col(x float64) int { return int(math.Floor((x - g.box.Min.X) / g.cell)) }

// fillScan takes the cells of a row between the crossings of the outline with a height.
func (g *grid) fillScan(outline []plane.Point, row int, y float64) {
	var xs []float64
	for i, p := range outline {
		q := outline[(i+1)%len(outline)]
		if (p.Y <= y) != (q.Y <= y) {
			xs = append(xs, p.X+(y-p.Y)/(q.Y-p.Y)*(q.X-p.X))
		}
	}
	slices.Sort(xs)
	for i := 0; i+1 < len(xs); i += 2 {
		g.take(row, xs[i], xs[i+1])
	}
}

// fillEdge takes the cells of a row that an edge passes.
func (g *grid) fillEdge(p, q plane.Point, row int, y0 float64) {
	if p.Y > q.Y {
		p, q = q, p
	}
	if q.Y <= y0 || p.Y >= y0+g.cell {
		return
	}
	xAt := func(y float64) float64 {
		if q.Y == p.Y {
			return p.X
		}
		t := math.Min(1, math.Max(0, (y-p.Y)/(q.Y-p.Y)))
		return p.X + t*(q.X-p.X)
	}
	a, b := xAt(y0), xAt(y0+g.cell)
	if q.Y == p.Y {
		b = q.X
	}
	g.take(row, math.Min(a, b), math.Max(a, b))
}

// take takes the cells from x0 to x1; what only touches a cell leaves it free.
func (g *grid) take(row int, x0, x1 float64) {
	from, to := g.col(x0+1e-6), g.col(x1-1e-6)
	for c := max(0, from); c <= min(g.cols-1, to); c++ {
		g.taken[row*g.cols+c] = true
	}
}

func (g *grid) fillRect(r plane.Rect) {
	g.fill([]plane.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}})
}

// largestFree returns the largest free rectangle whose sides are at least so long: for
// each row the columns' free heights down from it, and over these the largest rectangle
// below a row of bars by a stack.
func (g *grid) largestFree(least float64) (plane.Rect, bool) {
	heights := make([]int, g.cols+1)
	cells := int(math.Ceil(least / g.cell))
	best, area := [4]int{}, 0
	for row := range g.rows {
		for c := range g.cols {
			heights[c]++
			if g.taken[row*g.cols+c] {
				heights[c] = 0
			}
		}
		var stack []int
		for c := 0; c <= g.cols; c++ {
			for len(stack) > 0 && heights[stack[len(stack)-1]] >= heights[c] {
				h := heights[stack[len(stack)-1]]
				stack = stack[:len(stack)-1]
				left := 0
				if len(stack) > 0 {
					left = stack[len(stack)-1] + 1
				}
				if w := c - left; h >= cells && w >= cells && h*w > area {
					best, area = [4]int{left, row - h + 1, c, row + 1}, h*w
				}
			}
			stack = append(stack, c)
		}
	}
	at := func(c, r int) plane.Point {
		return plane.Point{X: g.box.Min.X + float64(c)*g.cell, Y: g.box.Min.Y + float64(r)*g.cell}
	}
	return plane.Rect{Min: at(best[0], best[1]), Max: at(best[2], best[3])}, area > 0
}

// AreaMM2 returns the area of the rectangle.
func (o LeftOver) AreaMM2() float64 { return o.At.Width() * o.At.Height() }

// Sides returns the longer and the shorter side.
func (o LeftOver) Sides() (long, wide length.Length) {
	return mm(math.Max(o.At.Width(), o.At.Height())), mm(math.Min(o.At.Width(), o.At.Height()))
}
