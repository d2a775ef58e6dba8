package pad

import (
	"fmt"
	"math"
	"strings"

	"fairedge/internal/length"
)

// order returns the order of work in the trade's words, with the places of the
// marks.
func (m *maker) order() []string {
	var steps []string
	add := func(some ...string) { steps = append(steps, some...) }
	add(m.cuttingSteps()...)
	add(m.tieSteps()...)
	add(m.pipingSteps()...)
	switch m.recipe.Style {
	case KnifeEdge:
		add(m.knifeEdgeSteps()...)
	case Boxed:
		add(m.boxedSteps()...)
	default:
		add(m.wrappedSteps()...)
	}
	add("Put the foam in with its front first and push the corners home." + m.closingWords())
	return steps
}

func (m *maker) cuttingSteps() []string {
	f := m.pad.Foam
	foam := fmt.Sprintf("Cut the foam: %s by %s, %s thick, blade upright.", f.Width, f.Depth, f.Thickness)
	if f.Parts > 1 {
		foam += fmt.Sprintf(" Glue it from %d parts first.", f.Parts)
	}
	cloth := "Cut the top plate right side up; cut the second plate as its mirror image. One tick is the left quarter, two the right, three the front centre."
	if m.recipe.Style == Waterfall || m.recipe.Style == Bullnose {
		cloth = "Cut the main piece and both sides. Left marks have one tick, right ones two."
	}
	return []string{foam, cloth + " Copy every notch before the paper comes off."}
}

func (m *maker) tieSteps() []string {
	t := m.pad.Ties
	var places []string
	for _, s := range t.At {
		places = append(places, m.fromBackCentre(s))
	}
	switch t.Kind {
	case Strings:
		return []string{
			fmt.Sprintf("Make %d ties: fold each strip lengthwise to %s, ends turned in, and stitch.", t.Count, t.Finished.Width),
			fmt.Sprintf("Baste the ties to the top plate, folded in the middle, tails inward: %s; %s apart.", strings.Join(places, " and "), t.Spacing),
		}
	case Tabs:
		return []string{fmt.Sprintf("Make %d tabs and baste them to the top plate: %s.", t.Count, strings.Join(places, " and "))}
	}
	return nil
}

// fromBackCentre says where an arc length lies, as a tape laid along the seam reads.
func (m *maker) fromBackCentre(s float64) string {
	s = m.seam.signed(s)
	side := "left"
	if s < 0 {
		side = "right"
	}
	return fmt.Sprintf("%s %s of the back centre", mm(math.Abs(s)), side)
}

func (m *maker) pipingSteps() []string {
	p := m.pad.Piping
	if !p.On {
		return nil
	}
	r := m.recipe.Piping
	make := fmt.Sprintf("Make the piping: %d strips of %s, joined to %s at least, round a cord of %s.", p.Strips, p.StripWidth, p.WithSpare, cordWords(p.Cord))
	for _, j := range p.Joins {
		make += m.joinWords(j)
	}
	sew := fmt.Sprintf("Sew it to the plate, raw edges together, from %s beside the back centre; slit the flange at the marks, to %s from the stitching. "+
		"At the back centre the end runs %s past, is trimmed flush, folded in and tucked over.", r.StartPast, m.recipe.Marks.ReliefStop, r.EndPast)
	return []string{make, sew}
}

// joinWords says where a join of the piping falls.
func (m *maker) joinWords(j PipingJoin) string {
	if m.recipe.Style == Waterfall || m.recipe.Style == Bullnose {
		return fmt.Sprintf(" On the %s side a join falls %s from the upper back corner, over the front.", []string{"left", "right"}[j.Seam], mm(j.Along))
	}
	return fmt.Sprintf(" On the %s plate a join falls %s.", []string{"top", "second"}[j.Seam], m.fromBackCentre(j.Along))
}

func (m *maker) knifeEdgeSteps() []string {
	o := m.pad.Opening
	steps := []string{}
	if hem := m.recipe.Plate.Hem; o.Close == ByHand && hem.Set {
		steps = append(steps, fmt.Sprintf("Fold %s in along the opening of the second plate and hem it.", hem.Length))
	}
	if o.Close == ByZip {
		steps = append(steps, fmt.Sprintf("Sew the zip, %s, into the seam along the opening.", m.pad.Zip.Length))
	}
	return append(steps,
		"Lay the plates right sides together: match the front centre first, then the quarters and the corners.",
		fmt.Sprintf("Sew along the broken line from the left end of the opening, %s, round to the right end, %s. Needle down at every pivot, back-stitch both ends.",
			m.fromBackCentre(o.To), m.fromBackCentre(o.From)),
		"Trim the corners' points to 3 mm, slit and notch at the marks, turn right side out.")
}

func (m *maker) boxedSteps() []string {
	o, z := m.pad.Opening, m.pad.Zip
	var steps []string
	if o.Close == ByZip {
		steps = append(steps,
			fmt.Sprintf("Fold %s of each zip strip over the zip, %s, and stitch: a band %s high.", m.recipe.Zip.Cover, z.Length, m.recipe.Foam.Thickness),
			fmt.Sprintf("Join the zip strip to the band; the seams lie %s and %s.", m.fromBackCentre(o.To), m.fromBackCentre(o.From)))
	} else {
		steps = append(steps, "Join the band to a ring.")
	}
	steps = append(steps,
		"Sew the band to the top plate: match the front centre, the quarters and every match mark; slit the band at each corner, needle down, pivot.")
	if o.Close == ByZip {
		return append(steps, "Open the zip. Sew the band to the second plate the same way; turn.")
	}
	return append(steps, fmt.Sprintf("Sew the band to the second plate the same way, but leave it open from %s to %s; turn.", m.fromBackCentre(o.To), m.fromBackCentre(o.From)))
}

func (m *maker) wrappedSteps() []string {
	front := "the front's upper corner, middle and lower corner"
	if m.recipe.Style == Bullnose {
		front = "12, 3 and 6 o'clock of the half circle"
	}
	steps := []string{fmt.Sprintf("Sew each side to the main piece from the middle of the front outward: match %s, then the marks along the sides.", front)}
	if m.pad.Opening.Close == ByZip {
		return append(steps, "Put the zip between its strips, open it, and sew the strips to the back, top and underside; turn.")
	}
	return append(steps, "Sew the back band to the top; leave the underside open between the marks; turn.")
}

func (m *maker) closingWords() string {
	if m.pad.Opening.Close == ByZip {
		return " Close the zip."
	}
	return fmt.Sprintf(" Close the opening, %s, last: by machine close to the edge, or by hand.", m.pad.Opening.Length)
}

// Sizes says what a tape reads of the piece's cut line, in both units.
func (p Piece) Sizes() (width, depth length.Length) {
	line := p.CutLine
	if line.IsEmpty() {
		line = p.FoamLine
	}
	b := line.Bounds()
	return mm(b.Width()), mm(b.Height())
}

// cordWords says the diameter of a cord in millimetres and in thirty-seconds of an
// inch, as cord is sold.
func cordWords(d length.Length) string {
	n := int(math.Round(d.Inches() * 32))
	for k := 32; k > 1; k /= 2 {
		if n%2 != 0 || n == 0 {
			return fmt.Sprintf("%.1f mm (%d/%d in)", d.Millimetres(), n, k)
		}
		n /= 2
	}
	return fmt.Sprintf("%.1f mm (%d in)", d.Millimetres(), n)
}
