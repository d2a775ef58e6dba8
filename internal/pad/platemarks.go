package pad

import (
	"math"

	"fairedge/internal/plane"
)

// carried is a place of the seam carried square to the cut line.
type carried struct {
	at, cut plane.Point
	out     plane.Vec
	half    float64 // half the outer angle at a corner, else π/2
	reach   float64 // from at to cut, mm
}

// carry takes the place at arc length s square from the seam to the cut line.
func (m *maker) carry(s float64) carried {
	c := carried{at: m.seam.point(s)}
	c.out, c.half = m.seam.outward(s)
	most := 10 + 4*math.Max(m.recipe.Plate.Seam.Millimetres(), m.widestAllowance())
	d, met := alongRay(m.lines.cut.path, c.at, c.out, 0, most)
	if !met { // no allowance at all, or a corner whose tip was trimmed beside the ray
		spot, distance := m.lines.cut.path.Nearest(c.at)
		c.cut, c.reach = spot.Point, distance
		return c
	}
	c.cut, c.reach = c.at.Add(c.out.Scale(d)), d
	return c
}

func (m *maker) widestAllowance() float64 {
	widest := 0.0
	for _, e := range m.shape.Edges {
		widest = math.Max(widest, m.recipe.allowance(e.Name))
	}
	return widest
}

// plateMarks returns the marks of the top plate.
func (m *maker) plateMarks() []Mark {
	var all []Mark
	places := m.places()
	for _, p := range places {
		all = append(all, m.plateMark(p))
	}
	for _, r := range m.plateReliefs() {
		if !m.onTick(r.s, places) {
			all = append(all, m.reliefMark(r))
		}
	}
	return append(all, m.arrows()...)
}

// onTick reports whether a clip would fall on or beside the tick of a notch, which
// it would make unreadable; the notch opens there instead.
func (m *maker) onTick(s float64, places []place) bool {
	gap := m.recipe.Marks.NotchGap.Millimetres()
	for _, p := range places {
		if p.ticks > 0 && math.Abs(m.seam.signed(p.s-s)) < gap*float64(p.ticks)/2 {
			return true
		}
	}
	return false
}

// plateMark draws one shared place on the plate: ticks from the cut line inward, at
// most half way to the seam.
func (m *maker) plateMark(p place) Mark {
	c := m.carry(p.s)
	k := Mark{Kind: p.kind, Along: p.s, At: c.at, From: c.cut, To: c.at, Words: p.words}
	if p.ticks == 0 {
		return k
	}
	gap := m.recipe.Marks.NotchGap.Millimetres()
	k.To = m.tick(c).To
	for i := range p.ticks {
		offset := (float64(i) - float64(p.ticks-1)/2) * gap
		k.Strokes = append(k.Strokes, m.tick(m.carry(p.s+offset)))
	}
	return k
}

// tick returns the notch at a carried place.
func (m *maker) tick(c carried) Stroke {
	depth := math.Min(m.recipe.Marks.NotchDepth.Millimetres(), c.reach/2)
	return Stroke{c.cut, c.cut.Add(c.at.Sub(c.cut).Unit().Scale(depth))}
}

// reliefMark draws a relief clip from the cut line to the stop before the seam.
func (m *maker) reliefMark(r relief) Mark {
	c := m.carry(r.s)
	// In an inner corner the clip runs along the middle of the angle and must keep the
	// stop from both sides: d sin(half) = stop.
	d := m.recipe.Marks.ReliefStop.Millimetres() / math.Sin(c.half)
	end := c.at.Add(c.out.Scale(math.Min(d, c.reach)))
	return Mark{Kind: r.kind, Along: r.s, At: c.at, From: c.cut, To: end, Words: r.words, Strokes: []Stroke{{c.cut, end}}}
}

// arrows returns the grain and nap arrows in the middle of the plate.
func (m *maker) arrows() []Mark {
	b := m.seam.box
	middle, half := b.Centre(), b.Height()/5
	up := plane.Vec{Y: half}
	grain := Stroke{middle.Add(up.Neg()), middle.Add(up)}
	all := []Mark{{Kind: GrainArrow, At: middle, From: grain.From, To: grain.To, Strokes: []Stroke{grain}, Words: "grain: along the selvedge"}}
	if nap := m.nap(); nap != (plane.Vec{}) {
		aside := middle.Add(plane.Vec{X: b.Width() / 16})
		s := Stroke{aside.Add(nap.Scale(-half / 2)), aside.Add(nap.Scale(half / 2))}
		all = append(all, Mark{Kind: NapArrow, At: aside, From: s.From, To: s.To, Strokes: []Stroke{s}, Words: "nap strokes smooth this way"})
	}
	return all
}

// nap returns the direction in which the pile strokes smooth.
func (m *maker) nap() plane.Vec {
	switch m.recipe.Cloth.Nap {
	case NapToFront:
		return m.shape.BackToFront()
	case NapToBack:
		return m.shape.BackToFront().Neg()
	}
	return plane.Vec{}
}
