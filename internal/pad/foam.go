package pad

import (
	"fmt"
	"math"

	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// FoamMass returns the mass in kilograms of foam of the given area, thickness and
// density.
func FoamMass(areaMM2 float64, thickness length.Length, density Density) float64 {
	const mm3InM3 = 1e9
	return areaMM2 * thickness.Millimetres() / mm3InM3 * float64(density)
}

// cutFoam makes the blank.
func (m *maker) cutFoam() {
	r := m.recipe.Foam
	blank := m.lines.foam.path
	b := blank.Bounds()
	f := Foam{Outline: blank, Thickness: r.Thickness, Width: mm(b.Width()), Depth: mm(b.Height()), AreaMM2: blank.SignedArea(), Parts: 1}
	f.MassKg = FoamMass(f.AreaMM2, r.Thickness, r.Density)
	m.fitSheet(&f, b)
	words := []string{
		"FOAM. Cut exactly on this line, the blade upright. Mark both faces: top and front.",
		fmt.Sprintf("%s thick, %.2f kg at %.0f kg/m3.", r.Thickness, f.MassKg, float64(r.Density)),
	}
	if r.Firmness != "" {
		words = append(words, "Firmness: "+r.Firmness+".")
	}
	if r.Bevel > 0 {
		words = append(words, fmt.Sprintf("Bevel the upper and the lower edge by %s.", r.Bevel))
	}
	piece := Piece{Name: "Foam blank", Material: FoamMaterial, Count: 1, FoamLine: blank, Words: words}
	for _, j := range f.Joins {
		piece.Marks = append(piece.Marks, Mark{Kind: FoamJoin, At: j.From.Lerp(j.To, 0.5), From: j.From, To: j.To, Strokes: []Stroke{j}, Words: "glue two parts of the blank here"})
	}
	m.pad.Foam = f
	m.pad.Pieces = append(m.pad.Pieces, piece)
}

// fitSheet decides whether the blank comes out of a stock sheet in one part, turned,
// or in several glued together, and where.
func (m *maker) fitSheet(f *Foam, b plane.Rect) {
	long := math.Max(m.recipe.Foam.SheetLength.Millimetres(), m.recipe.Foam.SheetWidth.Millimetres())
	short := math.Min(m.recipe.Foam.SheetLength.Millimetres(), m.recipe.Foam.SheetWidth.Millimetres())
	switch {
	case b.Width() <= long && b.Height() <= short:
		return
	case b.Width() <= short && b.Height() <= long:
		f.Turned = true
		return
	}
	upright := parts(b.Width(), long) * parts(b.Height(), short)
	turned := parts(b.Width(), short) * parts(b.Height(), long)
	w, h := long, short
	if turned < upright {
		w, h, f.Turned = short, long, true
	}
	f.Parts = min(upright, turned)
	m.joinFoam(f, b, w, h)
	m.ask(fmt.Sprintf("the foam blank, %s by %s, is larger than the sheet and is glued from %d parts", f.Width, f.Depth, f.Parts))
}

func parts(size, sheet float64) int { return int(math.Ceil(size/sheet - 1e-9)) }

// joinFoam draws the joins: across the seat as far back as the sheet reaches from
// the front, where a thigh does not feel them; from front to back evenly.
func (m *maker) joinFoam(f *Foam, b plane.Rect, w, h float64) {
	for k := 1; k < parts(b.Height(), h); k++ {
		y := b.Min.Y + float64(k)*h
		f.Joins = append(f.Joins, Stroke{plane.Point{X: b.Min.X, Y: y}, plane.Point{X: b.Max.X, Y: y}})
	}
	n := parts(b.Width(), w)
	for k := 1; k < n; k++ {
		x := b.Min.X + b.Width()*float64(k)/float64(n)
		f.Joins = append(f.Joins, Stroke{plane.Point{X: x, Y: b.Min.Y}, plane.Point{X: x, Y: b.Max.Y}})
	}
}
