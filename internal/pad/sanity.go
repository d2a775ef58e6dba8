package pad

import (
	"fmt"
	"math"

	"fairedge/internal/length"
	"fairedge/internal/shape"
)

// SeatSize is what a tape reads on a seat.
type SeatSize struct {
	Width, Depth length.Length
	// Taper is how much wider the seat is in front than at the back; 0 for a seat
	// without two sides.
	Taper length.Length
}

// SizeOf measures the seat. The taper is that of the middle four fifths of the
// depth, carried on to the whole, so that rounded corners do not count.
func SizeOf(s shape.Shape) SeatSize {
	z := SeatSize{Width: s.Size.Width, Depth: s.Size.Depth}
	_, left := s.EdgeNamed(shape.LeftEdge)
	_, right := s.EdgeNamed(shape.RightEdge)
	if left && right {
		b := s.Net.Bounds()
		z.Taper = mm((widthAt(s, b.Max.Y-0.9*b.Height()) - widthAt(s, b.Max.Y-0.1*b.Height())) / 0.8)
	}
	return z
}

// widthAt returns the width of the seat at the height y, mm.
func widthAt(s shape.Shape, y float64) float64 {
	b := s.Net.Bounds()
	least, most := math.Inf(1), math.Inf(-1)
	for _, seg := range s.Net.Segments() {
		const steps = 64
		for k := range steps {
			p, q := seg.At(float64(k)/steps), seg.At(float64(k+1)/steps)
			if (p.Y < y) != (q.Y < y) {
				x := p.Lerp(q, (y-p.Y)/(q.Y-p.Y)).X
				least, most = math.Min(least, x), math.Max(most, x)
			}
		}
	}
	if least > most {
		return b.Width()
	}
	return most - least
}

// Unusual returns what is out of the usual range of dining and kitchen seats, as
// questions; none for a usual seat. The ranges are those of published seat sizes
// (width 380 to 550 mm, depth 380 to 520 mm, 2 to 3 in narrower at the back) with
// room for children's chairs: width 300 to 560, depth 280 to 520, width by depth
// 0.75 to 1.35, front wider than the back by -30 to 130 mm.
func (z SeatSize) Unusual() []string {
	var all []string
	const check = "; check the scale, then go on if it is right"
	w, d, taper := z.Width.Millimetres(), z.Depth.Millimetres(), z.Taper.Millimetres()
	if w < 300 || w > 560 {
		all = append(all, fmt.Sprintf("the seat is %s wide; most are between 300 and 560 mm%s", z.Width, check))
	}
	if d < 280 || d > 520 {
		all = append(all, fmt.Sprintf("the seat is %s deep; most are between 280 and 520 mm%s", z.Depth, check))
	}
	if ratio := w / d; ratio < 0.75 || ratio > 1.35 {
		all = append(all, fmt.Sprintf("the seat is %.2f times as wide as deep; most are between 0.75 and 1.35: is the back at the right edge?", ratio))
	}
	if taper < -30 || taper > 130 {
		all = append(all, fmt.Sprintf("the front is %s wider than the back; most seats lie between -30 and 130 mm: is the back at the right edge?", z.Taper))
	}
	if len(all) == 0 && (w < 380 && d < 380) {
		all = append(all, "the seat is as small as a child's chair: is that right?")
	}
	return all
}

// questions returns what looks unusual about the seat and the recipe.
func (m *maker) questions() []string {
	all := SizeOf(m.shape).Unusual()
	if !m.shape.Back.Sure {
		all = append(all, "the back of the seat was guessed: check that BACK stands at the right edge")
	}
	all = append(all, m.benchQuestion()...)
	r := m.recipe
	if r.Piping.On && r.Piping.Cord > 6.4*length.Millimetre {
		all = append(all, fmt.Sprintf("cord of %s is thick for a seat; 1/4 in is the largest usual", cordWords(r.Piping.Cord)))
	}
	if radius := minRadius(m.seam.path); r.Piping.On && radius < 10 {
		all = append(all, fmt.Sprintf("a corner has a radius of %s; cord turns round 10 mm or more, or a sharp corner with a clip", mm(radius)))
	}
	if z := m.pad.Zip; z.Length > 0 && m.hasBack && z.Clear < 0.75*mm(m.left-m.right) {
		all = append(all, "the zip is shorter than three quarters of the back: the foam will be hard to get in")
	}
	if o := m.pad.Opening; o.Close == ByHand && m.hasBack && o.Length < 2*mm(m.left-m.right)/3 {
		all = append(all, fmt.Sprintf("the opening, %s, is shorter than two thirds of the back: foam is hard to get in", o.Length))
	}
	if r.Style == KnifeEdge && r.Foam.Thickness > 60*length.Millimetre {
		all = append(all, fmt.Sprintf("%s is thick for a pad without a band", r.Foam.Thickness))
	}
	return all
}

// BenchOffset is how far outside the template the plates of a thin pad are cut at
// the bench: the seam allowance and a quarter of the thickness. With 1 in foam and
// 1/2 in seams that is the 3/4 in which is stepped off by hand.
func BenchOffset(thickness, seam length.Length) length.Length { return seam + thickness/4 }

// benchQuestion asks when the plates of a thin pad leave the bench's rule.
func (m *maker) benchQuestion() []string {
	r := m.recipe
	if r.Style != KnifeEdge || r.Foam.Thickness > 30*length.Millimetre {
		return nil
	}
	want, got := BenchOffset(r.Foam.Thickness, r.Plate.Seam), m.pad.CutOutside
	if (got - want).Abs().Millimetres() <= m.params.BenchLeeway {
		return nil
	}
	return []string{fmt.Sprintf("the plates are cut %s outside the template; for %s foam and %s seams the bench cuts them %s outside", got, r.Foam.Thickness, r.Plate.Seam, want)}
}
