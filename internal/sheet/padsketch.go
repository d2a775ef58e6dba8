package sheet

import (
	"fmt"
	"math"
	"slices"

	"fairedge/internal/curve"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
)

// SeamPlace is a place on the seam where marks stand, with its number on the cut
// sheet.
type SeamPlace struct {
	Number int
	Along  float64 // arc length from the back centre, mm
	Kinds  []pad.MarkKind
	Words  []string
}

// sameAlong is how near two marks lie that share a place, mm.
const sameAlong = 0.5

// SeamPlaces numbers the places of the piece's marks in the order in which the seam is
// sewn: from the back centre to the left and on round; on a wrapped piece, which has no
// seam in front, from its right end to its left one, negative on the right. Clips and
// arrows have none.
func SeamPlaces(piece pad.Piece) []SeamPlace {
	var marks []pad.Mark
	for _, k := range piece.Marks {
		if isPlace(k.Kind) && !(k.Kind == pad.FoldMark && k.Along == 0) {
			marks = append(marks, k)
		}
	}
	slices.SortStableFunc(marks, func(a, b pad.Mark) int {
		switch {
		case a.Along < b.Along-1e-9:
			return -1
		case a.Along > b.Along+1e-9:
			return 1
		}
		return 0
	})
	var places []SeamPlace
	for _, k := range marks {
		if n := len(places); n > 0 && k.Along-places[n-1].Along < sameAlong {
			if !slices.Contains(places[n-1].Kinds, k.Kind) {
				places[n-1].Kinds, places[n-1].Words = append(places[n-1].Kinds, k.Kind), append(places[n-1].Words, k.Words)
			}
			continue
		}
		places = append(places, SeamPlace{len(places) + 1, k.Along, []pad.MarkKind{k.Kind}, []string{k.Words}})
	}
	return places
}

// IsWrapped reports whether the piece goes over top, front and underside.
func IsWrapped(piece pad.Piece) bool { return piece.Name == "Main piece" }

// padSeam is the seam with its numbered places.
type padSeam struct {
	places []SeamPlace
	total  float64 // once round, mm
}

// Numbered returns the piece whose marks are numbered: the first of cloth.
func Numbered(p pad.Pad) (piece pad.Piece, found bool) {
	i := slices.IndexFunc(p.Pieces, func(piece pad.Piece) bool { return piece.Material == pad.ClothMaterial })
	if i < 0 {
		return pad.Piece{}, false
	}
	return p.Pieces[i], true
}

func numberedSeam(p pad.Pad) padSeam {
	piece, _ := Numbered(p)
	return padSeam{SeamPlaces(piece), p.SeamLength.Millimetres()}
}

// number returns the number of the place at an arc length, or 0 where there is none.
func (s padSeam) number(along float64) int {
	for _, p := range s.places {
		away := math.Abs(p.Along - along)
		if math.Min(away, math.Abs(away-s.total)) < sameAlong {
			return p.Number
		}
	}
	return 0
}

// stripAlong returns the arc length at which a mark of a strip lies: the strip runs
// along the seam, larger by what the cloth shrinks.
func stripAlong(p pad.Pad, s pad.Strip, k pad.Mark) float64 {
	return s.From + k.At.X*(1-float64(p.Recipe.Cloth.ShrinkWidth))
}

// StripNumber returns the number of the place at which a mark of a strip lies, or 0.
func StripNumber(p pad.Pad, s pad.Strip, k pad.Mark) int {
	return numberedSeam(p).number(stripAlong(p, s, k))
}

func isPlace(k pad.MarkKind) bool {
	switch k {
	case pad.ReliefClip, pad.ReliefNotch, pad.PipingClip, pad.GrainArrow, pad.NapArrow, pad.FoamJoin, pad.BackClip:
		return false
	}
	return true
}

// Type of the numbers in a sketch, mm: 9 pt.
const sketchType = 3.2

// SketchMargin is the room that a sketch takes around the piece for numbers, mm.
const SketchMargin = 5.5

// PadSketch draws the piece small for a cut sheet, the lower left corner of its box at
// the point: lines at scale, marks as signs of a fixed size, places with their
// numbers.
func PadSketch(piece pad.Piece, places []SeamPlace, scale float64, corner plane.Point) []Item {
	lines := []curve.Path{piece.CutLine, piece.SeamLine}
	if piece.CutLine.IsEmpty() {
		lines = []curve.Path{piece.FoamLine}
	}
	from := lines[0].Bounds().Min
	small := func(q plane.Point) plane.Point { return corner.Add(q.Sub(from).Scale(scale)) }
	p := &pen{}
	for i, role := range []Role{CutLine, SeamLine} {
		if piece.CutLine.IsEmpty() {
			role = FoamOutline
		}
		if i < len(lines) && !lines[i].IsEmpty() {
			p.stroke("", role, offFold(piece, lines[i]).Map(small))
		}
	}
	if piece.FoldLine != nil {
		p.line(FoldLine, small(piece.FoldLine.From), small(piece.FoldLine.To))
	}
	for _, k := range piece.Marks {
		p.sketchMark(k, small)
	}
	p.sketchNumbers(piece, places, small)
	p.sketchSides(piece, lines[len(lines)-1].Map(small))
	return p.items
}

// sketchMark draws the mark with ticks of a fixed size from the cut line inward.
func (p *pen) sketchMark(k pad.Mark, small func(plane.Point) plane.Point) {
	const tick, gap = 2.0, 1.3
	if k.Kind == pad.GrainArrow || k.Kind == pad.NapArrow {
		return
	}
	out := outward(k)
	seam, cut := small(k.At), small(k.From)
	if !isPlace(k.Kind) || k.Kind == pad.FoldMark && k.Along == 0 {
		for _, s := range k.Strokes {
			role := Thin
			if k.Kind == pad.FoldMark {
				role = FoldLine
			}
			p.line(role, small(s.From), small(s.To))
		}
		return
	}
	n := len(k.Strokes)
	for i := range n {
		foot := cut.Add(out.TurnLeft().Scale((float64(i) - float64(n-1)/2) * gap))
		p.line(Notch, foot, foot.Add(out.Scale(-tick)))
	}
	p.sign(pad.Mark{Kind: k.Kind, At: seam, From: seam.Add(out)}, 1.25)
}

// sketchNumbers writes the number of each place outside the cut line, where no other
// number stands.
func (p *pen) sketchNumbers(piece pad.Piece, places []SeamPlace, small func(plane.Point) plane.Point) {
	var taken []plane.Rect
	for _, place := range places {
		i := slices.IndexFunc(piece.Marks, func(k pad.Mark) bool {
			return isPlace(k.Kind) && math.Abs(k.Along-place.Along) < sameAlong
		})
		if i < 0 {
			continue
		}
		k := piece.Marks[i]
		t := Text{Words: fmt.Sprint(place.Number), Size: sketchType, Anchor: Middle}
		out := outward(k)
		for _, aside := range []float64{0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6, -6} {
			t.At = small(k.From).Add(out.Scale(3)).Add(out.TurnLeft().Scale(aside)).Add(plane.Vec{Y: -0.35 * t.Size})
			if !overlapsAny(t.Bounds(), taken) {
				break
			}
		}
		taken = append(taken, t.Bounds())
		p.text(t)
	}
}

func overlapsAny(r plane.Rect, all []plane.Rect) bool {
	return slices.ContainsFunc(all, func(o plane.Rect) bool {
		return r.Min.X < o.Max.X && o.Min.X < r.Max.X && r.Min.Y < o.Max.Y && o.Min.Y < r.Max.Y
	})
}

// sketchSides writes which side is which, and draws the grain arrow.
func (p *pen) sketchSides(piece pad.Piece, inner curve.Path) {
	ring := inner.Flatten(0.1)
	b := inner.Bounds()
	centre := b.Centre()
	if !inner.Contains(centre) {
		return
	}
	for _, s := range sidesOf(piece) {
		reach := distanceAlong(ring, centre, s.direction)
		t := Text{Words: s.words, Size: sketchType, Bold: true, Anchor: Middle}
		if s.direction.X != 0 {
			t.Angle = 90
			t.At = centre.Add(s.direction.Scale(reach - 4.5)).Add(plane.Vec{X: 0.35 * t.Size})
		} else {
			t.At = centre.Add(s.direction.Scale(reach - 4.5)).Add(plane.Vec{Y: -0.35 * t.Size})
		}
		across := s.direction.TurnLeft()
		q := centre.Add(s.direction.Scale(reach - 4.5))
		room := 2 * math.Min(distanceAlong(ring, q, across), distanceAlong(ring, q, across.Neg()))
		if reach > 8 && t.Width() < room-3 {
			p.text(t)
		}
	}
	if piece.Grain != (plane.Vec{}) && b.Height() > 24 {
		half := math.Min(9, 0.2*b.Height())
		q := centre.Add(plane.Vec{X: math.Min(0.22*b.Width(), distanceAlong(ring, centre, plane.Vec{X: 1})-11)})
		p.arrow(GrainLine, q, q.Add(piece.Grain.Scale(half)), 2)
		p.arrow(GrainLine, q, q.Add(piece.Grain.Scale(-half)), 2)
		if piece.Nap != (plane.Vec{}) {
			q = q.Add(plane.Vec{X: -4})
			p.arrow(Sign, q.Add(piece.Nap.Scale(-0.6*half)), q.Add(piece.Nap.Scale(0.6*half)), 2)
		}
	}
	heading := Text{Words: pieceHeading(piece), Size: 4.4, Bold: true, Anchor: Middle, At: centre.Add(plane.Vec{X: -0.06 * b.Width(), Y: -1.5})}
	if w := heading.Width(); w > 0.36*b.Width() {
		heading.Size = math.Max(sketchType, heading.Size*0.36*b.Width()/w)
	}
	if b.Height() > 22 && heading.Width() < 0.42*b.Width() {
		p.text(heading)
	}
}
