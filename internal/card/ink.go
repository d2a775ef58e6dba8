package card

import (
	"math"

	"fairedge/internal/plane"
)

// IsInk reports whether the field's artwork is dark at p (card frame). Writing,
// rulers and cut lines are not part of it.
func (d Design) IsInk(p plane.Point) bool {
	x, y := (p.X-d.FieldMin.X)/Pitch, (p.Y-d.FieldMin.Y)/Pitch
	c, r := int(math.Floor(x)), int(math.Floor(y))
	if !d.HasCell(c, r) {
		return false
	}
	dark := d.IsDark(c, r)
	if d.HasDot(c, r) {
		dx, dy := (x-float64(c)-0.5)*Pitch, (y-float64(r)-0.5)*Pitch
		if dx*dx+dy*dy < DotRadius*DotRadius {
			dark = !dark
		}
	}
	return dark
}
