package detect

import (
	"math"
	"sort"

	"fairedge/internal/card"
)

// dotBit is what one cell of a lattice says: dot or none.
type dotBit struct {
	cell card.Lattice // its lower left mark
	dot  bool
}

// dotReading is the dots of one lattice. Spread is the difference between cells
// with and without a dot, as a share of the difference between dark and light: 0
// on a plain chessboard, near 1 on a sharp card.
// Noise is the standard deviation within the two groups, in the same unit.
type dotReading struct {
	bits          []dotBit
	spread, noise float64
}

// readDots compares the middle of every whole cell of the lattice with its
// ground, in the photo's full size.
func readDots(full level, l *lattice, scale float64) dotReading {
	quads := l.quads(scale)
	ground := make(map[card.Lattice]float64, len(quads))
	for _, q := range quads {
		ground[q.cell] = q.mean(full, groundPlaces[:])
	}
	var cells []card.Lattice
	var share []float64
	for _, q := range quads {
		other, ok := meanAround(ground, q.cell)
		own := ground[q.cell]
		if !ok || !q.inside(full) || math.Abs(other-own) < 2 {
			continue
		}
		cells = append(cells, q.cell)
		share = append(share, (q.mean(full, dotPlaces[:])-own)/(other-own))
	}
	return splitDots(cells, share)
}

// cellQuad is one cell with its corners in the photo, counter-clockwise on the
// card from the lower left.
type cellQuad struct {
	cell   card.Lattice
	corner [4][2]float64
}

// quads returns the cells with four marks, and those along the lattice's border
// that have two or three: the outermost cells of a card have no marks on their
// outer side, which is carried on from the inside. On a card cut off by the
// picture's border these cells are often as many as the whole ones.
func (l *lattice) quads(scale float64) []cellQuad {
	var quads []cellQuad
	done := make(map[card.Lattice]bool, 2*len(l.nodes))
	for _, n := range l.nodes {
		for _, back := range quadSteps {
			cell := card.Lattice{I: n.place.I - back.I, J: n.place.J - back.J}
			if done[cell] {
				continue
			}
			done[cell] = true
			if q, ok := l.quad(cell, scale); ok {
				quads = append(quads, q)
			}
		}
	}
	return quads
}

// quadSteps are the marks of a cell from its lower left one, counter-clockwise.
var quadSteps = [4]card.Lattice{{}, {I: 1}, {I: 1, J: 1}, {J: 1}}

func (l *lattice) quad(cell card.Lattice, scale float64) (cellQuad, bool) {
	q := cellQuad{cell: cell}
	known := 0
	for k, step := range quadSteps {
		m := card.Lattice{I: cell.I + step.I, J: cell.J + step.J}
		x, y, ok := l.carriedOn(m)
		if !ok {
			return q, false
		}
		if _, real := l.at[m]; real {
			known++
		}
		q.corner[k] = [2]float64{x * scale, y * scale}
	}
	return q, known >= 2
}

// carriedOn returns the place of a mark, known or straight on from two known
// ones in a row.
func (l *lattice) carriedOn(m card.Lattice) (x, y float64, ok bool) {
	if k, known := l.at[m]; known {
		return l.nodes[k].x, l.nodes[k].y, true
	}
	for _, step := range steps {
		a, knownA := l.at[card.Lattice{I: m.I + step.I, J: m.J + step.J}]
		b, knownB := l.at[card.Lattice{I: m.I + 2*step.I, J: m.J + 2*step.J}]
		if knownA && knownB {
			return 2*l.nodes[a].x - l.nodes[b].x, 2*l.nodes[a].y - l.nodes[b].y, true
		}
	}
	return 0, 0, false
}

// groundPlaces are where a cell shows its ground, as shares of its sides from
// its middle: outside the dot (radius 0.171) and inside the cell (0.5), with as
// much room as can be had on both sides for blur.
var groundPlaces = [8][2]float64{
	{0.33, 0}, {-0.33, 0}, {0, 0.33}, {0, -0.33}, {0.31, 0.31}, {-0.31, 0.31}, {0.31, -0.31}, {-0.31, -0.31},
}

// dotPlaces are where a cell shows its dot.
var dotPlaces = [9][2]float64{
	{0, 0}, {0.06, 0}, {-0.06, 0}, {0, 0.06}, {0, -0.06}, {0.06, 0.06}, {-0.06, 0.06}, {0.06, -0.06}, {-0.06, -0.06},
}

// inside reports whether the cell lies wholly in the picture.
func (q *cellQuad) inside(l level) bool {
	for _, c := range q.corner {
		if c[0] < 0 || c[1] < 0 || c[0] > float64(l.width) || c[1] > float64(l.height) {
			return false
		}
	}
	return true
}

func (q *cellQuad) mean(l level, places [][2]float64) float64 {
	sum := 0.0
	for _, p := range places {
		s, t := 0.5+p[0], 0.5+p[1]
		w := [4]float64{(1 - s) * (1 - t), s * (1 - t), s * t, (1 - s) * t}
		x, y := 0.0, 0.0
		for k, c := range q.corner {
			x += w[k] * c[0]
			y += w[k] * c[1]
		}
		sum += l.at(x, y)
	}
	return sum / float64(len(places))
}

// meanAround returns the mean ground of the cells beside one, whose tone is the other.
func meanAround(ground map[card.Lattice]float64, cell card.Lattice) (float64, bool) {
	sum, n := 0.0, 0
	for _, step := range steps {
		if g, ok := ground[card.Lattice{I: cell.I + step.I, J: cell.J + step.J}]; ok {
			sum += g
			n++
		}
	}
	return sum / math.Max(1, float64(n)), n > 0
}

// splitDots divides the cells into two groups by how far their middle goes over
// to the other tone (two means from the deciles). Cells near the middle between
// the groups (the middle fifth) say nothing.
func splitDots(cells []card.Lattice, share []float64) dotReading {
	if len(cells) < 4 {
		return dotReading{}
	}
	sorted := append([]float64(nil), share...)
	sort.Float64s(sorted)
	low, high := sorted[len(sorted)/10], sorted[len(sorted)-1-len(sorted)/10]
	for range 8 {
		low, high = twoMeans(sorted, low, high)
	}
	r := dotReading{spread: high - low}
	for k, c := range cells {
		off := share[k] - (low+high)/2
		within := math.Min(math.Abs(share[k]-low), math.Abs(share[k]-high))
		r.noise += within * within / float64(len(cells))
		if math.Abs(off) > 0.1*(high-low) {
			r.bits = append(r.bits, dotBit{c, off > 0})
		}
	}
	r.noise = math.Sqrt(r.noise)
	return r
}

func twoMeans(values []float64, low, high float64) (newLow, newHigh float64) {
	middle := (low + high) / 2
	var sum [2]float64
	var n [2]float64
	for _, v := range values {
		group := 0
		if v > middle {
			group = 1
		}
		sum[group] += v
		n[group]++
	}
	if n[0] == 0 || n[1] == 0 {
		return low, high
	}
	return sum[0] / n[0], sum[1] / n[1]
}

// median returns the middle value, or 0 of none; values are left as they are.
func median(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	sorted := append([]float64(nil), values...)
	sort.Float64s(sorted)
	return sorted[len(sorted)/2]
}
