package shapefile

import (
	"math"
	"strconv"
	"strings"
)

// The units of CSS in user units, of which 96 make an inch (W3C, "CSS Values and Units
// Module Level 3", 6.2).
func cssUnit(name string) (userUnits float64, known bool) {
	switch name {
	case "", "px":
		return 1, true
	case "mm":
		return 96 / 25.4, true
	case "cm":
		return 96 / 2.54, true
	case "q":
		return 96 / 101.6, true
	case "in":
		return 96, true
	case "pt":
		return 96.0 / 72, true
	case "pc":
		return 16, true
	}
	return 0, false
}

// readLength reads a number and its unit.
func readLength(text string) (value float64, unit string, ok bool) {
	text = strings.TrimSpace(text)
	n := numberLength(text)
	value, err := strconv.ParseFloat(text[:n], 64)
	return value, strings.ToLower(strings.TrimSpace(text[n:])), err == nil
}

// coordinate returns an attribute as a length in user units; the second value if it is
// missing. Font sizes depend on what is not geometry: they are refused.
func (e *element) coordinate(name string, missing float64) (float64, error) {
	text, given := e.attr[name]
	if !given || text == "auto" {
		return missing, nil
	}
	value, unit, ok := readLength(text)
	factor, known := cssUnit(unit)
	if whole := e.wholeOf(name); unit == "%" && whole > 0 {
		factor, known = whole/100, true
	}
	if !ok || !known {
		return 0, drawingf("draw it with plain numbers", "a %s has %s for its %s", e.name, quoted(text), name)
	}
	return value * factor, nil
}

// wholeOf returns what percentages of an attribute are of: the viewport's width or height,
// or for a radius their root mean square (SVG 2, 8.9).
func (e *element) wholeOf(name string) float64 {
	switch name {
	case "x", "x1", "x2", "cx", "rx", "width":
		return e.viewport[0]
	case "y", "y1", "y2", "cy", "ry", "height":
		return e.viewport[1]
	}
	return math.Sqrt((e.viewport[0]*e.viewport[0] + e.viewport[1]*e.viewport[1]) / 2)
}

// coordinates is coordinate for several attributes, 0 if missing.
func (e *element) coordinates(names ...string) ([]float64, error) {
	values := make([]float64, len(names))
	for i, name := range names {
		v, err := e.coordinate(name, 0)
		if err != nil {
			return nil, err
		}
		values[i] = v
	}
	return values, nil
}

// numbersIn reads all numbers of a list, or reports that something else is in it.
func numbersIn(text string) ([]float64, bool) {
	var out []float64
	r := pathReader{text: text}
	for r.numberFollows() {
		x, err := r.number()
		if err != nil {
			return nil, false
		}
		out = append(out, x)
	}
	r.skipComma()
	return out, r.i == len(r.text)
}

// viewBox returns the root's viewBox: least x and y, width, height.
func (e *element) viewBox() (box [4]float64, ok bool) {
	v, readable := numbersIn(e.attr["viewBox"])
	if !readable || len(v) != 4 || !(v[2] > 0) || !(v[3] > 0) {
		return box, false
	}
	return [4]float64(v), true
}

// viewportInside returns the size in user units that percentages inside a drawing are of.
func (e *element) viewportInside() [2]float64 {
	if box, ok := e.viewBox(); ok {
		return [2]float64{box[2], box[3]}
	}
	var size [2]float64
	for i, name := range []string{"width", "height"} {
		value, unit, ok := readLength(e.attr[name])
		if factor, known := cssUnit(unit); ok && known {
			size[i] = value * factor
		}
	}
	return size
}

// rootScale returns how many mm a user unit of the whole drawing is along x and y. Stated
// is false if the drawing does not say: a width in px, in percent or none is the screen's
// affair, and what programs mean by a px differs (72, 90 or 96 to the inch).
func (e *element) rootScale() (x, y float64, stated bool) {
	w, wUnit, wOK := readLength(e.attr["width"])
	h, hUnit, hOK := readLength(e.attr["height"])
	wFactor, wKnown := cssUnit(wUnit)
	hFactor, hKnown := cssUnit(hUnit)
	real := func(unit string) bool { return unit != "" && unit != "px" }
	wOK = wOK && wKnown && real(wUnit) && w > 0
	hOK = hOK && hKnown && real(hUnit) && h > 0
	if !wOK && !hOK {
		return 0, 0, false
	}
	const mmPerUser = 25.4 / 96
	box, boxed := e.viewBox()
	if !boxed {
		return mmPerUser, mmPerUser, true
	}
	x, y = w*wFactor*mmPerUser/box[2], h*hFactor*mmPerUser/box[3]
	switch {
	case !hOK:
		return x, x, true
	case !wOK:
		return y, y, true
	case strings.HasPrefix(strings.TrimSpace(e.attr["preserveAspectRatio"]), "none"):
		return x, y, true
	case strings.HasSuffix(strings.TrimSpace(e.attr["preserveAspectRatio"]), "slice"):
		return math.Max(x, y), math.Max(x, y), true
	}
	return math.Min(x, y), math.Min(x, y), true
}

// pxScale returns how many px of the screen a user unit of the whole drawing is.
func (e *element) pxScale() float64 {
	w, unit, ok := readLength(e.attr["width"])
	box, boxed := e.viewBox()
	if !ok || !boxed || unit != "" && unit != "px" || !(w > 0) {
		return 1
	}
	return w / box[2]
}
