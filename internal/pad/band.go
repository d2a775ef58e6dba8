package pad

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// cutBand makes the band of a boxed pad: one or more strips, and two zip strips with
// a zip between them where the pad has one.
func (m *maker) cutBand() {
	o := m.pad.Opening
	if o.Close == ByZip {
		m.addZipStrips("Zip strip", o.From, o.To)
		m.addBand("Band", o.To, m.seam.total+o.From)
		return
	}
	// All round: start where a join does least harm.
	start := m.calmest()
	m.addBand("Band", start, start+m.seam.total)
}

// calmest returns the arc length of the least awkward join.
func (m *maker) calmest() float64 {
	best, least := 0.0, math.Inf(1)
	n := max(1, int(m.seam.total/m.params.JoinStep))
	for k := range n {
		s := m.seam.total * float64(k) / float64(n)
		if c := math.Round(m.awkwardness(s, m.busy()) * costUnits); c < least {
			best, least = s, c
		}
	}
	return best
}

// stripSize returns the size to cut for a strip that is to finish at the given
// length and width, and how long a finished strip the cloth's width allows.
func (m *maker) stripSize(finishedLength, finishedWidth float64) (long, wide length.Length) {
	across, along := m.recipe.shrinkScale()
	return mm(finishedLength * across), mm(finishedWidth * along)
}

// usableWidth returns how long a straight strip across the cloth finishes, mm.
func (m *maker) usableWidth() float64 {
	across, _ := m.recipe.shrinkScale()
	return (m.recipe.Cloth.Width - 2*m.recipe.Cloth.Selvedge).Millimetres() / across
}

// addBand makes the strips of the band between two arc lengths.
func (m *maker) addBand(name string, from, to float64) {
	s := m.recipe.Plate.Seam.Millimetres()
	longest := m.usableWidth() - 2*s
	p := parting{
		total: to - from,
		limit: func(int, int) float64 { return longest },
		cost:  func(x float64) float64 { return m.awkwardness(from+x, m.busy()) },
		step:  m.params.JoinStep,
	}
	joins, ok := p.joins()
	if !ok {
		m.ask("no place was found for every join of the band away from corners and the front centre: use wider cloth, or railroad it")
	}
	for _, x := range joins {
		m.joints = append(m.joints, from+x)
	}
	if to-from > m.seam.total-atJoint { // a ring is joined where it starts, too
		m.joints = append(m.joints, from)
	}
	bounds := append(append([]float64{0}, joins...), to-from)
	for i := range len(bounds) - 1 {
		label := name
		if len(bounds) > 2 {
			label = fmt.Sprintf("%s %d of %d", name, i+1, len(bounds)-1)
		}
		m.addBandStrip(label, from+bounds[i], from+bounds[i+1])
	}
}

// addBandStrip makes one strip of the band with its marks.
func (m *maker) addBandStrip(name string, from, to float64) {
	t, s := m.recipe.Foam.Thickness.Millimetres(), m.recipe.Plate.Seam
	long, wide := m.stripSize(to-from+2*s.Millimetres(), t+2*s.Millimetres())
	m.pad.Strips = append(m.pad.Strips, Strip{
		Name: name, Kind: BandStrip, Count: 1, Width: wide, Length: long, Cut: Straight, Seam: s, From: from, To: to,
		Marks: m.stripMarks(from, to, 0, t),
		Words: []string{
			fmt.Sprintf("Finishes %s high, as the foam is thick. From %s to %s along the seam.", mm(t), mm(m.seam.wrap(from)), mm(m.seam.wrap(to))),
			"Upper edge to the top plate; x runs to the right as the band is seen from outside.",
		},
	})
}

// addZipStrips makes the two strips that are folded over the zip.
func (m *maker) addZipStrips(name string, from, to float64) {
	r := m.recipe
	t, s := r.Foam.Thickness.Millimetres(), r.Plate.Seam
	long, wide := m.stripSize(to-from+2*s.Millimetres(), t/2+s.Millimetres()+r.Zip.Cover.Millimetres())
	for _, half := range []struct {
		name      string
		low, high float64
	}{{", upper", t / 2, t}, {", lower", 0, t / 2}} {
		edge := half.high
		if half.low == 0 {
			edge = half.low
		}
		m.pad.Strips = append(m.pad.Strips, Strip{
			Name: name + half.name, Kind: ZipStrip, Count: 1, Width: wide, Length: long, Cut: Straight, Seam: s, From: from, To: to,
			Marks: m.stripMarks(from, to, edge, edge),
			Words: []string{fmt.Sprintf("Fold the long edge %s over the zip; both strips and the zip together finish %s high.", r.Zip.Cover, mm(t))},
		})
	}
	m.pad.Zip = Zip{Length: mm(to-from) + 2*s, Clear: mm(to - from)}
	if m.hasBack {
		m.pad.Zip.Wrap = r.Zip.Wrap
	}
}

// stripMarks returns the shared marks between two arc lengths on a strip whose seam
// lines lie at the heights low and high (equal: it has one seam line).
func (m *maker) stripMarks(from, to, low, high float64) []Mark {
	var all []Mark
	heights := []float64{high}
	if low != high {
		heights = []float64{high, low}
	}
	places := m.places()
	for _, s := range m.bandReliefs() {
		places = append(places, place{ReliefClip, s, 0, "slit the band's allowance"})
	}
	for _, p := range places {
		x := m.seam.wrap(p.s - from)
		if x > m.seam.total-atJoint {
			x = 0
		}
		if p.kind == PipingMeets || p.kind == PipingStart || p.kind == BandJoin || x > to-from+atJoint {
			continue // those stay on the plates
		}
		for i, y := range heights {
			all = append(all, m.stripMark(p, x, y, i == 0))
		}
	}
	return m.enlargedMarks(all)
}

// stripMark draws one mark at x on a seam line at height y; the allowance lies above
// it on the upper edge and below it on the lower one.
func (m *maker) stripMark(p place, x, y float64, upper bool) Mark {
	r := m.recipe
	s := r.Plate.Seam.Millimetres()
	out := plane.Vec{Y: -1}
	if upper && (y > 0 || r.Foam.Thickness == 0) {
		out = plane.Vec{Y: 1}
	}
	at := plane.Point{X: x, Y: y}
	cut := at.Add(out.Scale(s))
	k := Mark{Kind: p.kind, Along: p.s, At: at, From: cut, To: at, Words: p.words}
	switch {
	case p.kind == CornerMark || p.kind == ReliefClip:
		k.To = at.Add(out.Scale(math.Min(s, r.Marks.ReliefStop.Millimetres())))
		k.Strokes = []Stroke{{k.From, k.To}}
		if p.kind == CornerMark {
			k.Words = "corner: slit the band's allowance"
		}
	default:
		depth := math.Min(r.Marks.NotchDepth.Millimetres(), s/2)
		for i := range p.ticks {
			aside := plane.Vec{X: (float64(i) - float64(p.ticks-1)/2) * r.Marks.NotchGap.Millimetres()}
			k.Strokes = append(k.Strokes, Stroke{cut.Add(aside), cut.Add(aside).Add(out.Scale(-depth))})
		}
		if p.ticks > 0 {
			k.To = cut.Add(out.Scale(-depth))
		}
	}
	return k
}

// bandReliefs returns where the band's raw edge must be slit to go round a bend.
func (m *maker) bandReliefs() []float64 {
	if m.recipe.Plate.Seam <= 0 {
		return nil
	}
	return m.bendReliefs(+1, float64(m.recipe.Marks.StraightStretch))
}

// enlargedMarks moves the marks of a strip as its cloth is cut larger.
func (m *maker) enlargedMarks(marks []Mark) []Mark {
	kx, ky := m.recipe.shrinkScale()
	return mappedMarks(marks, func(q plane.Point) plane.Point { return plane.Point{X: kx * q.X, Y: ky * q.Y} })
}

// Outline returns the strip's cut line in its own frame: its lower seam line starts
// at the origin.
func (s Strip) Outline() curve.Path {
	l, w, a := s.Length.Millimetres(), s.Width.Millimetres(), s.Seam.Millimetres()
	return curve.Polygon(plane.Point{X: -a, Y: -a}, plane.Point{X: l - a, Y: -a}, plane.Point{X: l - a, Y: w - a}, plane.Point{X: -a, Y: w - a})
}

// ask adds a question.
func (m *maker) ask(question string) { m.pad.Questions = append(m.pad.Questions, question) }
