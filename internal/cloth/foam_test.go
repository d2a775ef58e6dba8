package cloth_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"fairedge/internal/cloth"
	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/nest/nestcheck"
	"fairedge/internal/pad"
	"fairedge/internal/shapefile"
)

func foamBlock(width, depth length.Length) pad.Pad {
	var p pad.Pad
	p.Recipe.Foam = pad.FoamRule{Thickness: 50 * mm, Density: 35, SheetLength: 2000 * mm, SheetWidth: 1000 * mm}
	outline := rectangle(0, 0, width.Millimetres(), depth.Millimetres())
	p.Foam = pad.Foam{Outline: outline, Thickness: 50 * mm, AreaMM2: outline.SignedArea(), Parts: 1,
		MassKg: pad.FoamMass(outline.SignedArea(), 50*mm, 35)}
	return p
}

// TestFoamSheets: by hand. A sheet of 2 x 1 m holds 4 x 2 blanks of 500 mm edge to edge;
// with 5 mm between them 3 in a row (3 x 500 + 2 x 5 = 1510, four need 2015) and one row
// (two need 1005). Blanks of 450 x 430 mm with 5 mm: 4 x 2. The mass of one of 450 x 430 x
// 50 mm at 35 kg/m3 is 0.3386 kg.
func TestFoamSheets(t *testing.T) {
	for _, test := range []struct {
		width, depth, kerf length.Length
		pads, sheets       int
	}{{500, 500, 0, 8, 1}, {500, 500, 0, 9, 2}, {500, 500, 5, 3, 1}, {500, 500, 5, 4, 2}, {450, 430, 5, 8, 1}, {450, 430, 5, 17, 3}} {
		all, err := cloth.LayFoam(context.Background(), cloth.Foam{Kerf: test.kerf}, []cloth.Order{{Pad: foamBlock(test.width, test.depth), Pads: test.pads}}, quick())
		if err != nil {
			t.Fatal(err)
		}
		if len(all) != 1 || all[0].Sheets != test.sheets || len(all[0].Pieces) != test.pads {
			t.Errorf("%d of %v x %v: %d sheets, want %d", test.pads, test.width, test.depth, all[0].Sheets, test.sheets)
		}
		if err := proveFoam(all[0], test.kerf.Millimetres()); err != nil {
			t.Errorf("%d of %v x %v: %v", test.pads, test.width, test.depth, err)
		}
		if want := float64(test.pads) * test.width.Millimetres() * test.depth.Millimetres() * 50 * 35e-9; math.Abs(all[0].MassKg-want) > 1e-9 {
			t.Errorf("mass %v kg, want %v", all[0].MassKg, want)
		}
	}
	all, err := cloth.LayFoam(context.Background(), cloth.DefaultFoam(), []cloth.Order{{Pad: foamBlock(450, 430), Pads: 1}}, quick())
	if err != nil || math.Abs(all[0].MassKg-0.3386) > 1e-4 {
		t.Errorf("mass %v, %v, want 0.3386 kg", all[0].MassKg, err)
	}
}

func proveFoam(f *cloth.FoamLaid, kerf float64) error {
	lay := nestcheck.Lay{Width: f.SheetWidth.Millimetres(), SheetLength: f.SheetLength.Millimetres(), UsedLength: f.LastUsed.Millimetres(), Sheets: f.Sheets, Buffer: kerf}
	for _, p := range f.Pieces {
		lay.Pieces = append(lay.Pieces, nestcheck.Piece{Item: len(lay.Items), Degrees: p.Degrees, Sheet: p.Sheet - 1, At: p.SheetFromPart.Shift})
		lay.Items = append(lay.Items, nestcheck.Item{Outline: f.Parts[p.Part].Outline, Demand: 1, Turns: []float64{p.Degrees}})
	}
	return nestcheck.Check(&lay)
}

// TestFoamByKind: two thicknesses are two kinds of sheets; one thickness of two chairs
// shares its sheets.
func TestFoamByKind(t *testing.T) {
	thick := foamBlock(450, 430)
	thick.Recipe.Foam.Thickness = 75 * mm
	orders := []cloth.Order{{Name: "a", Pad: foamBlock(450, 430), Pads: 2}, {Name: "b", Pad: thick, Pads: 1}, {Name: "c", Pad: foamBlock(400, 400), Pads: 2}}
	all, err := cloth.LayFoam(context.Background(), cloth.DefaultFoam(), orders, quick())
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != 2 || len(all[0].Pieces) != 4 || len(all[1].Pieces) != 1 || all[1].Thickness != 75*mm {
		t.Fatalf("%d kinds, want 2 with 4 and 1 blanks", len(all))
	}
	if all[0].Parts[1].Name != "c: Foam blank" {
		t.Errorf("the second blank is called %q", all[0].Parts[1].Name)
	}
}

// TestGluedBlank: a bench longer than the sheet is glued from parts whose areas add up to
// the blank's.
func TestGluedBlank(t *testing.T) {
	s, err := shapefile.Rectangle(2300*mm, 450*mm, shapefile.AllCorners(40*mm))
	if err != nil {
		t.Fatal(err)
	}
	p := padOf(t, s, "boxed-zip")
	if p.Foam.Parts != 2 {
		t.Fatalf("the blank has %d parts, want 2", p.Foam.Parts)
	}
	all, err := cloth.LayFoam(context.Background(), cloth.DefaultFoam(), []cloth.Order{{Pad: p, Pads: 1}}, quick())
	if err != nil {
		t.Fatal(err)
	}
	area := 0.0
	for _, part := range all[0].Parts {
		if !part.Glued || !strings.Contains(part.Name, "of 2") {
			t.Errorf("part %q is not said to be glued", part.Name)
		}
		area += curve.Polygon(part.Outline...).SignedArea()
	}
	// The chords of four corners of 40 mm, 0.2 mm at most, leave less than 50 mm2 out.
	if len(all[0].Parts) != 2 || math.Abs(area-p.Foam.AreaMM2) > 50 {
		t.Errorf("%d parts of %.0f mm2, the blank has %.0f", len(all[0].Parts), area, p.Foam.AreaMM2)
	}
	if err := proveFoam(all[0], 5); err != nil {
		t.Error(err)
	}
}

func TestFoamRefuses(t *testing.T) {
	for _, f := range []cloth.Foam{{Kerf: -1}, {Kerf: 500}, {Trim: -3}, {SheetLength: 300 * mm, SheetWidth: 300 * mm}} {
		if _, err := cloth.LayFoam(context.Background(), f, []cloth.Order{{Pad: foamBlock(450, 430), Pads: 1}}, quick()); err == nil {
			t.Errorf("%+v is taken", f)
		}
	}
}
