package pad

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
)

// A wrapped pad (waterfall or bullnose) has one main piece over top, front and
// underside. Laid flat it is the top's outline as far as the front line, then the
// front's band, then the underside, which is the top turned over at the fold:
//
//	+--- back ---+
//	|    top     |
//	|            |   y = front line
//	+ - - - - - -+   y = fold, the middle of the front
//	|            |
//	| underside  |
//	+--- back ---+
//
// From the front line to the fold it is h: t/2 over a square front, and over a
// half-round one, whose depth is part of the pad's, (π/4 - 1/2) t more than the way
// straight to the front line. Each side is closed by a piece as high as the foam.
type wrapped struct {
	left, right []curve.Segment // from the back centre to the fold; from the fold to the back centre
	fold        float64         // y
	// profile is the length of seam from the back corner over the front to the back
	// corner underneath, on the left and on the right, mm.
	profileLeft, profileRight float64
}

// cutWrapped makes the main piece, both sides and the back.
func (m *maker) cutWrapped() error {
	w, err := m.unroll()
	if err != nil {
		return err
	}
	main, err := m.mainPiece(w)
	if err != nil {
		return err
	}
	left, err := m.sidePiece(w.profileLeft, true)
	if err != nil {
		return err
	}
	right, err := m.sidePiece(w.profileRight, false)
	if err != nil {
		return err
	}
	m.pad.Pieces = append(m.pad.Pieces, m.recipe.enlarged(main), m.recipe.enlarged(left), m.recipe.enlarged(right))
	t := m.recipe.Foam.Thickness.Millimetres()
	m.pad.Seams = 2
	m.pad.SeamLength = mm(w.profileLeft + t)
	m.pad.Stitched = mm(w.profileLeft + w.profileRight + 2*t + 2*(m.left-m.right))
	m.planPiping([]ring{m.profileRing(w.profileLeft), m.profileRing(w.profileRight)})
	o := m.pad.Opening
	if o.Close == ByZip {
		m.addZipStrips("Zip strip for the back", m.right, m.left)
	} else {
		m.addBandStrip("Back band", m.right, m.left)
	}
	return nil
}

// frontHeight returns h, mm.
func (m *maker) frontHeight() float64 {
	t := m.recipe.Foam.Thickness.Millimetres()
	if m.recipe.Style == Bullnose {
		return (math.Pi/4 - 0.5) * t
	}
	return t / 2
}

// unroll finds both halves of the top and squares them off at the front line.
func (m *maker) unroll() (wrapped, error) {
	leftEdge, ok1 := m.lastOf(shape.LeftEdge)
	rightEdge, ok2 := m.firstOf(shape.RightEdge)
	if !ok1 || !ok2 || !m.hasBack {
		return wrapped{}, problem.Newf(problem.Usage, "choose a boxed recipe for this seat",
			"a %s front needs a seat with two sides and a straight front", m.recipe.Style)
	}
	front := m.seam.box.Min.Y
	w := wrapped{fold: front - m.frontHeight()}
	segments := m.seam.path.Segments()
	end := segments[leftEdge]
	beyond, err := m.toFold(end.P3, end.Tangent(1), front, w.fold)
	if err != nil {
		return w, err
	}
	w.left = append(append(w.left, segments[:leftEdge+1]...), beyond...)
	start := segments[rightEdge]
	beyond, err = m.toFold(start.P0, start.Tangent(0).Neg(), front, w.fold)
	if err != nil {
		return w, err
	}
	w.right = append(curve.OpenPath(beyond...).Reversed().Segments(), segments[rightEdge:]...)
	tol := m.params.ArcTolerance
	w.profileLeft = 2 * (curve.OpenPath(w.left...).ArcLength(tol) - m.left)
	w.profileRight = 2 * (curve.OpenPath(w.right...).ArcLength(tol) + m.right)
	m.askAboutFront(front)
	return w, nil
}

// toFold carries a side on, straight, to the front line and then down to the fold.
func (m *maker) toFold(from plane.Point, direction plane.Vec, front, fold float64) ([]curve.Segment, error) {
	if direction.Y > -0.5 {
		return nil, problem.Newf(problem.Usage, "choose a boxed recipe for this seat",
			"the sides of the seat do not run to the front, as a %s front needs", m.recipe.Style)
	}
	corner := from.Add(direction.Scale((front - from.Y) / direction.Y))
	var beyond []curve.Segment
	if from.DistanceTo(corner) > 1e-6 {
		beyond = append(beyond, curve.Line(from, corner))
	} else {
		corner = from
	}
	return append(beyond, curve.Line(corner, plane.Point{X: corner.X, Y: fold})), nil
}

// askAboutFront asks when squaring the front off changes the seat.
func (m *maker) askAboutFront(front float64) {
	most := 0.0
	for i, s := range m.seam.path.Segments() {
		if e := m.seam.edge[i]; e >= 0 && m.isFront(e) {
			for k := range 17 {
				most = math.Max(most, s.At(float64(k)/16).Y-front)
			}
		}
	}
	if most > 5 {
		m.ask(fmt.Sprintf("the front leaves a straight line by %s; a wrapped front is cut straight at its foremost point", mm(most)))
	}
}

func (m *maker) lastOf(name shape.Name) (int, bool) {
	for i := len(m.seam.edge) - 1; i >= 0; i-- {
		if e := m.seam.edge[i]; e >= 0 && m.shape.Edges[e].Name == name {
			return i, true
		}
	}
	return 0, false
}

func (m *maker) firstOf(name shape.Name) (int, bool) {
	for i, e := range m.seam.edge {
		if e >= 0 && m.shape.Edges[e].Name == name {
			return i, true
		}
	}
	return 0, false
}

// mainPiece unfolds top, front and underside.
func (m *maker) mainPiece(w wrapped) (Piece, error) {
	over := func(p plane.Point) plane.Point { return plane.Point{X: p.X, Y: 2*w.fold - p.Y} }
	under := func(part []curve.Segment) []curve.Segment {
		return curve.OpenPath(part...).Map(over).Reversed().Segments()
	}
	all := append(append(append(append([]curve.Segment{}, w.left...), under(w.left)...), under(w.right)...), w.right...)
	seam := curve.ClosedPath(all...)
	border, err := seam.OffsetOutline(curve.Uniform(m.recipe.Plate.Seam.Millimetres()).WithJoin(m.recipe.Plate.CutCorner.join()), m.params.Tolerance)
	if err != nil {
		return Piece{}, fmt.Errorf("drawing the main piece: %w", err)
	}
	depth := m.seam.box.Height()
	p := Piece{
		Name: "Main piece", Material: ClothMaterial, Count: 1, CutLine: border.Path, SeamLine: seam,
		Grain: plane.Vec{Y: 1}, Nap: m.nap(),
		Words: append([]string{"TOP at this end, underside at the other. Cut 1, right side up.",
			fmt.Sprintf("Finishes %s from the back over the front to the back underneath.", WrappedLength(m.recipe.Style, mm(depth), m.recipe.Foam.Thickness))}, m.lineWords()...),
	}
	p.Marks = m.mainMarks(w, seam, border.Path, over)
	return p, nil
}

// mainMarks returns the marks of the main piece: those of the back on top and
// underneath, those of both profiles, and the fold.
func (m *maker) mainMarks(w wrapped, seam, cut curve.Path, over func(plane.Point) plane.Point) []Mark {
	c := newCircuit(seam, make([]int, seam.Len()), seam.Segment(0).P0, m.params.ArcTolerance)
	flat := *m
	flat.seam, flat.lines.cut.path = c, cut
	var all []Mark
	for _, p := range m.places() {
		if s := m.seam.signed(p.s); s >= m.right-1e-9 && s <= m.left+1e-9 && p.kind != PipingStart && p.kind != PipingMeets {
			k := flat.profileMark(p, c.wrap(s)) // the main piece is longer round than the pad
			k.Along = s                         // as those of the profiles: negative on the right
			all = append(all, k)
			if p.kind != CornerMark {
				below := mappedMarks([]Mark{k}, over)[0]
				below.Words += ", underside"
				all = append(all, below)
			}
		}
	}
	for _, u := range m.profilePlaces(w.profileLeft) {
		all = append(all, flat.profileMark(place{u.kind, m.left + u.s, 1, u.words + ", left"}, m.left+u.s))
	}
	for _, u := range m.profilePlaces(w.profileRight) {
		all = append(all, flat.profileMark(place{u.kind, m.right - u.s, 2, u.words + ", right"}, c.total+m.right-u.s))
	}
	across := Stroke{w.left[len(w.left)-1].P3, w.right[0].P0}
	all = append(all, Mark{Kind: FoldMark, At: across.From.Lerp(across.To, 0.5), From: across.From, To: across.To, Strokes: []Stroke{across}, Words: "middle of the front"})
	return append(all, flat.arrows()...)
}

// profileMark draws a mark of a profile at arc length s of the main piece under the
// arc length of the pad.
func (m *maker) profileMark(p place, s float64) Mark {
	along := p.s
	p.s = s
	k := m.plateMark(p)
	k.Along = along
	return k
}

// profilePlaces returns the marks along a profile of the given length, at arc
// lengths from the upper back corner: the front's top, middle and bottom, and match
// marks at equal distances above and below.
func (m *maker) profilePlaces(profile float64) []place {
	t := m.recipe.Foam.Thickness.Millimetres()
	half := t / 2 // from the middle of the front to where it begins
	words := [3]string{"front, upper corner", "front, middle", "front, lower corner"}
	if m.recipe.Style == Bullnose {
		half = math.Pi / 4 * t
		words = [3]string{"12 o'clock", "3 o'clock", "6 o'clock"}
	}
	all := []place{{Match, profile/2 - half, 1, words[0]}, {FoldMark, profile / 2, 1, words[1]}, {Match, profile/2 + half, 1, words[2]}}
	side := profile/2 - half
	n := int(math.Ceil(side / m.recipe.Marks.MatchEvery.Millimetres()))
	for k := 1; k < n; k++ {
		u := side * float64(k) / float64(n)
		name := fmt.Sprintf("side %d", k)
		all = append(all, place{Match, u, 1, name}, place{Match, profile - u, 1, name + " below"})
	}
	return all
}

// sidePiece makes the piece that closes one side, seen from outside: the left one
// with its back at the origin and its front to the right, the right one the other
// way round. Its lower seam line lies at y = 0.
func (m *maker) sidePiece(profile float64, left bool) (Piece, error) {
	t := m.recipe.Foam.Thickness.Millimetres()
	reach := (profile - t) / 2 // of a square front
	if m.recipe.Style == Bullnose {
		reach = (profile-math.Pi/2*t)/2 + t/2
	}
	seam := sideOutline(m.recipe.Style, reach, t)
	border, err := seam.OffsetOutline(curve.Uniform(m.recipe.Plate.Seam.Millimetres()).WithJoin(m.recipe.Plate.CutCorner.join()), m.params.Tolerance)
	if err != nil {
		return Piece{}, fmt.Errorf("drawing a side: %w", err)
	}
	p := Piece{Name: "Left side", Material: ClothMaterial, Count: 1, CutLine: border.Path, SeamLine: seam, Grain: plane.Vec{Y: 1},
		Words: []string{"LEFT side as you sit. Cut 1, right side up. Upper edge to the top; the end without a notch to the back."}}
	p.Marks = m.sideMarks(seam, border.Path, profile, left)
	if !left {
		p.Name, p.Mirrored = "Right side", true
		p.Words = []string{"RIGHT side as you sit: two ticks to each mark. Cut 1, right side up."}
		for _, line := range []*curve.Path{&p.CutLine, &p.SeamLine} {
			*line = line.Mirrored(plane.Point{}, plane.Vec{Y: 1})
		}
		p.Marks = mappedMarks(p.Marks, func(q plane.Point) plane.Point { return plane.Point{X: -q.X, Y: q.Y} })
	}
	return p, nil
}

// sideOutline returns the seam line of a side as seen with the back at the origin:
// it starts at the upper back corner and runs counter-clockwise: down the back,
// forward along the bottom, up the front and back along the top.
func sideOutline(style Style, reach, t float64) curve.Path {
	top, foot := plane.Point{Y: t}, plane.Point{}
	if style != Bullnose {
		return curve.Polygon(top, foot, plane.Point{X: reach}, plane.Point{X: reach, Y: t})
	}
	straight := reach - t/2
	segments := []curve.Segment{curve.Line(top, foot), curve.Line(foot, plane.Point{X: straight})}
	segments = append(segments, arc(plane.Point{X: straight, Y: t / 2}, t/2, -math.Pi/2, math.Pi/2)...)
	return curve.ClosedPath(append(segments, curve.Line(plane.Point{X: straight, Y: t}, top))...)
}

// arc returns a circular arc as cubics of at most an eighth of a circle, within
// 4.3e-6 of the radius (handle 4/3 tan(angle/4)).
func arc(centre plane.Point, radius, from, to float64) []curve.Segment {
	n := int(math.Ceil(math.Abs(to-from)/(math.Pi/4) - 1e-9))
	step := (to - from) / float64(n)
	handle := 4.0 / 3 * math.Tan(step/4) * radius
	at := func(a float64) (plane.Point, plane.Vec) {
		d := plane.Vec{X: math.Cos(a), Y: math.Sin(a)}
		return centre.Add(d.Scale(radius)), d.TurnLeft()
	}
	var all []curve.Segment
	for k := range n {
		p, u := at(from + float64(k)*step)
		q, v := at(from + float64(k+1)*step)
		all = append(all, curve.Cubic(p, p.Add(u.Scale(handle)), q.Add(v.Scale(-handle)), q))
	}
	return all
}

// sideMarks returns the marks of a side. The profile runs from the upper back corner
// forward, which is clockwise on this piece.
func (m *maker) sideMarks(seam, cut curve.Path, profile float64, left bool) []Mark {
	c := newCircuit(seam, make([]int, seam.Len()), seam.Segment(0).P0, m.params.ArcTolerance)
	flat := *m
	flat.seam, flat.lines.cut.path = c, cut
	ticks, start, sign, name := 1, m.left, 1.0, ", left"
	if !left {
		ticks, start, sign, name = 2, m.right, -1.0, ", right"
	}
	var all []Mark
	for _, u := range m.profilePlaces(profile) {
		all = append(all, flat.profileMark(place{u.kind, start + sign*u.s, ticks, u.words + name}, c.total-u.s))
	}
	return all
}

// profileRing returns the seam round one side, which starts at the upper back corner
// and comes back to it up the back. Joins go to the underside near the back; none
// falls on the front or at the corners.
func (m *maker) profileRing(profile float64) ring {
	t := m.recipe.Foam.Thickness.Millimetres()
	clear := m.params.JoinClear
	half := t / 2
	if m.recipe.Style == Bullnose {
		half = math.Pi / 4 * t
	}
	corners := 2
	if m.recipe.Style == Waterfall {
		corners = 4
	}
	return ring{profile + t, corners, func(s float64) float64 {
		cost := math.Abs(s-profile) / profile
		if math.Abs(s-profile/2) < half+clear || s < clear || s > profile-clear {
			cost += forbidden
		}
		return cost
	}}
}
