package testscene

import (
	"fairedge/internal/card"
	"fairedge/internal/curve"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// Truth is what a scene's photo really shows.
type Truth struct {
	Outline curve.Path // closed, mm, counter-clockwise
	Cards   []CardTruth
	view    projection
	sheetZ  float64
}

// CardTruth is one card and its marks in the order of card.Design.Marks.
type CardTruth struct {
	Card          card.ID
	PlaneFromCard plane.Rigid
	LiftMM        float64
	Marks         []MarkTruth
}

// MarkTruth is one mark of a card in the photo.
type MarkTruth struct {
	At        card.Lattice
	Plane     plane.Point // where it lies, bench frame, mm
	Photo     photo.Point // exact
	InPicture bool
	Covered   bool // by one of Scene.Covers
}

// PhotoFromPlane returns the pixel that sees the point p of the bench itself:
// pinhole and Brown distortion, exact to rounding.
func (t Truth) PhotoFromPlane(p plane.Point) photo.Point { return t.view.photoFromBench(p, 0) }

// PhotoFromBench returns the pixel that sees the point z mm above p.
func (t Truth) PhotoFromBench(p plane.Point, z float64) photo.Point {
	return t.view.photoFromBench(p, z)
}

// PhotoFromSheet returns the pixel that sees the point p of the sheet's upper side.
func (t Truth) PhotoFromSheet(p plane.Point) photo.Point {
	return t.view.photoFromBench(p, t.sheetZ)
}

// PlaneFromPhoto returns the bench point that pixel q sees, to 1e-9 px; NaN above
// the horizon.
func (t Truth) PlaneFromPhoto(q photo.Point) plane.Point {
	p, _ := t.view.benchFromPhoto(q)
	return p
}

// MMPerPixel returns the length on the bench of a horizontal pixel step at p.
func (t Truth) MMPerPixel(p plane.Point) float64 {
	q := t.PhotoFromPlane(p)
	left := t.PlaneFromPhoto(photo.Point{X: q.X - 0.5, Y: q.Y})
	return left.DistanceTo(t.PlaneFromPhoto(photo.Point{X: q.X + 0.5, Y: q.Y}))
}

// truthOf works the truth out; it draws nothing.
func (s Scene) truthOf(view projection) Truth {
	t := Truth{Outline: closedOutline(s), view: view, sheetZ: s.Sheet.LiftMM}
	for _, c := range s.Cards {
		t.Cards = append(t.Cards, s.cardTruth(view, c))
	}
	return t
}

func closedOutline(s Scene) curve.Path {
	if s.Kind != OpenLine || s.Outline.IsEmpty() {
		return s.Outline
	}
	segments := s.Outline.Segments()
	chord := curve.Line(segments[len(segments)-1].P3, segments[0].P0)
	return curve.ClosedPath(append(segments, chord)...)
}

func (s Scene) cardTruth(view projection, c Placement) CardTruth {
	ct := CardTruth{Card: c.Card, PlaneFromCard: c.PlaneFromCard, LiftMM: c.LiftMM}
	design, err := card.DesignOf(c.Card)
	if err != nil {
		panic(err) // a fault in the test that built the scene
	}
	for _, at := range design.Marks() {
		p := c.planeFromArtwork(design.Mark(at.I, at.J))
		m := MarkTruth{At: at, Plane: p, Photo: view.photoFromBench(p, c.LiftMM)}
		m.InPicture = m.Photo.X >= 0 && m.Photo.Y >= 0 &&
			m.Photo.X <= float64(view.cam.Width) && m.Photo.Y <= float64(view.cam.Height)
		m.Covered = s.isCovered(view, m.Photo)
		ct.Marks = append(ct.Marks, m)
	}
	return ct
}

func (s Scene) isCovered(view projection, q photo.Point) bool {
	p, ok := view.benchFromPhoto(q)
	for _, b := range s.Covers {
		r := newRectArea(b.WidthMM, b.HeightMM, b.PlaneFromBlock)
		if a, _ := r.cover(view.lifted(p, b.LiftMM), footprint{}); ok && a > 0 {
			return true
		}
	}
	return false
}

// planeFromArtwork places a point of the ideal card: printer's scale, then motion.
func (c Placement) planeFromArtwork(p plane.Point) plane.Point {
	sx, sy := c.scales()
	return c.PlaneFromCard.Apply(plane.Point{X: p.X * sx, Y: p.Y * sy})
}

func (c Placement) scales() (float64, float64) {
	sx, sy := c.ScaleX, c.ScaleY
	if sx == 0 {
		sx = 1
	}
	if sy == 0 {
		sy = 1
	}
	return sx, sy
}
