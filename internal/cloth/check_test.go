package cloth_test

import (
	"fmt"
	"math"

	"fairedge/internal/cloth"
	"fairedge/internal/nest/nestcheck"
	"fairedge/internal/plane"
)

// prove checks a lay by package nestcheck, which shares no code with the solver, and by
// what follows from the words of the lay: every part as often as wanted, inside the usable
// width, no two overlapping in either layer, turns that the cloth allows, motifs on the
// lattice, pairs that are mirror images.
func prove(l *cloth.Laid, gap float64) error {
	if err := proveNumbers(l); err != nil {
		return err
	}
	for _, p := range l.Pieces {
		if err := proveTurn(l, p); err != nil {
			return fmt.Errorf("piece %d: %w", p.Number, err)
		}
		if err := proveMotif(l, p); err != nil {
			return fmt.Errorf("piece %d: %w", p.Number, err)
		}
		if p.Folded && !p.SpareTwin {
			if err := proveTwin(l, p); err != nil {
				return fmt.Errorf("piece %d: %w", p.Number, err)
			}
		}
	}
	for _, region := range l.Regions {
		if err := proveRegion(l, region, gap); err != nil {
			return err
		}
	}
	return nil
}

func proveNumbers(l *cloth.Laid) error {
	counts := make([]int, len(l.Parts))
	for i, p := range l.Pieces {
		if p.Number != i+1 {
			return fmt.Errorf("piece %d has number %d", i+1, p.Number)
		}
		counts[p.Part]++
		if p.Folded && !p.SpareTwin {
			counts[p.Twin]++
		}
	}
	for i, part := range l.Parts {
		if counts[i] != part.Count {
			return fmt.Errorf("%s is laid %d times, wanted %d", part.Name, counts[i], part.Count)
		}
	}
	return nil
}

// proveRegion checks what lies on one stretch of cloth. On the fold, what is cut from the
// lower layer lies under the upper one: the same check holds for both.
func proveRegion(l *cloth.Laid, r cloth.Region, gap float64) error {
	left, right := l.Cloth.Selvedge.Millimetres(), (l.Cloth.Width - l.Cloth.Selvedge).Millimetres()
	if r.Folded {
		right = l.Cloth.Width.Millimetres() / 2
	}
	lay := nestcheck.Lay{Width: right - left, UsedLength: r.To - r.From, Sheets: 1, Buffer: gap}
	for _, p := range l.Pieces {
		middle := p.ClothFromPart.Apply(l.Parts[p.Part].Cut.Bounds().Centre())
		if middle.Y < r.From || middle.Y > r.To {
			continue
		}
		item := nestcheck.Item{Name: l.Parts[p.Part].Name, Demand: 1, Turns: []float64{p.Degrees}}
		for _, q := range l.Parts[p.Part].Cut.Flatten(cloth.DefaultParams().Flatten) {
			item.Outline = append(item.Outline, plane.Point{X: q.Y, Y: -q.X})
		}
		shift := p.ClothFromPart.Shift
		lay.Pieces = append(lay.Pieces, nestcheck.Piece{Item: len(lay.Items), Degrees: p.Degrees, At: plane.Vec{X: shift.Y - r.From, Y: right - shift.X}})
		lay.Items = append(lay.Items, item)
	}
	return nestcheck.Check(&lay)
}

// proveTurn checks the grain, and on cloth with a way that all pieces lie alike.
func proveTurn(l *cloth.Laid, p cloth.Placed) error {
	part := l.Parts[p.Part]
	if turn := p.ClothFromPart.Angle() * 180 / math.Pi; math.Abs(math.Mod(turn-p.Degrees+540, 360)-180) > 1e-9 {
		return fmt.Errorf("%g degrees are said, %g laid", p.Degrees, turn)
	}
	if part.Strip {
		return nil
	}
	grain := p.ClothFromPart.ApplyVec(plane.Vec{Y: 1})
	along := plane.Vec{Y: 1}
	if l.Cloth.Railroad {
		along = plane.Vec{X: -1}
	}
	off := math.Acos(math.Min(1, math.Abs(grain.Dot(along)))) * 180 / math.Pi
	if off > l.Cloth.Tilt+1e-6 {
		return fmt.Errorf("the grain is off by %g degrees", off)
	}
	if l.Cloth.Way != cloth.EitherWay && grain.Dot(along) < 0.9 {
		return fmt.Errorf("it lies the other way")
	}
	return nil
}

// proveMotif checks that the middle of a plate's seam lines lies on the pattern.
func proveMotif(l *cloth.Laid, p cloth.Placed) error {
	part, r := l.Parts[p.Part], l.Cloth.Repeat
	if l.Motif == nil || part.Strip || r.TopOnly && part.Mirrored {
		return nil
	}
	at := p.ClothFromPart.Apply(part.Seam.Bounds().Centre())
	column, along := 0.0, (at.Y-l.Motif.Along.Millimetres())/r.Along.Millimetres()
	if r.Across > 0 {
		column = (at.X - l.Motif.Across.Millimetres()) / r.Across.Millimetres()
		if math.Abs(column-math.Round(column))*r.Across.Millimetres() > 1e-4 {
			return fmt.Errorf("it lies %g columns from the motif", column)
		}
		if r.HalfDrop && math.Mod(math.Round(column), 2) != 0 {
			along -= 0.5
		}
	}
	if math.Abs(along-math.Round(along))*r.Along.Millimetres() > 1e-4 {
		return fmt.Errorf("it lies %g repeats from the motif", along)
	}
	return nil
}

// proveTwin checks that what is cut from the other layer is the other part: its outline,
// moved rigidly, lies on the drawn one.
func proveTwin(l *cloth.Laid, p cloth.Placed) error {
	twin := l.TwinOutline(p)
	part := l.Parts[p.Part]
	var copied []plane.Point // the twin's own outline laid where the mirror image lies
	for _, q := range l.Parts[p.Twin].Cut.Flatten(0.01) {
		mirrored := plane.Point{X: -q.X, Y: q.Y}
		if part.Strip {
			mirrored = q // a rectangle: whole at either side
		}
		at := p.ClothFromPart.Apply(mirrored)
		copied = append(copied, plane.Point{X: l.Cloth.Width.Millimetres() - at.X, Y: at.Y})
	}
	for _, q := range twin {
		near := math.Inf(1)
		for i, a := range copied {
			near = math.Min(near, distanceToSegment(q, a, copied[(i+1)%len(copied)]))
		}
		if near > 0.25 {
			return fmt.Errorf("the other layer's outline is %g mm off its part", near)
		}
	}
	return nil
}

func distanceToSegment(q, a, b plane.Point) float64 {
	ab := b.Sub(a)
	t := 0.0
	if l := ab.LengthSq(); l > 0 {
		t = math.Min(1, math.Max(0, q.Sub(a).Dot(ab)/l))
	}
	return q.DistanceTo(a.Lerp(b, t))
}
