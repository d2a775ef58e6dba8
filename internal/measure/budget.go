package measure

import (
	"fmt"
	"math"

	"fairedge/internal/plane"
)

// Outline is a template's outline as measured: points along it in the plane frame.
type Outline struct {
	Points []plane.Point
	Closed bool
	// Sigma is each point's own standard uncertainty across the edge from seeing it,
	// mm; nil counts as none.
	Sigma []float64
	// Across is the direction of the template's width; the depth is square to it.
	// The zero vector stands for x.
	Across plane.Vec
}

// widthAxis returns the unit vector of the width.
func (o Outline) widthAxis() plane.Vec {
	if o.Across == (plane.Vec{}) {
		return plane.Vec{X: 1}
	}
	return o.Across.Unit()
}

// Budget says how far an outline may be from the truth, and why. All errors are
// those of its shape and size: where it lies on the bench does not matter, so the
// rigid motion that fits best is taken out first.
type Budget struct {
	Rows []BudgetRow
	// Point is the standard uncertainty across the outline at each point, mm; the
	// truth lies within 1.96 times it for 19 points of 20.
	Point []float64
	// Within: the whole outline lies within so many mm of the truth all round, 19
	// times out of 20.
	Within float64

	Width     Quantity // extent along Across, mm
	Depth     Quantity // extent square to it, mm
	Perimeter Quantity // length of the outline, mm
	Area      Quantity // mm²; zero for an open outline
}

// Quantity is a measured value with its expanded uncertainty U (k = 2, about 95 %).
type Quantity struct{ Value, U float64 }

// BudgetRow is one line: what a source of error contributes, as standard
// uncertainties (k = 1). The rows add up in squares.
type BudgetRow struct {
	Source string
	Type   string  // A: from the scatter of observations; B: from other knowledge
	Shape  float64 // across the outline, mm rms
	Width  float64 // mm
	Depth  float64 // mm
}

// BudgetParams are the numbers of the budget's own arithmetic.
type BudgetParams struct {
	// Draws of the whole outline, for Within: the 95th of a hundred parts is then
	// known to about 2 % of itself.
	Draws int
	// MaxDrawnPoints of the outline in each draw: errors are smooth, so more points
	// change the greatest little.
	MaxDrawnPoints int
	// BuckleWaves: a sheet lifts in waves no shorter than its perimeter over this.
	BuckleWaves int
}

// DefaultBudgetParams returns the numbers described at BudgetParams.
func DefaultBudgetParams() BudgetParams {
	return BudgetParams{Draws: 1000, MaxDrawnPoints: 180, BuckleWaves: 6}
}

// Budget carries the calibration's covariance and the errors that no photo shows
// to the outline, to first order (JCGM 100:2008, 5.2). A pen line's width is not in
// it: which side is the edge is the caller's choice (Side).
func (c *Calibration) Budget(o Outline) (Budget, error) {
	if err := c.checkOutline(o); err != nil {
		return Budget{}, err
	}
	return c.budget(o, DefaultBudgetParams())
}

func (c *Calibration) budget(o Outline, params BudgetParams) (Budget, error) {
	f := newFunctionals(o)
	sens := c.sensitivities(o)
	tape := c.tapeCorrections(sens, &f)
	fit := c.fitModes(sens, f)
	bench := c.benchModes(o, sens, f, params)
	bench[benchTape] = tape
	ink := c.inkVariances(o, f)
	b := Budget{Point: make([]float64, len(o.Points))}
	for k := range b.Point {
		variance := ink[0][k] + ink[1][k] + bench.variance(k)
		for s := range fit.bySource {
			variance += fit.bySource[s][k]
		}
		b.Point[k] = math.Sqrt(math.Max(0, variance))
	}
	b.Rows = budgetRows(fit, bench, ink, len(o.Points))
	if len(tape) == 0 {
		b.Rows = b.Rows[:len(b.Rows)-1]
	}
	b.Within = within(fit, bench, ink, len(o.Points), params)
	b.fillQuantities(o, f, fit, bench, ink)
	return b, nil
}

func (c *Calibration) checkOutline(o Outline) error {
	if len(o.Points) < 3 || o.Sigma != nil && len(o.Sigma) != len(o.Points) {
		return fmt.Errorf("a budget needs three points or more and one sigma for each, got %d and %d", len(o.Points), len(o.Sigma))
	}
	for i, p := range o.Points {
		seen := c.PhotoFromPlane(p)
		if !p.IsFinite() || !isFinite(seen) {
			return fmt.Errorf("outline point %d (%.1f, %.1f) is out of the camera's sight", i, p.X, p.Y)
		}
	}
	return nil
}

// The four sizes follow the points in every list of functionals.
const (
	sizeWidth = iota
	sizeDepth
	sizePerimeter
	sizeArea
	sizeCount
)

func (b *Budget) fillQuantities(o Outline, f functionals, fit fitModes, bench benchModes, ink [2][]float64) {
	n := len(o.Points)
	u := func(size int) float64 {
		k := n + size
		variance := ink[0][k] + ink[1][k] + bench.variance(k)
		for s := range fit.bySource {
			variance += fit.bySource[s][k]
		}
		return 2 * math.Sqrt(math.Max(0, variance))
	}
	perimeter, area := measures(o)
	b.Width = Quantity{f.width(), u(sizeWidth)}
	b.Depth = Quantity{f.depth(), u(sizeDepth)}
	b.Perimeter = Quantity{perimeter, u(sizePerimeter)}
	if o.Closed {
		b.Area = Quantity{area, u(sizeArea)}
	}
}

// measures returns an outline's length and the area it encloses, positive
// counter-clockwise.
func measures(o Outline) (perimeter, area float64) {
	n := len(o.Points)
	for i, p := range o.Points {
		if i == n-1 && !o.Closed {
			break
		}
		q := o.Points[(i+1)%n]
		perimeter += p.DistanceTo(q)
		area += (p.X*q.Y - p.Y*q.X) / 2
	}
	return perimeter, math.Abs(area)
}

// budgetRows sums the variances up by source.
func budgetRows(fit fitModes, bench benchModes, ink [2][]float64, n int) []BudgetRow {
	row := func(row int, variance func(k int) float64) BudgetRow {
		sum := 0.0
		for k := range n {
			sum += variance(k)
		}
		return BudgetRow{rowNames[row].source, rowNames[row].kind, math.Sqrt(sum / float64(n)),
			math.Sqrt(math.Max(0, variance(n+sizeWidth))), math.Sqrt(math.Max(0, variance(n+sizeDepth)))}
	}
	list := func(values []float64) func(int) float64 { return func(k int) float64 { return values[k] } }
	return []BudgetRow{
		row(int(fromMarks), list(fit.bySource[fromMarks])),
		row(int(fromScale), list(fit.bySource[fromScale])),
		row(int(fromAnisotropy), list(fit.bySource[fromAnisotropy])),
		row(int(fromFlatness), list(fit.bySource[fromFlatness])),
		row(int(fromLens), list(fit.bySource[fromLens])),
		row(int(fromWarp), func(k int) float64 { return fit.bySource[fromWarp][k] + bench.ofGroup(benchWarp, k) }),
		row(rowHeight, func(k int) float64 { return bench.ofGroup(benchHeight, k) }),
		row(rowBuckle, func(k int) float64 { return bench.ofGroup(benchBuckle, k) }),
		row(rowSeen, list(ink[0])),
		row(rowRough, list(ink[1])),
		row(rowTape, func(k int) float64 { return bench.ofGroup(benchTape, k) }),
	}
}

// The rows beyond those of the fit, in their order in the table. Those from the tape on
// are left out when there is nothing in them.
const (
	rowHeight = int(sourceCount) + iota
	rowBuckle
	rowSeen
	rowRough
	rowTape
	rowDisagreement
	rowCount
)

// rowNames are the rows' words and types.
var rowNames = [rowCount]struct{ source, kind string }{
	{"places of the card marks", "A"},
	{"size of the card's print", "B"},
	{"unequal stretch of the print", "B"},
	{"flatness of the cards", "B"},
	{"focal length and lens", "B"},
	{"lens beyond its model", "B"},
	{"height of the template over the cards", "B"},
	{"template not lying flat", "B"},
	{"finding the edge in the photo", "A"},
	{"roughness of the line", "B"},
	{"reading of the tape", "B"},
	{"photos that disagree", "A"},
}
