package shapefile

import (
	"math"

	"fairedge/internal/plane"
)

// dxfStrokes reads every visible line of the drawing: mm, y up.
func dxfStrokes(d dxfDrawing, mmPerUnit float64) ([]stroke, error) {
	r := dxfReader{drawing: d}
	r.drawAll(d.entities, scaling(mmPerUnit, mmPerUnit), "", 0)
	return r.pen.drawn()
}

type dxfReader struct {
	pen     pen
	drawing dxfDrawing
}

// mostInserts bounds how deep blocks inside blocks are followed.
const mostInserts = 12

// drawAll draws the objects; those on layer 0 of a block stand on the layer of its
// INSERT.
func (r *dxfReader) drawAll(entities []dxfEntity, mm affine, around string, depth int) {
	for _, e := range entities {
		if r.pen.count > mostSegments {
			return
		}
		layer := e.text(8)
		if around != "" && (layer == "" || layer == "0") {
			layer = around
		}
		if r.drawing.off[layer] || e.flags(67) == 1 || e.flags(60) == 1 {
			continue // switched off, on the page for printing, or invisible
		}
		r.pen.mm, r.pen.name = mm, layer
		r.pen.moveTo(plane.Point{})
		r.draw(e, mm, layer, depth)
		r.pen.finish(false)
	}
}

func (r *dxfReader) draw(e dxfEntity, mm affine, layer string, depth int) {
	switch e.kind {
	case "LINE":
		r.pen.moveTo(e.point(10))
		r.pen.lineTo(e.point(11))
		return
	case "SPLINE":
		r.drawSpline(e)
		return
	case "ELLIPSE":
		r.drawEllipse(e)
		return
	}
	// The others lie in a plane of their own. Looked at from below, its x axis is turned
	// round (DXF Reference, "Arbitrary Axis Algorithm"); a plane askew holds no pattern.
	nx, ny, nz := e.number(210, 0), e.number(220, 0), e.number(230, 1)
	if math.Abs(nx) > 1e-9 || math.Abs(ny) > 1e-9 {
		return
	}
	if nz < 0 {
		mm = mm.after(scaling(-1, 1))
		r.pen.mm = mm
	}
	switch e.kind {
	case "CIRCLE":
		r.pen.ring(e.circle())
	case "ARC":
		r.drawArc(e)
	case "LWPOLYLINE":
		r.drawPolyline(lightVertices(e), e.flags(70)&1 != 0)
	case "POLYLINE":
		if e.flags(70)&(16|64) == 0 { // no mesh
			r.drawPolyline(heavyVertices(e), e.flags(70)&1 != 0)
		}
	case "INSERT":
		r.drawInsert(e, mm, layer, depth)
	}
}

// point returns the point under the codes n and n+10.
func (e dxfEntity) point(n int) plane.Point {
	return plane.Point{X: e.number(n, 0), Y: e.number(n+10, 0)}
}

// circle returns the map from the unit circle to the object's.
func (e dxfEntity) circle() affine {
	c, radius := e.point(10), e.number(40, 0)
	return translation(c.X, c.Y).after(scaling(radius, radius))
}

// drawArc draws from the angle under 50 counter-clockwise to that under 51, in degrees.
func (r *dxfReader) drawArc(e dxfEntity) {
	from, to := e.number(50, 0)*math.Pi/180, e.number(51, 360)*math.Pi/180
	r.drawTurn(e.circle(), from, to)
}

// drawTurn draws the ellipse from one angle counter-clockwise to the other.
func (r *dxfReader) drawTurn(ellipse affine, from, to float64) {
	sweep := math.Mod(to-from, fullTurn)
	if sweep < 1e-9 {
		sweep += fullTurn
	}
	if sweep > fullTurn-1e-9 {
		r.pen.ring(ellipse)
		return
	}
	on := func(angle float64) plane.Point {
		sin, cos := math.Sincos(angle)
		return ellipse.apply(plane.Point{X: cos, Y: sin})
	}
	r.pen.moveTo(on(from))
	r.pen.arcTo(ellipse, from, sweep, on(from+sweep))
}

// drawEllipse draws an ellipse by its centre, its longer half axis and the share of the
// shorter one; 41 and 42 are its parameters, not angles.
func (r *dxfReader) drawEllipse(e dxfEntity) {
	c, major, ratio := e.point(10), e.point(11), e.number(40, 1)
	if e.number(230, 1) < 0 {
		ratio = -ratio
	}
	ellipse := affine{major.X, major.Y, -ratio * major.Y, ratio * major.X, c.X, c.Y}
	r.drawTurn(ellipse, e.number(41, 0), e.number(42, fullTurn))
}

// dxfVertex is a corner of a polyline; bulge is the tangent of a quarter of the arc from
// it to the next corner, counter-clockwise positive, 0 for a line.
type dxfVertex struct {
	at    plane.Point
	bulge float64
}

func lightVertices(e dxfEntity) []dxfVertex {
	var out []dxfVertex
	for _, t := range e.tags {
		switch {
		case t.code == 10:
			out = append(out, dxfVertex{at: plane.Point{X: t.number()}})
		case t.code == 20 && len(out) > 0:
			out[len(out)-1].at.Y = t.number()
		case t.code == 42 && len(out) > 0:
			out[len(out)-1].bulge = t.number()
		}
	}
	return out
}

// heavyVertices leaves out the control points that a smoothed polyline carries along.
func heavyVertices(e dxfEntity) []dxfVertex {
	var out []dxfVertex
	for _, v := range e.parts {
		if v.flags(70)&16 == 0 {
			out = append(out, dxfVertex{v.point(10), v.number(42, 0)})
		}
	}
	return out
}

func (r *dxfReader) drawPolyline(vertices []dxfVertex, closed bool) {
	for i, v := range vertices {
		if i == 0 {
			r.pen.moveTo(v.at)
			continue
		}
		r.pen.bulgeTo(vertices[i-1].bulge, v.at)
	}
	if closed && len(vertices) > 1 {
		r.pen.bulgeTo(vertices[len(vertices)-1].bulge, vertices[0].at)
		r.pen.finish(true)
	}
}

// bulgeTo draws the arc of the given bulge to q. The centre lies on the chord's bisector,
// to the left of travel when the arc turns left by less than half a turn, at
// (1 - b²)/(4b) chords from it.
func (p *pen) bulgeTo(bulge float64, q plane.Point) {
	chord := q.Sub(p.at)
	if math.Abs(bulge) < 1e-9 || chord.LengthSq() == 0 {
		p.lineTo(q)
		return
	}
	centre := p.at.Lerp(q, 0.5).Add(chord.TurnLeft().Scale((1 - bulge*bulge) / (4 * bulge)))
	radius := centre.DistanceTo(q)
	from := p.at.Sub(centre).Angle()
	p.arcTo(translation(centre.X, centre.Y).after(scaling(radius, radius)), from, 4*math.Atan(bulge), q)
}

// drawInsert draws a block, once or in rows and columns.
func (r *dxfReader) drawInsert(e dxfEntity, mm affine, layer string, depth int) {
	block, found := r.drawing.blocks[e.text(2)]
	if !found || depth == mostInserts {
		return
	}
	at := e.point(10)
	m := mm.after(translation(at.X, at.Y)).after(rotation(e.number(50, 0) * math.Pi / 180))
	columns, rows := min(max(e.flags(70), 1), mostCopies), min(max(e.flags(71), 1), mostCopies)
	for i := range columns {
		for k := range rows {
			cell := m.after(translation(float64(i)*e.number(44, 0), float64(k)*e.number(45, 0)))
			cell = cell.after(scaling(e.number(41, 1), e.number(42, 1))).after(translation(-block.base[0], -block.base[1]))
			r.drawAll(block.entities, cell, layer, depth+1)
			if r.pen.count > mostSegments {
				return
			}
		}
	}
}

// mostCopies bounds the rows and columns of a block.
const mostCopies = 100
