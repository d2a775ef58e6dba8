package job

import (
	"fmt"
	"slices"

	"fairedge/internal/photo"
	"fairedge/internal/plane"
	"fairedge/internal/render"
)

// band is the 95 % band on both sides of the outline, for the pictures: 1.96 times
// the standard uncertainty across it at each point (JCGM 100:2008, G.1.3).
type band struct {
	inner, outer []plane.Point // plane frame, closed
	words        string
}

const coverage95 = 1.96

// leastBand is how far the middle of the band's border must lie from the outline to
// be seen beside it, as a share of the outline's width: three line widths.
const leastBand = 0.012

// band returns the band, exaggerated by a round factor when it would hide under the
// outline; the words say so.
func (m *Measured) band() band {
	points := m.outlinePoints(budgetSpacing)
	sorted := slices.Clone(m.Budget.Point)
	slices.Sort(sorted)
	median := coverage95 * sorted[len(sorted)/2]
	factor := 1.0
	for _, factor = range []float64{1, 2, 5, 10, 20} {
		if factor*median >= leastBand*m.Shape.Size.Width.Millimetres() {
			break
		}
	}
	b := band{words: fmt.Sprintf("The band shows where the true edge lies, 19 places of 20: ±%.1f mm in the middle", up(median))}
	if factor > 1 {
		b.words += fmt.Sprintf(", drawn %.0f times as wide as it is", factor)
	}
	b.words += "."
	n := len(points)
	for i, p := range points {
		outward := points[(i+1)%n].Sub(points[(i+n-1)%n]).Unit().TurnRight() // counter-clockwise
		away := outward.Scale(factor * coverage95 * m.Budget.Point[i])
		b.inner, b.outer = append(b.inner, p.Add(away.Neg())), append(b.outer, p.Add(away))
	}
	return b
}

// through returns the band's borders in a picture.
func (b band) through(pictureFromPlane func(plane.Point) photo.Point) (lines []render.Line) {
	for _, side := range [][]plane.Point{b.inner, b.outer} {
		line := render.Line{Closed: true}
		for _, p := range side {
			line.Points = append(line.Points, pictureFromPlane(p))
		}
		if len(line.Points) > 0 {
			lines = append(lines, line)
		}
	}
	return lines
}
