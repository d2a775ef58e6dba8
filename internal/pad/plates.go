package pad

import (
	"fmt"
	"slices"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// cutPlates makes both plates.
func (m *maker) cutPlates() {
	top := Piece{
		Name: "Top plate", Material: ClothMaterial, Count: 1,
		CutLine: m.lines.cut.path, SeamLine: m.seam.path, FoamLine: m.lines.foam.path,
		Marks: m.plateMarks(), Grain: plane.Vec{Y: 1}, Nap: m.nap(),
		Words: append([]string{"TOP", "This side shows. Cut 1, right side up."}, m.lineWords()...),
	}
	second := top
	top.Marks = append(slices.Clone(top.Marks), m.pipingJoinMarks(0)...)
	second.Marks = append(slices.Clone(second.Marks), m.pipingJoinMarks(1)...)
	second = second.mirrored(m.shape)
	second.Name = "Second plate"
	second.Words = append([]string{"BOTTOM", "Mirror image of the top plate: cut 1, right side up. Cloth folded right sides together gives both at once."}, m.lineWords()...)
	m.pad.Pieces = append(m.pad.Pieces, m.recipe.enlarged(top), m.recipe.enlarged(second))
}

// pipingJoinMarks returns the marks of the joins of the piping on one plate.
func (m *maker) pipingJoinMarks(seam int) []Mark {
	var all []Mark
	for _, p := range m.joinsOfPiping(seam) {
		all = append(all, m.plateMark(p))
	}
	return all
}

// lineWords says which line is which.
func (m *maker) lineWords() []string {
	r := m.recipe
	words := []string{
		"Heavy solid line: cut the cloth. Broken line: stitch. Long dashes with dots: the foam.",
		fmt.Sprintf("Seam allowance %s; notches are cut inward, never past half of it.", r.Plate.Seam),
	}
	if hem := r.Plate.Hem; hem.Set && r.Opening.Close == ByHand {
		words = append(words, fmt.Sprintf("Along the opening at the back %s is folded in as a hem.", hem.Length))
	}
	if r.Cloth.ShrinkLength > 0 || r.Cloth.ShrinkWidth > 0 {
		words = append(words, fmt.Sprintf("Cut larger for shrinkage: %.1f%% along the cloth and %.1f%% across.",
			100*float64(r.Cloth.ShrinkLength), 100*float64(r.Cloth.ShrinkWidth)))
	}
	return words
}

// cutFacings makes a strip for each inner corner of the outline.
func (m *maker) cutFacings() {
	width := m.recipe.Plate.Facing
	if width <= 0 || m.recipe.Style != KnifeEdge && m.recipe.Style != Boxed {
		return
	}
	n := 0
	for _, c := range m.corners {
		if c.turn < 0 {
			n++
		}
	}
	if n == 0 {
		return
	}
	m.pad.Strips = append(m.pad.Strips, Strip{
		Name: "Facing for an inner corner", Kind: FacingStrip, Count: 2 * n, Width: width, Length: 2 * width, Cut: Straight,
		Words: []string{"One on each plate: lay it right sides together over the inner corner, stitch along the seam line, slit to the corner, turn."},
	})
}

// HalfTemplate returns the left half of the piece as a pattern to lay on a fold: cut
// and seam lines closed by the fold along the seat's middle line. The piece must be
// its own mirror image, as one made from a symmetrised shape is.
func (p Piece) HalfTemplate() (Piece, bool) {
	half := p
	half.Name = p.Name + ", half, on the fold"
	fold := Stroke{}
	for _, line := range []*curve.Path{&half.CutLine, &half.SeamLine, &half.FoamLine} {
		if line.IsEmpty() {
			continue
		}
		cut, f, ok := leftHalf(*line)
		if !ok {
			return Piece{}, false
		}
		if line == &half.CutLine || p.CutLine.IsEmpty() {
			fold = f
		}
		*line = cut
	}
	half.FoldLine = &fold
	half.Marks = nil
	for _, k := range p.Marks {
		if k.At.X <= 1e-6 {
			half.Marks = append(half.Marks, k)
		}
	}
	half.Words = append([]string{"Lay the straight edge exactly on the fold."}, p.Words...)
	return half, true
}
