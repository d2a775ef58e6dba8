package cloth_test

import (
	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

func rectangle(x0, y0, x1, y1 float64) curve.Path {
	return curve.Polygon(plane.Point{X: x0, Y: y0}, plane.Point{X: x1, Y: y0}, plane.Point{X: x1, Y: y1}, plane.Point{X: x0, Y: y1})
}
