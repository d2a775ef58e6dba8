package measure

import (
	"math"

	"fairedge/internal/plane"
)

// functionals turns a small displacement of every outline point into numbers: the
// distance across the outline at each point after the best rigid motion is taken
// out, then the change of width, depth, perimeter and area.
type functionals struct {
	points  []plane.Point
	normals []plane.Vec
	centre  plane.Point
	across  plane.Vec     // unit vector of the width; the depth is square to it
	rigid   [3][3]float64 // inverse of AᵀA, A the normals' part of a rigid motion
	// The points where the outline reaches farthest.
	left, right, bottom, top int
	perimeter, area          []plane.Vec // gradients by each point
	corrections              []correction
}

// correction says that a taped size has moved the map: every functional has lost
// effect times the error of the functional at size.
type correction struct {
	size   int
	effect []float64
}

func newFunctionals(o Outline) functionals {
	n := len(o.Points)
	f := functionals{points: o.Points, normals: make([]plane.Vec, n),
		perimeter: make([]plane.Vec, n), area: make([]plane.Vec, n)}
	f.across = o.widthAxis()
	f.centre = plane.RectFromPoints(o.Points...).Centre()
	for i, p := range o.Points {
		before, after := o.neighbours(i)
		f.normals[i] = after.Sub(before).Unit().TurnRight()
		// d|p - before| + d|after - p|, and the shoelace formula.
		f.perimeter[i] = p.Sub(before).Unit().Sub(after.Sub(p).Unit())
		f.area[i] = after.Sub(before).TurnRight().Scale(0.5)
		f.reach(i)
	}
	f.rigid = f.rigidInverse()
	return f
}

// neighbours returns the points before and after point i; an open outline's ends
// are their own neighbours.
func (o Outline) neighbours(i int) (before, after plane.Point) {
	n := len(o.Points)
	if o.Closed {
		return o.Points[(i+n-1)%n], o.Points[(i+1)%n]
	}
	return o.Points[max(i-1, 0)], o.Points[min(i+1, n-1)]
}

func (f *functionals) reach(i int) {
	along := f.across.TurnLeft()
	beyond := func(j int, direction plane.Vec) bool { return f.points[i].Sub(f.points[j]).Dot(direction) > 0 }
	if beyond(f.left, f.across.Neg()) {
		f.left = i
	}
	if beyond(f.right, f.across) {
		f.right = i
	}
	if beyond(f.bottom, along.Neg()) {
		f.bottom = i
	}
	if beyond(f.top, along) {
		f.top = i
	}
}

func (f *functionals) width() float64 { return f.points[f.right].Sub(f.points[f.left]).Dot(f.across) }
func (f *functionals) depth() float64 {
	return f.points[f.top].Sub(f.points[f.bottom]).Dot(f.across.TurnLeft())
}

// rigidRow returns what a shift by 1 mm along x, along y and a turn by 1 rad do
// across the outline at point i.
func (f *functionals) rigidRow(i int) [3]float64 {
	n := f.normals[i]
	return [3]float64{n.X, n.Y, n.Dot(f.points[i].Sub(f.centre).TurnLeft())}
}

// rigidInverse inverts AᵀA. A little is added to the diagonal, so that a circle,
// whose turn no normal sees, has an inverse too; its turn then stays zero.
func (f *functionals) rigidInverse() (inverse [3][3]float64) {
	ata := newSymmetric(3)
	for i := range f.points {
		row := f.rigidRow(i)
		for r := range 3 {
			for c := range 3 {
				ata.a[r*3+c] += row[r] * row[c]
			}
		}
	}
	n := float64(len(f.points))
	ata.a[0] += 1e-9 * n
	ata.a[4] += 1e-9 * n
	ata.a[8] += 1e-9 * n * (1 + f.width()) * (1 + f.depth())
	l, ok := ata.cholesky(0)
	if !ok {
		return inverse
	}
	inv := l.inverse()
	for r := range 3 {
		for c := range 3 {
			inverse[r][c] = inv.a[r*3+c]
		}
	}
	return inverse
}

// of returns the functionals' values for one displacement field, less what the
// taped sizes take out of it.
func (f *functionals) of(field []plane.Vec) []float64 {
	raw := f.uncorrected(field)
	out := append([]float64(nil), raw...)
	for _, c := range f.corrections {
		for j, e := range c.effect {
			out[j] -= e * raw[c.size]
		}
	}
	return out
}

func (f *functionals) uncorrected(field []plane.Vec) []float64 {
	n := len(field)
	out := make([]float64, n+sizeCount)
	var atb, motion [3]float64
	for i, d := range field {
		out[i] = f.normals[i].Dot(d)
		row := f.rigidRow(i)
		for r := range 3 {
			atb[r] += row[r] * out[i]
		}
		out[n+sizePerimeter] += f.perimeter[i].Dot(d)
		out[n+sizeArea] += f.area[i].Dot(d)
	}
	for r := range 3 {
		motion[r] = f.rigid[r][0]*atb[0] + f.rigid[r][1]*atb[1] + f.rigid[r][2]*atb[2]
	}
	for i := range field {
		row := f.rigidRow(i)
		out[i] -= row[0]*motion[0] + row[1]*motion[1] + row[2]*motion[2]
	}
	at := func(i int) plane.Vec { // what is left of the field at i
		turn := f.points[i].Sub(f.centre).TurnLeft().Scale(motion[2])
		return field[i].Sub(plane.Vec{X: motion[0], Y: motion[1]}).Sub(turn)
	}
	out[n+sizeWidth] = at(f.right).Sub(at(f.left)).Dot(f.across)
	out[n+sizeDepth] = at(f.top).Sub(at(f.bottom)).Dot(f.across.TurnLeft())
	return out
}

// ofNoise returns the functionals' variances when each point moves across the
// outline on its own, with the given variances. The rigid motion of many
// independent errors is small and is neglected.
func (f *functionals) ofNoise(variance []float64) []float64 {
	n := len(variance)
	out := make([]float64, n+sizeCount)
	copy(out, variance)
	for i, v := range variance {
		along := func(g plane.Vec) float64 { return g.Dot(f.normals[i]) }
		out[n+sizePerimeter] += math.Pow(along(f.perimeter[i]), 2) * v
		out[n+sizeArea] += math.Pow(along(f.area[i]), 2) * v
	}
	out[n+sizeWidth] = variance[f.left] + variance[f.right]
	out[n+sizeDepth] = variance[f.bottom] + variance[f.top]
	return out
}
