package pad

import (
	"fmt"
	"math"
	"slices"
)

// place is a mark that every piece along the seam carries at the same arc length.
type place struct {
	kind  MarkKind
	s     float64 // arc length, mm
	ticks int     // to cut; 0 where nothing is cut
	words string
}

// places returns the marks that plates and bands share, in order of arc length.
func (m *maker) places() []place {
	all := m.notches()
	matches := m.matches(all)
	all = append(all, m.closings()...)
	all = append(all, m.tiePlaces()...)
	all = append(all, m.pipingPlaces()...)
	all = append(all, m.bandJoins()...)
	all = append(all, m.clearOf(matches, all)...)
	for _, c := range m.corners {
		if c.turn > 0 {
			all = append(all, place{CornerMark, c.s, 0, "corner: needle down, pivot; trim the allowance across the point to 3 mm"})
		}
	}
	slices.SortStableFunc(all, func(a, b place) int {
		switch {
		case a.s < b.s:
			return -1
		case a.s > b.s:
			return 1
		}
		return 0
	})
	return all
}

// joinsOfPiping returns where strips of piping are joined along one seam. They differ
// from plate to plate.
func (m *maker) joinsOfPiping(seam int) []place {
	var all []place
	for _, j := range m.pad.Piping.Joins {
		if j.Seam == seam {
			all = append(all, place{PipingSeam, m.seam.wrap(j.Along), 0, "a join of the piping falls here"})
		}
	}
	return all
}

// notches returns the four notches that set a plate the right way round. The code is
// uneven: one tick at the left quarter, two at the right, three in front, so that a
// plate that was flipped or cut twice from one side does not fit.
func (m *maker) notches() []place {
	quarters := []place{
		{BackCentre, 0, 1, "back centre"},
		{QuarterLeft, m.front / 2, 1, "left quarter"},
		{FrontCentre, m.front, 3, "front centre"},
		{QuarterRight, (m.front + m.seam.total) / 2, 2, "right quarter"},
	}
	var all []place
	for _, q := range quarters {
		if q.kind == BackCentre || q.kind == FrontCentre || m.fromCorner(q.s) > m.notchClear() {
			all = append(all, q)
			continue
		}
		q.s += 2 * m.notchClear() // beside the corner: still the same on every piece
		all = append(all, q)
	}
	return all
}

// notchClear is how far a notch keeps from a sharp corner, mm: the allowance, whose
// corner it would meet.
func (m *maker) notchClear() float64 { return math.Max(10, m.recipe.Plate.Seam.Millimetres()) }

// fromCorner returns the distance along the seam to the nearest sharp corner, mm.
func (m *maker) fromCorner(s float64) float64 {
	least := math.Inf(1)
	for _, c := range m.corners {
		least = math.Min(least, math.Abs(m.seam.signed(c.s-s)))
	}
	return least
}

// matches parts the stretches between the notches evenly, so that no two marks are
// farther apart than the recipe says.
func (m *maker) matches(notches []place) []place {
	var all []place
	for i, from := range notches {
		to := m.seam.total
		if i+1 < len(notches) {
			to = notches[i+1].s
		}
		n := int(math.Ceil((to - from.s) / m.recipe.Marks.MatchEvery.Millimetres()))
		for k := 1; k < n; k++ {
			s := from.s + (to-from.s)*float64(k)/float64(n)
			if m.fromCorner(s) > m.notchClear() {
				all = append(all, place{Match, s, 1, "match"})
			}
		}
	}
	return all
}

// clearOf returns the match marks that stand clear of other ticks: two ticks near one
// another would read as a double notch.
func (m *maker) clearOf(matches, others []place) []place {
	clear := 3 * m.recipe.Marks.NotchGap.Millimetres()
	return slices.DeleteFunc(matches, func(k place) bool {
		return slices.ContainsFunc(others, func(o place) bool {
			return o.ticks > 0 && math.Abs(m.seam.signed(o.s-k.s)) < clear
		})
	})
}

// closings returns where the opening or the zip ends.
func (m *maker) closings() []place {
	o := m.pad.Opening
	kind, words := OpeningEnd, "opening ends here: back-stitch"
	if o.Close == ByZip {
		words = "zip ends here: back-stitch"
		if m.recipe.Style == Boxed {
			kind, words = ZipEnd, "zip strip meets the band"
		}
	}
	return []place{
		{kind, m.seam.wrap(o.To), 1, words + " (left)"},
		{kind, m.seam.wrap(o.From), 1, words + " (right)"},
	}
}

// bandJoins returns where two strips of the band are joined, which a maker checks
// against the plates.
func (m *maker) bandJoins() []place {
	var all []place
	for i, s := range m.joints {
		all = append(all, place{BandJoin, m.seam.wrap(s), 0, fmt.Sprintf("join %d of the band", i+1)})
	}
	return all
}

func (m *maker) tiePlaces() []place {
	var all []place
	per := m.tiesAtEach()
	for i, s := range m.pad.Ties.At {
		words := fmt.Sprintf("tie %d: middle of the strip in the seam, tails inward", i+1)
		if m.pad.Ties.Kind == Tabs {
			words = fmt.Sprintf("tab %d: raw end in the seam", i+1)
		}
		if per > 1 {
			words += fmt.Sprintf(", %d here", per)
		}
		all = append(all, place{TiePlaceMark, m.seam.wrap(s), 1, words})
	}
	return all
}

func (m *maker) pipingPlaces() []place {
	p := m.recipe.Piping
	if !p.On {
		return nil
	}
	return []place{
		{PipingMeets, 0, 0, "piping meets here: trim flush, fold in, tuck over"},
		{PipingStart, m.seam.wrap(p.StartPast.Millimetres()), 1, "start sewing the piping here, its end loose to " + p.EndPast.String() + " past the back centre"},
	}
}
