package nest

import (
	"fmt"
	"math"

	"fairedge/internal/problem"
)

// largestMM keeps all sums of coordinates exact in nanometres.
const largestMM = 1e6

// Validate returns a sentence on the first thing that makes the problem unsound:
//  1. the width is a positive number, the sheet length and buffers are not negative;
//  2. every item has a simple outline with area and a demand of zero or more;
//  3. every item fits the cloth in one of its turns;
//  4. repeats have sound periods; fixed pieces name items.
func (p *Problem) Validate() error {
	if !(p.Width > 0) || p.Width > largestMM || !finite(p.SheetLength, p.Buffer, p.EdgeBuffer) || p.SheetLength < 0 || p.SheetLength > largestMM {
		return problem.New(problem.Usage, "the cloth has no sound size", "give its width, and the sheet's length, in mm, above 0 and below 1 km")
	}
	if p.Buffer < 0 || p.EdgeBuffer < 0 || p.Buffer > largestMM || p.EdgeBuffer > largestMM {
		return problem.New(problem.Usage, "the distance between pieces is negative or huge", "give 0 or a few millimetres")
	}
	for i := range p.Items {
		if err := p.Items[i].validate(i); err != nil {
			return err
		}
	}
	for _, f := range p.Fixed {
		if f.Item < 0 || f.Item >= len(p.Items) || f.Sheet < 0 || (p.SheetLength == 0 && f.Sheet != 0) || !finite(f.Degrees, f.At.X, f.At.Y) {
			return problem.New(problem.Usage, "a fixed piece names no item or no place", "name one of the items and a place on the cloth")
		}
	}
	return nil
}

func (it *Item) validate(index int) error {
	name := it.Name
	if name == "" {
		name = fmt.Sprintf("number %d", index+1)
	}
	bad := func(what, remedy string) error {
		return problem.New(problem.NotAShape, "piece "+name+" "+what, remedy)
	}
	for _, q := range it.Outline {
		if !q.IsFinite() || math.Abs(q.X) > largestMM || math.Abs(q.Y) > largestMM {
			return bad("has a corner that is no number of mm below 1 km", "check its outline")
		}
	}
	if !finite(it.Turns...) {
		return bad("has a turn that is no number", "give turns in degrees")
	}
	if it.Demand < 0 {
		return bad("is wanted less than no times", "give a number from 0 on")
	}
	r := cleaned(nmPoints(it.Outline))
	if r == nil || math.Abs(r.doubleArea()) < 1 {
		return bad("has no area", "check its outline")
	}
	if i, j, crosses := r.crossingEdges(); crosses {
		return bad(fmt.Sprintf("has an outline whose edges cross near (%.1f, %.1f) and (%.1f, %.1f)",
			fromNM(r[i].x), fromNM(r[i].y), fromNM(r[j].x), fromNM(r[j].y)), "draw an outline that does not touch itself")
	}
	return it.Repeat.validate(bad)
}

func (r *Repeat) validate(bad func(what, remedy string) error) error {
	switch {
	case r == nil:
		return nil
	case !finite(r.Along, r.AlongOffset, r.Across, r.AcrossOffset, r.Reference.X, r.Reference.Y):
		return bad("has a pattern repeat that is no number", "give the repeat in mm")
	case r.Along < 0 || r.Across < 0 || (r.Along > 0 && r.Along < 1) || (r.Across > 0 && r.Across < 1):
		return bad("has a pattern repeat below 1 mm", "give the repeat in mm, or 0 to leave it free")
	case r.HalfDrop && (r.Along == 0 || r.Across == 0):
		return bad("has a half-drop repeat without both periods", "give the repeat along and across")
	}
	return nil
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}
