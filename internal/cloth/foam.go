package cloth

import (
	"context"
	"fmt"
	"math"

	"fairedge/internal/length"
	"fairedge/internal/nest"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
)

// Foam says how blanks are cut from sheets.
type Foam struct {
	// SheetLength and SheetWidth are the stock size; 0 takes that of each pad's recipe.
	SheetLength, SheetWidth length.Length
	// Kerf is kept free between blanks: what the blade takes and what keeps one slip from
	// spoiling two. Trim is lost at the sheet's edges.
	Kerf, Trim length.Length
}

// DefaultFoam returns the recipe's sheets and 5 mm between blanks.
func DefaultFoam() Foam { return Foam{Kerf: 5 * length.Millimetre} }

// FoamLaid is all blanks of one kind of foam on its sheets.
type FoamLaid struct {
	Thickness               length.Length
	Density                 pad.Density
	Firmness                string
	SheetLength, SheetWidth length.Length
	Sheets                  int
	Parts                   []FoamPart
	Pieces                  []FoamPlaced
	MassKg                  float64
	// Usage is the share of the sheets, cut into or not, that becomes blanks.
	Usage float64
	// LastUsed is how much of the last sheet's length is cut into.
	LastUsed length.Length
	Stopped  bool
}

// FoamPart is a blank, or one part of a blank that is glued from several.
type FoamPart struct {
	Name    string
	Count   int
	Outline []plane.Point // seat frame
	Glued   bool
}

// FoamPlaced is a blank on a sheet. The sheet's frame has its origin in the lower left
// corner, x along the length.
type FoamPlaced struct {
	Part, Copy, Sheet int // Sheet from 1
	SheetFromPart     plane.Rigid
	Degrees           float64
}

// Outline returns where a placed blank lies on its sheet.
func (f *FoamLaid) Outline(p FoamPlaced) []plane.Point {
	var out []plane.Point
	for _, q := range f.Parts[p.Part].Outline {
		out = append(out, p.SheetFromPart.Apply(q))
	}
	return out
}

// LayFoam lays the blanks of all orders on sheets, each kind of foam by itself, in the
// order of the orders.
func LayFoam(ctx context.Context, f Foam, orders []Order, o Options) ([]*FoamLaid, error) {
	if !(f.Kerf >= 0 && f.Kerf <= 100*length.Millimetre && f.Trim >= 0 && f.Trim <= 500*length.Millimetre) {
		return nil, problem.New(problem.Usage, "the kerf or the trim of the foam makes no sense", "give a few millimetres, or 0")
	}
	var all []*FoamLaid
	for _, order := range orders {
		if order.Pads > 0 {
			all = addBlank(all, f, order, len(orders) > 1, o.Params)
		}
	}
	for _, laid := range all {
		if err := laid.lay(ctx, f, o, len(all)); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// addBlank adds the order's blanks to those of the same foam.
func addBlank(all []*FoamLaid, f Foam, order Order, named bool, p Params) []*FoamLaid {
	r := order.Pad.Recipe.Foam
	want := FoamLaid{Thickness: r.Thickness, Density: r.Density, Firmness: r.Firmness, SheetLength: r.SheetLength, SheetWidth: r.SheetWidth}
	if f.SheetLength > 0 && f.SheetWidth > 0 {
		want.SheetLength, want.SheetWidth = f.SheetLength, f.SheetWidth
	}
	if want.SheetLength < want.SheetWidth {
		want.SheetLength, want.SheetWidth = want.SheetWidth, want.SheetLength
	}
	laid := sameFoam(all, want)
	if laid == nil {
		laid = &want
		all = append(all, laid)
	}
	name := "Foam blank"
	if named && order.Name != "" {
		name = order.Name + ": " + name
	}
	blank := order.Pad.Foam
	outlines := partedAt(blank.Outline.Flatten(p.Flatten), blank.Joins)
	for k, outline := range outlines {
		part := FoamPart{Name: name, Count: order.Pads, Outline: outline, Glued: len(outlines) > 1}
		if part.Glued {
			part.Name = fmt.Sprintf("%s, part %d of %d", name, k+1, len(outlines))
		}
		laid.Parts = append(laid.Parts, part)
	}
	laid.MassKg += float64(order.Pads) * blank.MassKg
	return all
}

// sameFoam returns what is to be laid on the same kind of sheets, or nil.
func sameFoam(all []*FoamLaid, want FoamLaid) *FoamLaid {
	for _, old := range all {
		if old.Thickness == want.Thickness && old.Density == want.Density && old.Firmness == want.Firmness &&
			old.SheetLength == want.SheetLength && old.SheetWidth == want.SheetWidth {
			return old
		}
	}
	return nil
}

// partedAt cuts an outline along straight joins that go right across it.
func partedAt(outline []plane.Point, joins []pad.Stroke) [][]plane.Point {
	parts := [][]plane.Point{outline}
	for _, j := range joins {
		var next [][]plane.Point
		for _, part := range parts {
			for _, side := range []float64{1, -1} {
				if half := leftOf(part, j.From, j.To.Sub(j.From).Scale(side)); len(half) >= 3 && math.Abs(areaOf(half)) > 1 {
					next = append(next, half)
				}
			}
		}
		parts = next
	}
	return parts
}

// leftOf returns what of the polygon lies left of a line (I. E. Sutherland, G. W. Hodgman:
// Reentrant polygon clipping, 1974).
func leftOf(polygon []plane.Point, at plane.Point, along plane.Vec) []plane.Point {
	var out []plane.Point
	side := func(p plane.Point) float64 { return along.Cross(p.Sub(at)) }
	for i, p := range polygon {
		q := polygon[(i+1)%len(polygon)]
		sp, sq := side(p), side(q)
		if sp >= 0 {
			out = append(out, p)
		}
		if sp > 0 && sq < 0 || sp < 0 && sq > 0 {
			out = append(out, p.Lerp(q, sp/(sp-sq)))
		}
	}
	return out
}

// lay lays the blanks. Foam has no grain: they may be turned by quarters.
func (f *FoamLaid) lay(ctx context.Context, rule Foam, o Options, share int) error {
	p := &nest.Problem{Width: f.SheetWidth.Millimetres(), SheetLength: f.SheetLength.Millimetres(),
		Buffer: rule.Kerf.Millimetres(), EdgeBuffer: rule.Trim.Millimetres()}
	pieces := 0
	for _, part := range f.Parts {
		pieces += part.Count
		p.Items = append(p.Items, nest.Item{Name: part.Name, Outline: part.Outline, Demand: part.Count, Turns: []float64{0, 90, 180, 270}})
	}
	r, err := nest.Solve(ctx, p, nest.Options{Seed: o.Seed, Work: o.Params.workFor(pieces) / int64(2*share)})
	if err != nil {
		return err
	}
	copies := make([]int, len(f.Parts))
	area := 0.0
	for _, at := range r.Placements {
		copies[at.Item]++
		f.Pieces = append(f.Pieces, FoamPlaced{Part: at.Item, Copy: copies[at.Item], Sheet: at.Sheet + 1,
			SheetFromPart: turnBy(at.Degrees, at.At), Degrees: at.Degrees})
		area += math.Abs(areaOf(f.Parts[at.Item].Outline))
	}
	f.Sheets, f.LastUsed, f.Stopped = r.Sheets, mm(r.UsedLength), r.Stopped
	f.Usage = area / (float64(f.Sheets) * p.Width * p.SheetLength)
	return nil
}

// Words says what to buy.
func (f *FoamLaid) Words() string {
	sheets := "sheets"
	if f.Sheets == 1 {
		sheets = "sheet"
	}
	return fmt.Sprintf("%d %s of %.0f x %.0f mm, %s thick", f.Sheets, sheets, f.SheetLength.Millimetres(), f.SheetWidth.Millimetres(), f.Thickness)
}
