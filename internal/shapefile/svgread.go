package shapefile

import (
	"math"
	"strings"

	"fairedge/internal/plane"
)

// svgStrokes reads every visible line of an SVG: mm, y up. mmPerUnit says how long a user
// unit of the whole drawing is, along x and along y. Where the page lies does not matter.
func svgStrokes(root *element, mmPerUnit [2]float64) ([]stroke, error) {
	r := svgReader{byID: map[string]*element{}, viewport: root.viewportInside()}
	r.index(root)
	page := scaling(mmPerUnit[0], -mmPerUnit[1])
	for _, child := range root.children {
		if err := r.draw(child, page, "", 0); err != nil {
			return nil, err
		}
	}
	return r.pen.drawn()
}

type svgReader struct {
	pen      pen
	byID     map[string]*element
	viewport [2]float64 // of the drawing that is being drawn
}

func (r *svgReader) index(e *element) {
	if id := e.attr["id"]; id != "" && r.byID[id] == nil {
		r.byID[id] = e
	}
	for _, child := range e.children {
		r.index(child)
	}
}

// mostUses bounds how deep clones of clones are followed.
const mostUses = 12

// draw draws the element and what is inside it. name is that of the nearest object
// around it that has one.
func (r *svgReader) draw(e *element, mm affine, name string, uses int) error {
	if e.isHidden() || r.pen.count > mostSegments {
		return nil
	}
	switch e.name { // what is only drawn where something refers to it, or is no line
	case "defs", "clipPath", "mask", "pattern", "marker", "symbol", "metadata", "text", "image":
		return nil
	}
	own, err := e.transform()
	if err != nil {
		return err
	}
	e.viewport = r.viewport
	mm = mm.after(own)
	if id := e.attr["id"]; id != "" {
		name = id
	}
	r.pen.mm, r.pen.name = mm, name
	r.pen.moveTo(plane.Point{})
	switch e.name {
	case "g", "a", "switch":
		return r.drawInside(e, mm, name, uses)
	case "svg":
		inner, err := e.inner()
		if err != nil {
			return err
		}
		around := r.viewport
		r.viewport = e.viewportInside()
		err = r.drawInside(e, mm.after(inner), name, uses)
		r.viewport = around
		return err
	case "use":
		return r.drawUse(e, mm, name, uses)
	}
	return r.drawShape(e)
}

func (r *svgReader) drawInside(e *element, mm affine, name string, uses int) error {
	for _, child := range e.children {
		if err := r.draw(child, mm, name, uses); err != nil {
			return err
		}
	}
	return nil
}

// drawUse draws a clone of another element, shifted.
func (r *svgReader) drawUse(e *element, mm affine, name string, uses int) error {
	target := r.byID[strings.TrimPrefix(strings.TrimSpace(e.attr["href"]), "#")]
	if target == nil || uses == mostUses {
		return nil
	}
	v, err := e.coordinates("x", "y")
	if err != nil {
		return err
	}
	mm = mm.after(translation(v[0], v[1]))
	if target.name == "symbol" {
		return r.drawInside(target, mm, name, uses+1)
	}
	return r.draw(target, mm, name, uses+1)
}

// inner returns the map of a drawing inside the drawing.
func (e *element) inner() (affine, error) {
	v, err := e.coordinates("x", "y", "width", "height")
	if err != nil {
		return affine{}, err
	}
	m := translation(v[0], v[1])
	box, boxed := e.viewBox()
	if !boxed || !(v[2] > 0) || !(v[3] > 0) {
		return m, nil
	}
	k := math.Min(v[2]/box[2], v[3]/box[3])
	left, top := (v[2]-k*box[2])/2, (v[3]-k*box[3])/2 // xMidYMid, the rule when nothing is said
	return m.after(translation(left, top)).after(scaling(k, k)).after(translation(-box[0], -box[1])), nil
}

func (r *svgReader) drawShape(e *element) error {
	switch e.name {
	case "path":
		if err := drawPathData(&r.pen, e.attr["d"]); err != nil {
			return drawingf("save it anew from its program", "in %s %s", stroke{name: r.pen.name}.called(), err.Error())
		}
	case "rect":
		return r.drawRect(e)
	case "circle":
		v, err := e.coordinates("cx", "cy", "r")
		if err == nil && v[2] > 0 {
			r.pen.ring(translation(v[0], v[1]).after(scaling(v[2], v[2])))
		}
		return err
	case "ellipse":
		v, err := e.coordinates("cx", "cy", "rx", "ry")
		if err == nil && v[2] > 0 && v[3] > 0 {
			r.pen.ring(translation(v[0], v[1]).after(scaling(v[2], v[3])))
		}
		return err
	case "line":
		v, err := e.coordinates("x1", "y1", "x2", "y2")
		if err == nil {
			r.pen.moveTo(plane.Point{X: v[0], Y: v[1]})
			r.pen.lineTo(plane.Point{X: v[2], Y: v[3]})
			r.pen.finish(false)
		}
		return err
	case "polygon", "polyline":
		return r.drawPolygon(e)
	}
	return nil
}

func (r *svgReader) drawPolygon(e *element) error {
	v, readable := numbersIn(e.attr["points"])
	if !readable || len(v)%2 != 0 {
		return drawingf("save it anew from its program", "a %s has unreadable points", e.name)
	}
	for i := 0; i < len(v); i += 2 {
		q := plane.Point{X: v[i], Y: v[i+1]}
		if i == 0 {
			r.pen.moveTo(q)
		}
		r.pen.lineTo(q)
	}
	if e.name == "polygon" {
		r.pen.close()
	}
	r.pen.finish(false)
	return nil
}

// drawRect draws a rectangle; a radius that is missing is that of the other axis, and
// none reaches past the middle of its side.
func (r *svgReader) drawRect(e *element) error {
	v, err := e.coordinates("x", "y", "width", "height")
	if err != nil {
		return err
	}
	rx, err := e.coordinate("rx", -1)
	if err != nil {
		return err
	}
	ry, err := e.coordinate("ry", -1)
	if err != nil {
		return err
	}
	x, y, w, h := v[0], v[1], v[2], v[3]
	if !(w > 0) || !(h > 0) {
		return nil
	}
	if rx < 0 {
		rx = ry
	}
	if ry < 0 {
		ry = rx
	}
	rx, ry = math.Min(math.Max(rx, 0), w/2), math.Min(math.Max(ry, 0), h/2)
	if rx == 0 || ry == 0 {
		rx, ry = 0, 0
	}
	at := func(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }
	corner := func(cx, cy, from float64, end plane.Point) {
		if rx > 0 {
			r.pen.arcTo(translation(cx, cy).after(scaling(rx, ry)), from, math.Pi/2, end)
		}
	}
	r.pen.moveTo(at(x+rx, y))
	r.pen.lineTo(at(x+w-rx, y))
	corner(x+w-rx, y+ry, -math.Pi/2, at(x+w, y+ry))
	r.pen.lineTo(at(x+w, y+h-ry))
	corner(x+w-rx, y+h-ry, 0, at(x+w-rx, y+h))
	r.pen.lineTo(at(x+rx, y+h))
	corner(x+rx, y+h-ry, math.Pi/2, at(x, y+h-ry))
	r.pen.lineTo(at(x, y+ry))
	corner(x+rx, y+ry, math.Pi, at(x+rx, y))
	r.pen.close()
	return nil
}
