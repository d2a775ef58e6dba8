package measure

import (
	"fmt"
	"math"

	"fairedge/internal/camera"
	"fairedge/internal/card"
	"fairedge/internal/plane"
)

// Quantity whose error an ErrorPart is. What several photos share of it is for the
// caller to judge; measure says only what it is.
type ErrorOf int

// The quantities.
const (
	OfPhoto      ErrorOf = iota // where this photo shows its marks
	OfPrint                     // a print's scale or anisotropy: the same wherever its cards are used
	OfLens                      // focal length and radial distortion
	OfLensAxis                  // principal point, decentering and warp: they turn with the camera
	OfCard                      // the lie of a card, for as long as nobody moves it
	OfHeight                    // of the template over the cards
	OfBuckle                    // of the template
	OfTape                      // a reading of the tape
	OfComparison                // something that only several photos show
)

// Sizes are the errors of the four sizes: mm, the area mm².
type Sizes [sizeCount]float64

// ErrorPart is one independent error of an outline: what a standard deviation of one
// quantity does to it, with its sign.
type ErrorPart struct {
	Of    ErrorOf
	Key   string // names the quantity among those of its kind; parts of OfPhoto have none
	Card  string // the card, for OfCard
	Point []float64
	Sizes Sizes
	row   int
}

// ErrorParts is all that Budget knows of an outline's error, part by part. Two more
// errors each point has for itself, as variances: from seeing it, and from the line's
// roughness, which every photo shows alike.
type ErrorParts struct {
	Parts                 []ErrorPart
	Seen, Rough           []float64 // of each point
	SeenSizes, RoughSizes Sizes
}

// ErrorParts parts the outline's error into independent ones. Their squares add up to
// those of Budget, but it says of each whose error it is, so that the errors of several
// photos can be compared.
//
// With y the outline's gradient by the camera and z = C y, the camera's error moves a
// functional by zᵀ(JᵀW noise + P (mean - truth)): one part for each prior, of size
// -sd P z = -z/sd. The lens's warp, which the map from photo to plane does not undo,
// moves it besides by its own gradient times the truth: the same quantity's part.
func (c *Calibration) ErrorParts(o Outline) (ErrorParts, error) {
	if err := c.checkOutline(o); err != nil {
		return ErrorParts{}, err
	}
	f := newFunctionals(o)
	sens := c.sensitivities(o)
	tape := c.tapeCorrections(sens, &f)
	var all ErrorParts
	all.addFit(c, sens, f)
	bench := c.benchModes(o, sens, f, DefaultBudgetParams())
	bench[benchTape] = tape
	for _, g := range []struct {
		group, row int
		of         ErrorOf
	}{{benchHeight, rowHeight, OfHeight}, {benchBuckle, rowBuckle, OfBuckle}, {benchTape, rowTape, OfTape}} {
		for k, mode := range bench[g.group] {
			all.add(ErrorPart{Of: g.of, Key: fmt.Sprint(k), row: g.row}, mode)
		}
	}
	ink := c.inkVariances(o, f)
	n := len(o.Points)
	all.Seen, all.Rough = ink[0][:n], ink[1][:n]
	copy(all.SeenSizes[:], ink[0][n:])
	copy(all.RoughSizes[:], ink[1][n:])
	return all, nil
}

func (e *ErrorParts) add(part ErrorPart, functionals []float64) {
	n := len(functionals) - sizeCount
	part.Point = functionals[:n]
	copy(part.Sizes[:], functionals[n:])
	e.Parts = append(e.Parts, part)
}

// addFit adds the parts of the fit: one for each prior, and those of the marks.
func (e *ErrorParts) addFit(c *Calibration, sens []sensitivity, f functionals) {
	post := c.posterior
	z := c.throughCamera(sens, f)
	for i, k := range post.active {
		if k < 0 || post.precision[k] == 0 {
			continue
		}
		sd := 1 / math.Sqrt(post.precision[k])
		effect := make([]float64, len(z[k]))
		for j, v := range z[k] {
			effect[j] = -v / sd
		}
		if w := i - post.layout.warp(); w >= 0 {
			for j, v := range f.of(warpField(sens, w)) {
				effect[j] += sd * v
			}
		}
		e.add(c.partOf(i), effect)
	}
	for _, mode := range marksModes(post.marks, z) {
		e.add(ErrorPart{Of: OfPhoto, row: int(fromMarks)}, mode)
	}
}

// throughCamera returns z = C y for every functional: [unknown][functional].
func (c *Calibration) throughCamera(sens []sensitivity, f functionals) [][]float64 {
	post := c.posterior
	n := post.covariance.n
	z := make([][]float64, n)
	for k := range z {
		z[k] = make([]float64, len(sens)+sizeCount)
	}
	for unknown := range camera.ParamCount {
		place := post.active[unknown]
		if place < 0 {
			continue
		}
		field := make([]plane.Vec, len(sens))
		for i, s := range sens {
			field[i] = s.byCamera[unknown]
		}
		y := f.of(field)
		for k := range z {
			by := post.covariance.a[k*n+place]
			for j, v := range y {
				z[k][j] += by * v
			}
		}
	}
	return z
}

// warpField is the outline's displacement by coefficient k of the warp.
func warpField(sens []sensitivity, k int) []plane.Vec {
	field := make([]plane.Vec, len(sens))
	for i, s := range sens {
		field[i] = s.byPhoto[k/warpTerms].Scale(s.warp[k%warpTerms])
	}
	return field
}

// marksModes returns modes whose squares sum to zᵀ M z for every functional. M is scaled
// to a diagonal of ones and factored with the greatest remainder first, so that unknowns
// that no mark sees do no harm.
func marksModes(m symmetric, z [][]float64) (modes [][]float64) {
	n := m.n
	scale, left := make([]float64, n), make([]float64, n)
	for i := range n {
		if d := m.a[i*n+i]; d > 0 {
			scale[i], left[i] = math.Sqrt(d), 1
		}
	}
	var factor [][]float64
	for pivot := greatestOf(left); left[pivot] > 1e-12 && len(factor) < n; pivot = greatestOf(left) {
		column := make([]float64, n)
		for i := range column {
			if scale[i] > 0 {
				column[i] = m.a[i*n+pivot] / (scale[i] * scale[pivot])
			}
			for _, before := range factor {
				column[i] -= before[i] * before[pivot]
			}
		}
		root := math.Sqrt(left[pivot])
		for i := range column {
			column[i] /= root
			left[i] = max(0, left[i]-column[i]*column[i])
		}
		left[pivot] = 0
		factor = append(factor, column)
		mode := make([]float64, len(z[0]))
		for i, v := range column {
			for j, zij := range z[i] {
				mode[j] += v * scale[i] * zij
			}
		}
		modes = append(modes, mode)
	}
	return modes
}

// partOf names the quantity of an unknown.
func (c *Calibration) partOf(unknown int) ErrorPart {
	l := c.posterior.layout
	part := ErrorPart{Of: OfLens, Key: fmt.Sprint("lens ", unknown), row: int(l.groupOf(unknown))}
	switch {
	case unknown == camera.ParamLogF || unknown == camera.ParamK1 || unknown == camera.ParamK2:
	case unknown < l.print(0):
		part.Of = OfLensAxis
	case unknown < l.pose(0):
		k := unknown - l.print(0)
		part.Of, part.Key = OfPrint, fmt.Sprintf("%s, %d", c.printName(k/printParams), k%printParams)
	case unknown < l.warp():
		k := unknown - l.height(0)
		part.Of, part.Card = OfCard, c.model.targets[k/heightParams].Name
		part.Key = fmt.Sprintf("%s, %d", part.Card, k%heightParams)
	default:
		part.Of, part.Key = OfLensAxis, fmt.Sprint("warp ", unknown-l.warp())
	}
	return part
}

// printName names a print by the sheet that its cards were cut from.
func (c *Calibration) printName(print int) string {
	for _, t := range c.model.targets {
		if t.Print == print && t.ID != (card.ID{}) {
			return fmt.Sprintf("%s, frame %t", t.ID.Paper, t.ID.Number == card.Frame)
		}
	}
	return fmt.Sprint("print ", print)
}

// BudgetOfParts adds parts up to a budget of the outline. It is how errors that several
// photos have in part together become one statement.
func BudgetOfParts(o Outline, e ErrorParts) Budget {
	sum := newPartSum(len(o.Points))
	modes := make([][]float64, len(e.Parts))
	for i, p := range e.Parts {
		modes[i] = p.Point
		sum.addSquares(p)
	}
	sum.add(rowSeen, e.Seen, e.SeenSizes)
	sum.add(rowRough, e.Rough, e.RoughSizes)
	b := Budget{Point: make([]float64, len(o.Points)), Rows: sum.budgetRows()}
	for k, v := range sum.point {
		b.Point[k] = math.Sqrt(v)
	}
	b.Within = greatestWithin(modes, [2][]float64{e.Seen, e.Rough}, len(o.Points), DefaultBudgetParams())
	f := newFunctionals(o)
	u := func(size int) float64 { return 2 * math.Sqrt(sum.sizes[size]) }
	perimeter, area := measures(o)
	b.Width, b.Depth = Quantity{f.width(), u(sizeWidth)}, Quantity{f.depth(), u(sizeDepth)}
	b.Perimeter = Quantity{perimeter, u(sizePerimeter)}
	if o.Closed {
		b.Area = Quantity{area, u(sizeArea)}
	}
	return b
}

// partSum adds variances up, over all and by row.
type partSum struct {
	point []float64
	sizes Sizes
	rows  [rowCount]struct {
		shape float64
		sizes Sizes
		used  bool
	}
}

func newPartSum(points int) *partSum { return &partSum{point: make([]float64, points)} }

func (s *partSum) addSquares(p ErrorPart) {
	squares := make([]float64, len(p.Point))
	for k, v := range p.Point {
		squares[k] = v * v
	}
	var sizes Sizes
	for k, v := range p.Sizes {
		sizes[k] = v * v
	}
	s.add(p.row, squares, sizes)
}

func (s *partSum) add(row int, point []float64, sizes Sizes) {
	r := &s.rows[row]
	r.used = true
	for k, v := range point {
		s.point[k] += v
		r.shape += v / float64(len(point))
	}
	for k, v := range sizes {
		s.sizes[k] += v
		r.sizes[k] += v
	}
}

// budgetRows lists the rows; those from the tape on only when there is something in them.
func (s *partSum) budgetRows() (rows []BudgetRow) {
	for row, r := range s.rows {
		if r.used || row < rowTape {
			rows = append(rows, BudgetRow{rowNames[row].source, rowNames[row].kind, math.Sqrt(r.shape),
				math.Sqrt(r.sizes[sizeWidth]), math.Sqrt(r.sizes[sizeDepth])})
		}
	}
	return rows
}

// Disagreement returns the part of an outline that lies apart in two photos neither of
// which can be blamed: either may be right.
func Disagreement(point []float64, sizes Sizes) ErrorPart {
	return ErrorPart{Of: OfComparison, Point: point, Sizes: sizes, row: rowDisagreement}
}

// SizesOf returns how the four sizes change when the outline's points move across it.
func (o Outline) SizesOf(across []float64) (s Sizes) {
	f := newFunctionals(o)
	field := make([]plane.Vec, len(across))
	for i, d := range across {
		field[i] = f.normals[i].Scale(d)
	}
	copy(s[:], f.of(field)[len(across):])
	return s
}
