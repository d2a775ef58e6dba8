package detect

import (
	"math"

	"fairedge/internal/card"
)

// cardView is one card in the photo while its marks are being measured: a
// table of lattice places, row by row from the lower left.
type cardView struct {
	design     card.Design
	cols, rows int // lattice places across and up
	spots      []spot
}

type spotState uint8

const (
	spotNoMark  spotState = iota // not a mark of the card
	spotUnseen                   // a mark that has not been found
	spotRough                    // found by the search, not yet fitted
	spotFitted                   // fitted in the full picture
	spotRefused                  // fitted, and found to be no good
)

type spot struct {
	state spotState
	x, y  float64 // photo px
	fit   markFit
	tries int
}

func newCardView(d card.Design) *cardView {
	v := &cardView{design: d, cols: d.Cols + 1, rows: d.Rows + 1}
	v.spots = make([]spot, v.cols*v.rows)
	for _, m := range d.Marks() {
		v.spots[v.number(m)].state = spotUnseen
	}
	return v
}

func (v *cardView) number(m card.Lattice) int { return m.J*v.cols + m.I }

func (v *cardView) place(k int) card.Lattice { return card.Lattice{I: k % v.cols, J: k / v.cols} }

func (v *cardView) holds(m card.Lattice) bool {
	return m.I >= 0 && m.J >= 0 && m.I < v.cols && m.J < v.rows
}

// put places the lattice's marks on the card, where they are not fitted yet.
func (v *cardView) put(l *lattice, p pose, scale float64) {
	for _, n := range l.nodes {
		m := p.mark(n.place)
		if !v.holds(m) {
			continue
		}
		s := &v.spots[v.number(m)]
		if s.state == spotUnseen || s.state == spotRefused {
			s.state, s.x, s.y = spotRough, n.x*scale, n.y*scale
		}
	}
}

// count returns how many spots are in a state.
func (v *cardView) count(state spotState) int {
	n := 0
	for k := range v.spots {
		if v.spots[k].state == state {
			n++
		}
	}
	return n
}

// local is the lattice near one place: where the mark should lie, one step along
// each axis (photo px), and the variance of that place in units of the variance
// of one mark.
type local struct {
	x, y           float64
	ax, ay, bx, by float64
	leverage       float64
	marks          int
}

// around describes the lattice at m from the marks in a state within reach
// steps, m itself left out. A quadratic in (i, j) is fitted when there are marks
// enough (its cubic remainder under 45 degrees of tilt at 400 mm is a thousandth
// of a cell at two steps); one bent along one axis only where the marks lie in two
// rows, as on the sides of a frame; else a plane.
func (v *cardView) around(m card.Lattice, reach int, usable func(spotState) bool) (local, bool) {
	var near []nearMark
	for j := max(0, m.J-reach); j <= min(v.rows-1, m.J+reach); j++ {
		for i := max(0, m.I-reach); i <= min(v.cols-1, m.I+reach); i++ {
			s := &v.spots[j*v.cols+i]
			if usable(s.state) && (i != m.I || j != m.J) {
				near = append(near, nearMark{float64(i - m.I), float64(j - m.J), s.x, s.y})
			}
		}
	}
	for _, form := range localForms {
		if len(near) < form.marks {
			continue
		}
		if l, ok := fitLocal(near, form.terms); ok && l.leverage < form.leverage {
			return l, true
		}
	}
	return local{}, false
}

// localForms are the polynomials to try: which of the terms 1, i, j, ij, i², j²,
// from how many marks, and how uncertain the place may come out.
var localForms = []struct {
	terms    []int
	marks    int
	leverage float64
}{
	{[]int{0, 1, 2, 3, 4, 5}, 10, 8},
	{[]int{0, 1, 2, 3, 4}, 8, 8},
	{[]int{0, 1, 2, 3, 5}, 8, 8},
	{[]int{0, 1, 2}, 3, math.Inf(1)},
}

type nearMark struct{ di, dj, x, y float64 }

// fitLocal fits a polynomial of the given terms to both coordinates. At the
// origin its value is the constant term, whose variance is the first diagonal
// element of the inverse normal matrix; the next two coefficients are the steps.
func fitLocal(near []nearMark, terms []int) (local, bool) {
	var normal fitMatrix
	var rightX, rightY [fitUnknowns]float64
	for k := len(terms); k < fitUnknowns; k++ {
		normal[k][k] = 1 // unused unknowns stay zero
	}
	x0, y0 := near[0].x, near[0].y
	for _, n := range near {
		t := [6]float64{1, n.di, n.dj, n.di * n.dj, n.di * n.di, n.dj * n.dj}
		for a, termA := range terms {
			for b := a; b < len(terms); b++ {
				normal[a][b] += t[termA] * t[terms[b]]
			}
			rightX[a] += t[termA] * (n.x - x0)
			rightY[a] += t[termA] * (n.y - y0)
		}
	}
	r, ok := cholesky(&normal, 0)
	if !ok {
		return local{}, false
	}
	x, y := backwardSolve(&r, forwardSolve(&r, rightX)), backwardSolve(&r, forwardSolve(&r, rightY))
	leverage, _ := inverseDiagonal(&normal, 0)
	l := local{x0 + x[0], y0 + y[0], x[1], y[1], x[2], y[2], leverage, len(near)}
	return l, l.ax*l.by-l.ay*l.bx < -4 // as on a card that is not mirrored
}

// isSeen reports whether a spot's place is known well enough to predict others.
func isSeen(s spotState) bool { return s == spotRough || s == spotFitted }

func isFitted(s spotState) bool { return s == spotFitted }

// cellSize returns the median side of the card's cells, photo px.
func (v *cardView) cellSize() float64 {
	var sizes []float64
	for k := range v.spots {
		if !isSeen(v.spots[k].state) {
			continue
		}
		m := v.place(k)
		for _, step := range steps[:2] {
			next := card.Lattice{I: m.I + step.I, J: m.J + step.J}
			if v.holds(next) && isSeen(v.spots[v.number(next)].state) {
				s := &v.spots[v.number(next)]
				sizes = append(sizes, math.Hypot(s.x-v.spots[k].x, s.y-v.spots[k].y))
			}
		}
	}
	return median(sizes)
}
