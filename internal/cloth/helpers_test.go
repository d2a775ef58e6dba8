package cloth_test

import (
	"context"
	"testing"

	"fairedge/internal/cloth"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"
)

const (
	mm   = length.Millimetre
	inch = length.Inch
)

// seat is a usual dining seat: 15 in at the back, 18 in in front, 16 in deep, with round
// corners (a woodworking reference's sizes).
func seat(t testing.TB) shape.Shape {
	t.Helper()
	s, err := shapefile.Trapezoid(15*inch, 18*inch, 16*inch, shapefile.AllCorners(1.5*inch))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func padOf(t testing.TB, s shape.Shape, recipe string, changes ...string) pad.Pad {
	t.Helper()
	r, err := pad.Named(recipe)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(changes); i += 2 {
		if r, err = r.With(changes[i], changes[i+1]); err != nil {
			t.Fatal(err)
		}
	}
	p, err := pad.Cut(s, r)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// block is a pad that is nothing but a rectangular top, width by depth.
func block(width, depth length.Length) pad.Pad {
	w, d := width.Millimetres()/2, depth.Millimetres()
	return pad.Pad{Pieces: []pad.Piece{{Name: "Square", Material: pad.ClothMaterial, Count: 1, CutLine: rectangle(-w, -d, w, 0), SeamLine: rectangle(-w, -d, w, 0), Grain: plane.Vec{Y: 1},
		Marks: []pad.Mark{{Kind: pad.BackCentre}, {Kind: pad.FrontCentre, From: plane.Point{Y: -d}}}}}}
}

func mustLay(t testing.TB, c cloth.Cloth, o cloth.Options, orders ...cloth.Order) *cloth.Laid {
	t.Helper()
	l, err := cloth.Lay(context.Background(), c, orders, o)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// bare is cloth whose whole width is used, with nothing lost: what published yardages
// count with.
func bare(width length.Length) cloth.Cloth {
	c := cloth.DefaultCloth()
	c.Width, c.Selvedge, c.Gap, c.Squaring, c.SoldBy = width, 0, 0, 0, cloth.EighthOfYard
	return c
}
