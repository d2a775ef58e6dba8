package sheet

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// crossClear is the clear ground around a check cross, mm.
const crossClear = 7.0

// checkCrosses adds two fine crosses far apart to the drawing and returns the sentence
// that says what a tape must read between them once the pages are joined, or nothing
// when all is on one page.
func (p Plan) checkCrosses(s *Sheet) string {
	a, b, found := p.farApart(*s)
	if !found {
		return ""
	}
	pen := &pen{}
	for i, q := range []plane.Point{a, b} {
		const arm = 4.0
		id := fmt.Sprintf("check-cross-%d", i+1)
		pen.stroke(id+"-across", ScaleTick, curve.OpenPath(curve.Line(q.Add(plane.Vec{X: -arm}), q.Add(plane.Vec{X: arm}))))
		pen.stroke(id+"-along", ScaleTick, curve.OpenPath(curve.Line(q.Add(plane.Vec{Y: -arm}), q.Add(plane.Vec{Y: arm}))))
		pen.stroke("", ScaleTick, circle(q, 2.5))
	}
	s.Items = append(s.Items, pen.items...)
	return fmt.Sprintf("When all pages are joined, measure from cross to cross: %s.", length.Length(a.DistanceTo(b)))
}

// farApart returns two places inside the pieces, on clear ground of two pages, that
// lie about as far apart as any.
func (p Plan) farApart(s Sheet) (a, b plane.Point, found bool) {
	busy := newOccupancy(linesBounds(s))
	for _, item := range s.Items {
		busy.item(item, 1)
	}
	busy.total()
	type place struct {
		plane.Point
		page int
	}
	var places []place
	for i := range p.Tiles {
		sight := p.inSight(i).Grow(-crossClear - markReach)
		for x := sight.Min.X; x <= sight.Max.X; x += 8 {
			for y := sight.Min.Y; y <= sight.Max.Y; y += 8 {
				if q := at(x, y); busy.count(plane.RectFromPoints(q).Grow(crossClear)) == 0 && inside(s, q) {
					places = append(places, place{q, i})
				}
			}
		}
	}
	const directions = 12
	longest := 0.0
	for k := range directions {
		sin, cos := math.Sincos(math.Pi * float64(k) / directions)
		ahead := plane.Vec{X: cos, Y: sin}
		var first, last place
		least, most := math.Inf(1), math.Inf(-1)
		for _, q := range places {
			along := ahead.Dot(q.Sub(plane.Point{}))
			if along < least {
				least, first = along, q
			}
			if along > most {
				most, last = along, q
			}
		}
		if d := first.DistanceTo(last.Point); len(places) > 0 && d > longest && first.page != last.page {
			longest, a, b, found = d, first.Point, last.Point, true
		}
	}
	return a, b, found
}

// inside reports whether the place lies inside a closed line that is cut along.
func inside(s Sheet, q plane.Point) bool {
	for _, item := range s.Items {
		if line, ok := item.(Stroke); ok && line.Path.IsClosed() && (line.Role == CutLine || line.Role == FoamOutline) && line.Path.Contains(q) {
			return true
		}
	}
	return false
}
