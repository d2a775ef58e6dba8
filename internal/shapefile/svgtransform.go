package shapefile

import (
	"math"
	"strings"
)

// transform returns the map of the element's transform attribute, in which the function
// written last works first.
func (e *element) transform() (affine, error) {
	m := identity()
	rest := strings.Trim(e.attr["transform"], " \t\r\n,")
	for rest != "" {
		name, after, opened := strings.Cut(rest, "(")
		inside, next, closed := strings.Cut(after, ")")
		values, readable := numbersIn(inside)
		if !opened || !closed || !readable {
			return m, drawingf("save it anew from its program", "a %s has %s for its transform", e.name, quoted(e.attr["transform"]))
		}
		one, known := transformFunction(strings.TrimSpace(name), values)
		if !known {
			return m, drawingf("save it anew from its program", "a %s has the transform %s", e.name, quoted(rest))
		}
		m = m.after(one)
		rest = strings.TrimLeft(next, " \t\r\n,")
	}
	return m, nil
}

func transformFunction(name string, v []float64) (affine, bool) {
	radians := func(degrees float64) float64 { return degrees * math.Pi / 180 }
	switch {
	case name == "matrix" && len(v) == 6:
		return affine{v[0], v[1], v[2], v[3], v[4], v[5]}, true
	case name == "translate" && len(v) == 1:
		return translation(v[0], 0), true
	case name == "translate" && len(v) == 2:
		return translation(v[0], v[1]), true
	case name == "scale" && len(v) == 1:
		return scaling(v[0], v[0]), true
	case name == "scale" && len(v) == 2:
		return scaling(v[0], v[1]), true
	case name == "rotate" && len(v) == 1:
		return rotation(radians(v[0])), true
	case name == "rotate" && len(v) == 3:
		return translation(v[1], v[2]).after(rotation(radians(v[0]))).after(translation(-v[1], -v[2])), true
	case name == "skewX" && len(v) == 1:
		return affine{1, 0, math.Tan(radians(v[0])), 1, 0, 0}, true
	case name == "skewY" && len(v) == 1:
		return affine{1, math.Tan(radians(v[0])), 0, 1, 0, 0}, true
	}
	return affine{}, false
}
