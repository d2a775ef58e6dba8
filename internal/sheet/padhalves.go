package sheet

import (
	"fmt"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// PadHalves returns a full-size drawing of how the halves of a seat differ: the outline
// as traced, the same folded over its mirror axis, and a ring where they differ most.
func PadHalves(traced curve.Path, y pad.Symmetry, label Label) Sheet {
	pen := &pen{}
	pen.stroke("folded", JoinLine, y.Folded())
	pen.stroke("traced", Sign, traced)
	axis := y.Axis()
	pen.line(CentreLine, axis.From, axis.To)
	pen.stroke("most", Thin, circle(y.At, 6))
	free := newRoom(traced, pen.items)
	in := plane.Vec{X: 1}
	if y.At.X > traced.Bounds().Centre().X {
		in = in.Neg()
	}
	t := Text{Words: fmt.Sprintf("%.1f mm apart here", y.Max), Size: 5}
	if beside(&t, pad.Mark{At: y.At, From: y.At.Add(in.Scale(-8))}, free) {
		pen.text(t)
		free.take(t.Bounds().Grow(2))
	}
	says := append([]string{}, y.Words()...)
	says = append(says, "Solid line: the seat as traced. Broken line: the same folded over its mirror axis, the line of long dashes and dots.",
		fmt.Sprintf("The axis lies %s beside the middle line half way down the seat.", length.Length(y.Offset).Abs()))
	pen.words("halves", "THE HALVES", says, traced, free)
	part := PadPart{Name: "The halves of the seat", File: "halves", Items: pen.items, Says: says, roles: []Role{CentreLine}}
	return PadWhole(part, label)
}
