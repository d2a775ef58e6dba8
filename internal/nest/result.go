package nest

import (
	"math"

	"fairedge/internal/nest/nestcheck"
	"fairedge/internal/plane"
)

// resultOf translates a layout to mm.
func (in *instance) resultOf(l *layout) *Result {
	used := l.used()
	r := &Result{Sheets: 1, UsedLength: fromNM(used), Density: in.area / (used * in.width)}
	for k := range in.pieces {
		p := l.poseOf(k)
		at := l.at[k]
		sheet := 0
		if !math.IsInf(in.sheet, 1) {
			sheet = int(math.Floor(at.x / in.pitch))
			at.x -= float64(sheet) * in.pitch
		}
		at = at.sub(p.shift)
		r.Placements = append(r.Placements, Placement{
			Item: in.pieces[k].item, Degrees: p.degrees, Flipped: p.flipped, Sheet: sheet,
			At: plane.Vec{X: fromNM(at.x), Y: fromNM(at.y)},
		})
		r.Sheets = max(r.Sheets, sheet+1)
	}
	if r.Sheets > 1 {
		r.UsedLength = fromNM(used - float64(r.Sheets-1)*in.sheet)
	}
	return r
}

// leastLength returns a length that no layout can go below: the longest piece in its
// shortest turn, and the area of the pieces over the width between the margins.
func (in *instance) leastLength() float64 {
	least := in.area / (in.width - 2*in.edge)
	if math.IsInf(in.sheet, 1) {
		least += 2 * in.edge
	}
	for k := range in.pieces {
		shortest := math.Inf(1)
		for _, p := range in.pieces[k].poses {
			shortest = math.Min(shortest, in.forms[p.form].size.x)
		}
		least = math.Max(least, shortest+2*in.edge)
	}
	return math.Floor(least)
}

// enough returns a length that surely holds all pieces one after the other.
func (in *instance) enough() float64 {
	if !math.IsInf(in.sheet, 1) {
		last := 0.0
		for k := range in.pieces {
			last = math.Max(last, math.Floor(in.pieces[k].start.x/in.pitch))
		}
		return in.sheet * (float64(len(in.pieces)) + last + 1)
	}
	total := 2 * in.edge
	for k := range in.pieces {
		longest := 0.0
		for _, p := range in.pieces[k].poses {
			longest = math.Max(longest, in.forms[p.form].size.x+p.lattice.dx+2*in.buffer)
		}
		total += longest + in.pieces[k].start.x
	}
	return total
}

// prove hands the result to the independent check.
func prove(p *Problem, r *Result) error {
	lay := nestcheck.Lay{
		Width: p.Width, SheetLength: p.SheetLength, UsedLength: r.UsedLength, Sheets: r.Sheets,
		Buffer: p.Buffer, EdgeBuffer: p.EdgeBuffer,
	}
	for _, it := range p.Items {
		item := nestcheck.Item{Name: it.Name, Outline: it.Outline, Demand: it.Demand, Turns: it.Turns, Flip: it.Flip}
		if q := it.Repeat; q != nil {
			item.Repeat = &nestcheck.Repeat{Reference: q.Reference, Along: q.Along, AlongOffset: q.AlongOffset,
				Across: q.Across, AcrossOffset: q.AcrossOffset, HalfDrop: q.HalfDrop}
		}
		lay.Items = append(lay.Items, item)
	}
	for i, at := range r.Placements {
		lay.Pieces = append(lay.Pieces, nestcheck.Piece{Item: at.Item, Degrees: at.Degrees, Flipped: at.Flipped,
			Sheet: at.Sheet, At: at.At, Fixed: i >= len(r.Placements)-len(p.Fixed)})
	}
	return nestcheck.Check(&lay)
}
