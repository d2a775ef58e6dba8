package detect

import (
	"math"

	"fairedge/internal/card"
)

// pose says how a lattice lies on a card: mirrored first if so, then turned by
// quarter turns (counter-clockwise on the card), then shifted.
type pose struct {
	mirrored bool
	turns    int
	shift    card.Lattice
}

// mark returns the card's mark for a mark of the lattice.
func (p pose) mark(m card.Lattice) card.Lattice {
	if p.mirrored {
		m.I = -m.I
	}
	switch p.turns {
	case 1:
		m = card.Lattice{I: -m.J, J: m.I}
	case 2:
		m = card.Lattice{I: -m.I, J: -m.J}
	case 3:
		m = card.Lattice{I: m.J, J: -m.I}
	}
	return card.Lattice{I: m.I + p.shift.I, J: m.J + p.shift.J}
}

// cell returns the card's cell for a cell of the lattice, both named by their
// lower left marks: of the four marks of a cell the lower left one is the least
// in both directions after the turn.
func (p pose) cell(c card.Lattice) card.Lattice {
	a, b := p.mark(c), p.mark(card.Lattice{I: c.I + 1, J: c.J + 1})
	return card.Lattice{I: min(a.I, b.I), J: min(a.J, b.J)}
}

// decoded is the best reading of a lattice.
type decoded struct {
	design          card.Design
	pose            pose
	agree, disagree int
	score           float64 // log likelihood ratio, natural logarithm
	needed          float64 // what score has to reach
}

func (d decoded) accepted() bool { return d.agree > 0 && d.score >= d.needed }

// decode finds the card, part and way up that a lattice's dots agree with best.
//
// The decision is a likelihood ratio: of n cells compared, an agreement counts
// ln(2(1-e)), a disagreement ln(2e), with e the rate of misread dots. Now let the
// picture be any picture, and one hypothesis (design, turn, shift) be wrong. The
// design's dots are the output of a hash, that is fair coins that know nothing of
// the picture, so each cell agrees with probability 1/2 whatever was read, and the
// expected likelihood ratio is 1:
//
//	E exp(score) = Π (1/2 · 2(1-e) + 1/2 · 2e) = 1
//
// By Markov's inequality P(score >= t) <= exp(-t), and over all H hypotheses the
// probability that any wrong one passes is at most H exp(-t). The score needed for
// a bound of FalseAccept is therefore ln(H / FalseAccept). With H = 3e4 and 1e-6
// that is 24.1: 37 cells without a misreading, 42 with one. Regular pictures (plain
// chessboards, tiles) gain nothing: it is the cards that are random.
//
// Only when no card fits the right way round are mirrored ones tried; H counts
// both.
func decode(bits []dotBit, designs []dotDesign, params CardParams) decoded {
	best := decoded{score: math.Inf(-1)}
	for _, mirrored := range [2]bool{false, true} {
		hypotheses := 0
		for turns := range 4 {
			turned := newTurned(bits, pose{mirrored: mirrored, turns: turns})
			for k := range designs {
				hypotheses += turned.match(&designs[k], params, &best)
			}
		}
		best.needed = math.Log(math.Max(1, float64(2*hypotheses)) / params.FalseAccept)
		if best.accepted() {
			break
		}
	}
	return best
}

// dotDesign is a card with its dots looked up once.
type dotDesign struct {
	card.Design
	table []int8 // of each cell, row by row
}

func dotDesigns() []dotDesign {
	var all []dotDesign
	for _, d := range card.All() {
		all = append(all, dotDesign{d, dotTable(d)})
	}
	return all
}

// turned is the dots of a lattice in one of the eight attitudes: a box of cells,
// row by row.
type turned struct {
	pose     pose
	min, max card.Lattice
	grid     []int8
	odd      int // 1 when cells with odd I+J are dark
}

func newTurned(bits []dotBit, p pose) turned {
	t := turned{pose: p}
	if len(bits) == 0 {
		t.max = card.Lattice{I: -1, J: -1}
		return t
	}
	t.min = p.cell(bits[0].cell)
	t.max = t.min
	if wasDark := (bits[0].cell.I+bits[0].cell.J)&1 != 0; wasDark == ((t.min.I+t.min.J)&1 != 0) {
		t.odd = 1
	}
	for _, b := range bits {
		c := p.cell(b.cell)
		t.min = card.Lattice{I: min(t.min.I, c.I), J: min(t.min.J, c.J)}
		t.max = card.Lattice{I: max(t.max.I, c.I), J: max(t.max.J, c.J)}
	}
	width := t.max.I - t.min.I + 1
	t.grid = make([]int8, width*(t.max.J-t.min.J+1))
	for _, b := range bits {
		c := p.cell(b.cell)
		state := cellPlain
		if b.dot {
			state = cellWithDot
		}
		t.grid[(c.J-t.min.J)*width+c.I-t.min.I] = state
	}
	return t
}

// match tries every shift that puts dark cells on dark cells and overlaps the
// card, and returns how many there were.
func (t *turned) match(d *dotDesign, params CardParams, best *decoded) int {
	hypotheses := 0
	good, bad := math.Log(2*(1-params.BitError)), math.Log(2*params.BitError)
	for i := -t.max.I; i < d.Cols-t.min.I; i++ {
		for j := -t.max.J; j < d.Rows-t.min.J; j++ {
			if (i+j+t.odd)&1 != 0 || t.overlap(d, i, j) < minOverlap {
				continue
			}
			hypotheses++
			shift := card.Lattice{I: i, J: j}
			agree, disagree := t.compare(d, shift)
			score := float64(agree)*good + float64(disagree)*bad
			if score > best.score {
				p := t.pose
				p.shift = shift
				*best = decoded{design: d.Design, pose: p, agree: agree, disagree: disagree, score: score}
			}
		}
	}
	return hypotheses
}

// minOverlap is the fewest cells worth comparing; fewer could never pass.
const minOverlap = 20

// overlap returns the area, in cells, that the lattice's box shifted by (i, j)
// shares with the card's.
func (t *turned) overlap(d *dotDesign, i, j int) int {
	across := min(t.max.I+i, d.Cols-1) - max(t.min.I+i, 0) + 1
	up := min(t.max.J+j, d.Rows-1) - max(t.min.J+j, 0) + 1
	return max(0, across) * max(0, up)
}

// compare counts agreeing and disagreeing cells of the two boxes' common part. It
// gives up once the two are near balance, which no true match is; the score of the
// cells so far then stands, which is too low to be accepted.
func (t *turned) compare(d *dotDesign, shift card.Lattice) (agree, disagree int) {
	c0, c1 := max(t.min.I+shift.I, 0), min(t.max.I+shift.I, d.Cols-1)
	r0, r1 := max(t.min.J+shift.J, 0), min(t.max.J+shift.J, d.Rows-1)
	width := t.max.I - t.min.I + 1
	for r := r0; r <= r1; r++ {
		seen := t.grid[(r-shift.J-t.min.J)*width+c0-shift.I-t.min.I:]
		want := d.table[r*d.Cols+c0 : r*d.Cols+c1+1]
		for k, w := range want {
			switch s := seen[k]; {
			case s == noCell || w == noCell:
			case s == w:
				agree++
			default:
				if disagree++; disagree > 4+agree/4 {
					return agree, disagree
				}
			}
		}
	}
	return agree, disagree
}

const (
	noCell int8 = iota
	cellPlain
	cellWithDot
)

// dotTable returns what each cell of a card is, row by row.
func dotTable(d card.Design) []int8 {
	table := make([]int8, d.Cols*d.Rows)
	for r := range d.Rows {
		for c := range d.Cols {
			switch {
			case !d.HasCell(c, r):
			case d.HasDot(c, r):
				table[r*d.Cols+c] = cellWithDot
			default:
				table[r*d.Cols+c] = cellPlain
			}
		}
	}
	return table
}
