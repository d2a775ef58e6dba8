package pad

import (
	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
)

// Cut returns every piece, strip and mark of one pad for the seat, made by the
// recipe. Fitted curves keep within 0.005 mm of the exact lines for each offset.
func Cut(s shape.Shape, r Recipe) (Pad, error) { return CutWith(s, r, DefaultParams()) }

// CutWith is Cut with thresholds of one's own.
func CutWith(s shape.Shape, r Recipe, p Params) (Pad, error) {
	m, err := newMaker(s, r, p)
	if err != nil {
		return Pad{}, err
	}
	if err := m.cutCover(); err != nil {
		return Pad{}, err
	}
	m.cutFoam()
	m.pad.Questions = append(m.pad.Questions, m.questions()...)
	m.pad.Cautions = m.cautions()
	m.pad.Order = m.order()
	return m.pad, nil
}

// maker holds what the parts of one pad share while they are cut.
type maker struct {
	shape   shape.Shape
	recipe  Recipe
	params  Params
	lines   lines
	seam    circuit // the finished seam line
	front   float64 // arc length of the front centre
	corners []corner
	bends   []stretch // rounded corners
	left    float64   // arc length of the back's left end
	right   float64   // and of its right end, negative
	hasBack bool      // false where one edge runs all round
	joints  []float64 // arc lengths at which strips of the band are joined
	pad     Pad
}

func newMaker(s shape.Shape, r Recipe, p Params) (*maker, error) {
	if err := checkShape(s); err != nil {
		return nil, err
	}
	if err := r.check(); err != nil {
		return nil, err
	}
	l, err := drawLines(s, r, p)
	if err != nil {
		return nil, err
	}
	m := &maker{shape: s, recipe: r, params: p, lines: l}
	m.seam = newCircuit(l.seam.path, l.seam.edge, s.Origin(), p.ArcTolerance)
	m.front = m.frontCentre()
	m.corners = m.seam.corners(p.CornerTurn)
	m.bends = m.seam.tightBends(p.TightRadius, p.TightTurn)
	m.left, m.right, m.hasBack = m.seam.backEnds(s.Back.Edge, m.isRoundedCorner)
	m.pad = Pad{Recipe: r, Template: s.Net, Finished: l.finished.path, Seams: 1,
		SeamLength: mm(m.seam.total), Stitched: mm(m.seam.total), CutOutside: mm(r.ease() + r.Plate.Seam.Millimetres() - r.clearance(shape.Unnamed))}
	return m, m.placeOpening()
}

// isRoundedCorner reports whether a piece of the seam turns the back into a side: a
// corner's own piece, or a tight bend that belongs to no named edge.
func (m *maker) isRoundedCorner(piece int) bool {
	e := m.seam.edge[piece]
	if e >= 0 && m.shape.Edges[e].Name != shape.Unnamed {
		return false
	}
	s := m.seam.path.Segment(piece)
	turn := s.Turn()
	return turn > m.params.BackCornerTurn && s.ArcLength(m.params.ArcTolerance) <= m.params.BackCornerRadius*turn
}

func checkShape(s shape.Shape) error {
	if s.Net.IsEmpty() || !s.Net.IsClosed() || s.Net.Validate() != nil || s.Net.SignedArea() <= 0 ||
		s.Back.Edge < 0 || s.Back.Edge >= len(s.Edges) {
		return problem.New(problem.Usage, "the seat's outline is not one closed line with a back edge", "trace the seat again")
	}
	return nil
}

// check returns an error where values that are fine by themselves do not go
// together.
func (r Recipe) check() error {
	stop, seam := r.Marks.ReliefStop, r.Plate.Seam
	switch {
	case r.Foam.Thickness <= 0:
		return problem.New(problem.Usage, "the recipe has no foam thickness", "choose a recipe, or give foam.thickness")
	case seam > 0 && stop >= seam:
		return problem.Newf(problem.Usage, "make marks.relief_stop smaller than plate.seam",
			"relief clips would have no room: they stop %s from the stitching and the seam allowance is %s", stop, seam)
	case r.Ties.Kind == Strings && r.Ties.CutLength <= 2*r.Ties.TurnIn+r.Ties.Catch:
		return problem.Newf(problem.Usage, "cut the ties longer", "ties of %s leave no tails", r.Ties.CutLength)
	}
	return nil
}

// mm gives a number of millimetres its unit.
func mm(v float64) length.Length { return length.Length(v) * length.Millimetre }

// frontCentre returns the arc length at which the seat's middle line, from the
// middle of the back straight forward, leaves the pad.
func (m *maker) frontCentre() float64 {
	b := m.seam.box
	below := plane.Point{X: m.shape.Origin().X, Y: b.Min.Y - 1}
	if d, ok := alongRay(m.seam.path, below, m.shape.BackToFront().Neg(), 0, b.Height()+2); ok {
		return m.seam.lengthTo(below.Add(m.shape.BackToFront().Scale(-d)))
	}
	return m.seam.total / 2
}

// placeOpening finds where the cover stays open.
func (m *maker) placeOpening() error {
	r := m.recipe
	o := Opening{Close: r.Opening.Close, From: m.right, To: m.left}
	switch {
	case !m.hasBack:
		half := float64(r.Opening.RoundShare) * m.seam.box.Width() / 2
		o.From, o.To = -half, half
	case r.Style == KnifeEdge || o.Close == ByHand:
		d := r.Opening.FromCorner.Millimetres()
		o.From, o.To = m.right+d, m.left-d
	}
	if o.Close == ByZip && r.Style == Boxed {
		o.From, o.To = o.From-r.Zip.Wrap.Millimetres(), o.To+r.Zip.Wrap.Millimetres()
	}
	if o.To-o.From < 50 || o.From >= 0 || o.To <= 0 || o.To-o.From > 0.9*m.seam.total {
		return problem.Newf(problem.Usage, "change opening.from_corner, opening.round_share or zip.wrap",
			"the back of the seat, %s long, leaves no sensible opening", mm(m.left-m.right))
	}
	o.Length = mm(o.To - o.From)
	m.pad.Opening = o
	return nil
}

// cutCover makes the cloth.
func (m *maker) cutCover() error {
	m.placeTies()
	switch m.recipe.Style {
	case Waterfall, Bullnose:
		if err := m.cutWrapped(); err != nil {
			return err
		}
	case Boxed:
		m.pad.Seams, m.pad.Stitched = 2, 2*m.pad.SeamLength
		m.planPiping(m.plateRings())
		m.cutBand()
		m.cutPlates()
	default:
		m.planPiping(m.plateRings())
		m.cutPlates()
		m.zipInSeam()
	}
	m.cutPipingStrips()
	m.cutTies()
	m.cutFacings()
	return nil
}

// zipInSeam gives a knife-edge pad its zip, sewn into the seam at the opening.
func (m *maker) zipInSeam() {
	if o := m.pad.Opening; o.Close == ByZip {
		m.pad.Zip = Zip{Length: o.Length + 2*m.recipe.Plate.Seam, Clear: o.Length}
	}
}

// shrinkScale returns by how much pieces are cut larger, across the cloth and along
// it: what shrinks by a share q is cut 1/(1-q) times as large.
func (r Recipe) shrinkScale() (across, along float64) {
	return 1 / (1 - float64(r.Cloth.ShrinkWidth)), 1 / (1 - float64(r.Cloth.ShrinkLength))
}

// enlarged returns the piece of cloth larger by what the cloth shrinks, stretched
// about the back centre.
func (r Recipe) enlarged(p Piece) Piece {
	kx, ky := r.shrinkScale()
	if kx == 1 && ky == 1 {
		return p
	}
	return p.mapped(func(q plane.Point) plane.Point { return plane.Point{X: kx * q.X, Y: ky * q.Y} })
}

// mapped returns the piece with every point moved by f, which must be affine.
func (p Piece) mapped(f func(plane.Point) plane.Point) Piece {
	for _, path := range []*curve.Path{&p.CutLine, &p.SeamLine, &p.FoamLine} {
		*path = path.Map(f)
	}
	p.Marks = mappedMarks(p.Marks, f)
	if p.FoldLine != nil {
		p.FoldLine = &Stroke{f(p.FoldLine.From), f(p.FoldLine.To)}
	}
	return p
}

func mappedMarks(marks []Mark, f func(plane.Point) plane.Point) []Mark {
	out := make([]Mark, len(marks))
	for i, k := range marks {
		k.At, k.From, k.To = f(k.At), f(k.From), f(k.To)
		strokes := make([]Stroke, len(k.Strokes))
		for j, s := range k.Strokes {
			strokes[j] = Stroke{f(s.From), f(s.To)}
		}
		k.Strokes = strokes
		out[i] = k
	}
	return out
}

// mirrored returns the mirror image of the piece about the line from back to front
// through the back centre, exactly. Outlines stay counter-clockwise; the seam line
// still starts at the back centre; marks keep their arc length.
func (p Piece) mirrored(s shape.Shape) Piece {
	at, along := s.Origin(), s.BackToFront()
	for _, path := range []*curve.Path{&p.CutLine, &p.SeamLine, &p.FoamLine} {
		*path = path.Mirrored(at, along)
	}
	square := along.TurnLeft().Unit()
	p.Marks = mappedMarks(p.Marks, func(q plane.Point) plane.Point {
		return q.Add(square.Scale(-2 * square.Dot(q.Sub(at))))
	})
	p.Mirrored = true
	return p
}
