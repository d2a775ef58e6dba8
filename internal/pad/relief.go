package pad

import (
	"math"

	"fairedge/internal/curve"
)

// relief is a place where a raw edge is slit or notched so that it can follow a
// bend.
type relief struct {
	kind  MarkKind
	s     float64
	words string
}

// The raw edge runs beside the seam at the distance a of the allowance. Where the
// seam has the radius R it must be longer (outside a bend) or shorter (inside) by
// the share a/R. Cloth takes a share e of stretch without puckers, so relief is due
// where R < a/e; with a = 13 mm that is 130 mm for bias strips (10 %) and 430 mm for
// straight ones (3 %). A slit every p opens by g = p a/R.

// reliefSpacing returns the distance along the seam between slits that each open by
// the gap, where the seam has the given radius and the raw edge lies allowance
// away: gap R / allowance, between least and most; and false where the cloth's
// stretch does without. All in mm.
func reliefSpacing(radius, allowance, gap, stretch, least, most float64) (float64, bool) {
	if radius*stretch >= allowance {
		return 0, false
	}
	return math.Min(most, math.Max(least, gap*radius/allowance)), true
}

// spacing is reliefSpacing with the recipe's numbers at a curvature in 1/mm.
func (m *maker) spacing(curvature, stretch float64) (float64, bool) {
	k := m.recipe.Marks
	return reliefSpacing(1/math.Abs(curvature), m.recipe.Plate.Seam.Millimetres(), k.ReliefGap.Millimetres(), stretch,
		k.ReliefLeast.Millimetres(), k.ReliefMost.Millimetres())
}

// step is a short stretch of a bend.
type step struct{ s, length, curvature float64 }

// stepLength is how finely bends are looked at, mm. Coarser: clips off their place
// by as much; finer: slower.
const stepLength = 2.0

// steps parts the curved pieces of the seam.
func (m *maker) steps() []step {
	var all []step
	for i := range m.seam.path.Len() {
		piece := m.seam.path.Segment(i)
		if piece.Straight {
			continue
		}
		s := m.seam.start(i)
		n := int(math.Ceil((m.seam.ends[i] - s) / stepLength))
		for k := range n {
			a, b := float64(k)/float64(n), float64(k+1)/float64(n)
			l := piece.LengthBetween(a, b, 1e-4)
			all = append(all, step{s, l, piece.Curvature((a + b) / 2)})
			s += l
		}
	}
	return all
}

// bendReliefs returns the places of relief on bends that turn outward (sign +1) or
// inward (-1). Each run of tight enough bend gets a whole number of clips, spread
// evenly by their spacing; a run whose raw edge changes by less than a millimetre
// in all gets none.
func (m *maker) bendReliefs(sign, stretch float64) []float64 {
	var places []float64
	var run []step
	end := math.Inf(-1)
	for _, st := range m.steps() {
		if st.curvature*sign <= 0 {
			continue
		}
		if _, due := m.spacing(st.curvature, stretch); !due {
			continue
		}
		if st.s > end+stepLength/2 {
			places = append(places, m.spread(run, stretch)...)
			run = nil
		}
		run = append(run, st)
		end = st.s + st.length
	}
	return append(places, m.spread(run, stretch)...)
}

// spread places the clips of one run.
func (m *maker) spread(run []step, stretch float64) []float64 {
	clips, opening := 0.0, 0.0 // how many spacings, and how much the raw edge changes
	parts := make([]float64, len(run))
	for i, st := range run {
		p, _ := m.spacing(st.curvature, stretch)
		parts[i] = st.length / p
		clips += parts[i]
		opening += st.length * math.Abs(st.curvature) * m.recipe.Plate.Seam.Millimetres()
	}
	if opening < m.params.LeastOpening {
		return nil
	}
	n := max(1, int(math.Round(clips)))
	var places []float64
	done := 0.0
	for i, st := range run {
		for len(places) < n {
			next := (float64(len(places)) + 0.5) * clips / float64(n)
			if next > done+parts[i] {
				break
			}
			places = append(places, st.s+st.length*(next-done)/parts[i])
		}
		done += parts[i]
	}
	return places
}

// plateReliefs returns the clips and notches along the plate.
func (m *maker) plateReliefs() []relief {
	if m.recipe.Plate.Seam <= 0 {
		return nil
	}
	k := m.recipe.Marks
	var all []relief
	if m.recipe.Piping.On {
		stretch := float64(k.StraightStretch)
		if m.recipe.Piping.Cut == Bias {
			stretch = float64(k.BiasStretch)
		}
		all = m.withBends(all, +1, stretch, relief{kind: PipingClip, words: "slit the piping's flange"})
		all = append(all, m.cornerClips()...)
	} else {
		all = m.withBends(all, +1, float64(k.BiasStretch), relief{kind: ReliefNotch, words: "cut a wedge out of the allowance"})
	}
	all = m.withBends(all, -1, float64(k.StraightStretch), relief{kind: ReliefClip, words: "slit the allowance"})
	for _, c := range m.corners {
		if c.turn < 0 {
			all = append(all, relief{BackClip, c.s, "inner corner: face it, then slit to the corner"})
		}
	}
	return all
}

// withBends appends a relief for each place on a bend that is not a corner's.
func (m *maker) withBends(all []relief, sign, stretch float64, r relief) []relief {
	for _, s := range m.bendReliefs(sign, stretch) {
		if m.fromCorner(s) > m.recipe.Marks.ReliefLeast.Millimetres() {
			r.s = s
			all = append(all, r)
		}
	}
	return all
}

// cornerClips returns the slits in the piping's flange at sharp outer corners.
func (m *maker) cornerClips() []relief {
	var all []relief
	n := m.recipe.Marks.CornerClips
	for _, c := range m.corners {
		for i := range n {
			if c.turn > 0 {
				s := c.s + (float64(i)-float64(n-1)/2)*m.recipe.Marks.CornerSpacing.Millimetres()
				all = append(all, relief{PipingClip, m.seam.wrap(s), "slit the piping's flange at the corner"})
			}
		}
	}
	return all
}

// minRadius returns the least radius of the outward bends, mm; infinite where none
// bends outward.
func minRadius(path curve.Path) float64 {
	least := math.Inf(1)
	for _, s := range path.Segments() {
		for k := range 9 {
			if c := s.Curvature(float64(k) / 8); c > 0 {
				least = math.Min(least, 1/c)
			}
		}
	}
	return least
}
