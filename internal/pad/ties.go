package pad

import (
	"fmt"
	"math"
	"slices"

	"fairedge/internal/length"
)

// placeTies finds the ties and their places.
func (m *maker) placeTies() {
	r := m.recipe.Ties
	if r.Kind == NoTies {
		m.pad.Ties.Kind = NoTies
		return
	}
	t := Ties{Kind: r.Kind, Count: r.Count, At: m.tieArcs()}
	if r.Kind == Tabs {
		t.Finished.Width, t.Finished.Length = r.TabWidth, r.TabLength
		t.Tail = r.TabLength
	} else {
		t.Finished.Width = r.CutWidth / length.Length(r.Folds)
		t.Finished.Length = r.CutLength - 2*r.TurnIn
		t.Tail = (t.Finished.Length - r.Catch) / 2
	}
	if n := len(t.At); n > 1 {
		t.Spacing = mm(m.seam.point(t.At[0]).DistanceTo(m.seam.point(t.At[n-1])))
	}
	m.pad.Ties = t
	m.checkTies()
}

// tieArcs returns the arc lengths of the places, right to left.
func (m *maker) tieArcs() []float64 {
	place := m.recipe.Ties.Place
	ticks, notches := m.tickArcs(), m.notchArcs()
	var at []float64
	switch {
	case len(ticks) > 0 && (place == TiesAtTicks || place == TiesByShape):
		at = ticks
	case len(notches) > 0 && (place == TiesAtNotches || place == TiesByShape):
		at = notches
	default:
		if place == TiesAtTicks || place == TiesAtNotches {
			m.ask(fmt.Sprintf("the seat shows no %s for the ties, so they are placed from the back corners: check against the chair's posts", place))
		}
		at = m.cornerTies()
	}
	slices.Sort(at)
	return at
}

// backTick is how near, in mm, a tick may lie to the back centre and mean it.
const backTick = 15.0

// tickArcs returns the places of the maker's ticks in the back half, but for one
// that marks the back centre.
func (m *maker) tickArcs() []float64 {
	var at []float64
	middle := m.shape.Net.Bounds().Centre().Y
	for _, t := range m.shape.Ticks {
		if math.Abs(t.FromBackCentre.Millimetres()) > backTick && t.At.Y > middle {
			at = append(at, m.seam.signed(m.seam.lengthTo(t.At)))
		}
	}
	return at
}

// notchArcs returns the inner corners in the back half: where posts stand.
func (m *maker) notchArcs() []float64 {
	var at []float64
	middle := m.seam.box.Centre().Y
	for _, c := range m.corners {
		if c.turn < 0 && m.seam.point(c.s).Y > middle {
			at = append(at, m.seam.signed(c.s))
		}
	}
	return at
}

// cornerTies returns the places by the inset from both back corners; where the back
// has none, as far outside the opening.
func (m *maker) cornerTies() []float64 {
	d := m.recipe.Ties.Inset.Millimetres()
	if !m.hasBack {
		return []float64{m.pad.Opening.From - d, m.pad.Opening.To + d}
	}
	return []float64{m.right + d, m.left - d}
}

// checkTies asks about ties that would be sewn into the opening.
func (m *maker) checkTies() {
	o := m.pad.Opening
	for _, s := range m.pad.Ties.At {
		if m.recipe.Style == KnifeEdge && s > o.From && s < o.To {
			m.ask(fmt.Sprintf("a tie lies %s from the back centre, inside the opening: sew it into the hem of one plate, or make the opening shorter", mm(math.Abs(s))))
		}
	}
	if n := len(m.pad.Ties.At); n > 0 && m.pad.Ties.Count%n != 0 {
		m.ask(fmt.Sprintf("%d ties cannot be shared evenly among %d places", m.pad.Ties.Count, n))
	}
}

// tiesAtEach returns how many ties share one place.
func (m *maker) tiesAtEach() int {
	n := len(m.pad.Ties.At)
	if n == 0 {
		return 0
	}
	return max(1, (m.pad.Ties.Count+n-1)/n)
}

// cutTies adds the strips of the ties or tabs.
func (m *maker) cutTies() {
	t, r := m.pad.Ties, m.recipe.Ties
	switch t.Kind {
	case Strings:
		m.pad.Strips = append(m.pad.Strips, Strip{
			Name: "Tie", Kind: TieStrip, Count: t.Count, Width: r.CutWidth, Length: r.CutLength, Cut: Straight,
			Words: []string{fmt.Sprintf("Fold lengthwise to %s, turn in %s at each end, stitch. Fold in half and catch the middle in the seam: two tails of %s.",
				t.Finished.Width, r.TurnIn, t.Tail)},
		})
	case Tabs:
		s := m.recipe.Plate.Seam
		m.pad.Strips = append(m.pad.Strips, Strip{
			Name: "Tab", Kind: TabStrip, Count: t.Count, Width: 2*r.TabWidth + 2*s, Length: r.TabLength + 2*s, Cut: Straight,
			Words: []string{fmt.Sprintf("Fold lengthwise, stitch, turn: finishes %s by %s. Hook and loop or a button at the free end.", r.TabWidth, r.TabLength)},
		})
	}
}
