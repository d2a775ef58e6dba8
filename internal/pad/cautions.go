package pad

import (
	"fmt"

	"fairedge/internal/length"
)

// The lengths above which cords are kept off small children, as orientation only: no
// standard governs the ties of a chair pad. EN 71-1 (toys) allows 220 mm of free
// cord and a loop 380 mm round.
const (
	MostTail = 220 * length.Millimetre
	MostLoop = 380 * length.Millimetre
)

// TieCautions returns what to tell the person who buys ties whose ends hang free by
// tail and can make a loop that measures loop round.
func TieCautions(tail, loop length.Length) []string {
	if tail <= MostTail && loop <= MostLoop {
		return nil
	}
	return []string{fmt.Sprintf("Ties are long cords: tails of %s, a loop of up to %s round. For toys the limits are %s and %s. "+
		"Not for cots, high chairs or places where babies or toddlers are left alone; shorten them, or use tabs of at most %s.",
		tail, loop, MostTail, MostLoop, MostTail)}
}

// cautions returns the fixed words of care that belong to this pad.
func (m *maker) cautions() []string {
	all := []string{
		"Check before cutting: measured size, scale square on every page, fabric width, grain and nap arrow.",
		"Foam and fabric: use materials that meet the fire rules where the cushion will be sold or used, and label it as they ask.",
	}
	if t := m.pad.Ties; t.Kind == Strings {
		all = append(all, TieCautions(t.Tail, 2*t.Tail)...)
	} else if t.Kind == Tabs {
		all = append(all, TieCautions(t.Tail, t.Tail)...)
	}
	all = append(all, "Blades: cut away from your hand, close the cutter when you lay it down.",
		"Glue: ventilate, no flame, follow the label.", "Count pins and needles.")
	if t := m.recipe.Foam.Thickness; t <= 30*length.Millimetre {
		all = append(all, "Thin foam bottoms out unless it is firm: use a firm or extra-firm grade.")
	}
	return append(all, FoamTolerance())
}

// FoamTolerance says how exactly foam is delivered (joint industry foam standards
// and guidelines, section 10, for slabs of 1 in and more).
func FoamTolerance() string {
	const longer, wider, thicker = length.Inch / 2, length.Inch / 4, length.Inch / 16
	return fmt.Sprintf("Foam slabs are cut to length +%.1f/-0 mm, width +%.2f/-0 mm, thickness ±%.1f mm; let packed foam recover for 24 hours before measuring.",
		longer.Millimetres(), wider.Millimetres(), thicker.Millimetres())
}
