package testscene

import (
	"math"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
)

// lightAt returns the rendered linear light at a bench point.
func lightAt(raw *rawPicture, q photo.Point) float64 {
	return float64(raw.light[int(q.Y)*raw.width+int(q.X)])
}

func expectLight(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-3 {
		t.Errorf("%s: light %.4f, want %.4f", what, got, want)
	}
}

func TestOpenLineEndsAtTheSheet(t *testing.T) {
	s := plain()
	s.Kind = OpenLine
	s.Sheet.PlaneFromSheet = plane.Identity()
	top := s.Sheet.HeightMM / 2
	s.Outline = curve.OpenPath(
		curve.Line(plane.Point{X: -180, Y: top}, plane.Point{X: -200, Y: -180}),
		curve.Line(plane.Point{X: -200, Y: -180}, plane.Point{X: 200, Y: -180}),
		curve.Line(plane.Point{X: 200, Y: -180}, plane.Point{X: 180, Y: top}),
	)
	raw, truth := rawLight(s)
	if !truth.Outline.IsClosed() || truth.Outline.Validate() != nil || truth.Outline.Len() != 4 {
		t.Errorf("the truth's outline is not the closed one of 4 pieces")
	}
	ink := s.Sheet.Tone + s.Line.Darkness*(s.Line.Tone-s.Sheet.Tone)
	expectLight(t, "line", lightAt(raw, truth.PhotoFromPlane(plane.Point{X: 0, Y: -180})), ink)
	expectLight(t, "back edge's middle, inside", lightAt(raw, truth.PhotoFromPlane(plane.Point{Y: top - 2})), s.Sheet.Tone)
	expectLight(t, "cap beyond the sheet", lightAt(raw, truth.PhotoFromPlane(plane.Point{X: -180, Y: top + 1.5})), s.Bench.Tone)
}

func TestGapIsWhereItWasAskedFor(t *testing.T) {
	s := plain()
	first := s.Outline.Segment(0)
	length := first.P0.DistanceTo(first.P3)
	s.Line.Gaps = []Gap{{FromMM: 100, LengthMM: 20}}
	raw, truth := rawLight(s)
	ink := s.Sheet.Tone + s.Line.Darkness*(s.Line.Tone-s.Sheet.Tone)
	for _, at := range []struct {
		mm   float64
		want float64
	}{{97.5, ink}, {102, s.Sheet.Tone}, {110, s.Sheet.Tone}, {118, s.Sheet.Tone}, {122.5, ink}} {
		q := truth.PhotoFromPlane(first.At(at.mm / length))
		expectLight(t, "along the first side", lightAt(raw, q), at.want)
	}
}

func TestCutTemplateFillsItsOutline(t *testing.T) {
	s := plain()
	s.Kind, s.Sheet.LiftMM = CutTemplate, 2
	raw, truth := rawLight(s)
	expectLight(t, "middle", lightAt(raw, truth.PhotoFromSheet(plane.Point{X: 7, Y: -9})), s.Sheet.Tone)
	for i := range s.Outline.Len() {
		segment := s.Outline.Segment(i)
		for _, u := range []float64{0.1, 0.5, 0.9} {
			out := segment.Derivative(u).Unit().TurnRight()
			inside := truth.PhotoFromSheet(segment.At(u).Add(out.Scale(-1.5)))
			outside := truth.PhotoFromSheet(segment.At(u).Add(out.Scale(1.5)))
			expectLight(t, "inside", lightAt(raw, inside), s.Sheet.Tone)
			expectLight(t, "outside", lightAt(raw, outside), s.Bench.Tone)
		}
	}
}

// The cut outline's area in the picture: every pixel's share times the bench area
// it sees, against Green's theorem on the flattened path.
func TestCutTemplateHasTheOutlinesArea(t *testing.T) {
	s := plain()
	s.Kind, s.Cards, s.Bench.Tone, s.Sheet.Tone = CutTemplate, nil, 0, 1
	raw, truth := rawLight(s)
	var seen, area float64
	for y := range raw.height {
		for x := range raw.width {
			v := float64(raw.light[y*raw.width+x])
			if v == 0 {
				continue
			}
			a := truth.PlaneFromPhoto(photo.Point{X: float64(x), Y: float64(y) + 0.5})
			b := truth.PlaneFromPhoto(photo.Point{X: float64(x) + 1, Y: float64(y) + 0.5})
			c := truth.PlaneFromPhoto(photo.Point{X: float64(x) + 0.5, Y: float64(y)})
			d := truth.PlaneFromPhoto(photo.Point{X: float64(x) + 0.5, Y: float64(y) + 1})
			seen += v * math.Abs(b.Sub(a).Cross(d.Sub(c)))
		}
	}
	points := flatten(s.Outline)
	for i, p := range points {
		q := points[(i+1)%len(points)]
		area += (p.X*q.Y - q.X*p.Y) / 2
	}
	// 1600 mm of border: 0.002 px of bias (0.001 mm) would show as 1.6 mm².
	if math.Abs(seen-area) > 1.6 {
		t.Errorf("the picture shows %.2f mm², the outline has %.2f", seen, area)
	}
}

func TestCoversAndInkColour(t *testing.T) {
	s := plain()
	s.Line.Tint = Tint{-20, 70}
	s.Covers = []Block{{WidthMM: 40, HeightMM: 200, PlaneFromBlock: s.Cards[0].PlaneFromCard, Tone: 0.5}}
	_, truth := rawLight(s)
	covered := 0
	for _, m := range truth.Cards[0].Marks {
		if m.Covered {
			covered++
		}
	}
	// The strip is 40 mm wide about the card's middle: marks at ±3.5, ±10.5, ±17.5.
	if want := 6 * 13; covered != want {
		t.Errorf("%d marks covered, want %d", covered, want)
	}
	p, truth := s.Photograph()
	q := truth.PhotoFromPlane(s.Outline.Segment(5).At(0.5))
	w, _ := p.ChromaSize()
	if cr := p.Cr[int(q.Y)/2*w+int(q.X)/2]; cr < 150 {
		t.Errorf("Cr on the red line is %d, want over 150", cr)
	}
}

// A lifted card's marks lie where the lifted points project, seen in the light:
// the card's corner moves by lift · tan(angle of view).
func TestLiftedCardMovesWithItsTruth(t *testing.T) {
	s := plain()
	s.Cards = s.Cards[:1]
	s.Cards[0].LiftMM = 30
	raw, truth := rawLight(s)
	for _, out := range []struct{ mm, want float64 }{{-1.5, cardPaper}, {1.5, s.Bench.Tone}} {
		p := s.Cards[0].PlaneFromCard.Apply(plane.Point{X: -44 - out.mm, Y: 20})
		expectLight(t, "card's side", lightAt(raw, truth.PhotoFromBench(p, 30)), out.want)
	}
}

func TestOutlinesAreSmoothAndCounterClockwise(t *testing.T) {
	for name, path := range map[string]curve.Path{"seat": Seat(380, 440, 410, 60, 14), "oval": Oval(380, 350)} {
		if err := path.Validate(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		points := flatten(path)
		var area float64
		for i, p := range points {
			q := points[(i+1)%len(points)]
			area += (p.X*q.Y - q.X*p.Y) / 2
		}
		if area <= 0 {
			t.Errorf("%s: area %.0f mm², want positive", name, area)
		}
	}
	seat := Seat(380, 440, 410, 60, 14)
	for i := range 4 { // the four joins of the rounded front
		a, b := seat.Segment(i).Derivative(1), seat.Segment(i+1).Derivative(0)
		if turn := math.Abs(a.AngleTo(b)); turn > 1e-9 {
			t.Errorf("seat turns by %.3g rad after piece %d", turn, i)
		}
	}
}

// Along a tick's length the ink ends half its length and a round cap either side
// of the outline; writing puts ink on its own stems and nowhere left of them.
func TestTickAndWriting(t *testing.T) {
	s := plain()
	s.Line.Darkness = 0 // only the strokes
	pen := Pen{WidthMM: 1.5, Darkness: 1, Tone: 0.1}
	s.Strokes = append(Writing(plane.Point{X: -60, Y: 20}, 16, 5, pen, 3), Tick(s.Outline, 5, 0.5, 20, pen))
	raw, truth := rawLight(s)
	middle := s.Outline.Segment(5).At(0.5)
	for _, at := range []struct{ mm, want float64 }{{-12, s.Sheet.Tone}, {-9.5, 0.1}, {0, 0.1}, {9.5, 0.1}, {12, s.Sheet.Tone}} {
		q := truth.PhotoFromPlane(middle.Add(plane.Vec{Y: at.mm}))
		expectLight(t, "along the tick", lightAt(raw, q), at.want)
	}
	expectLight(t, "on a stem", lightAt(raw, truth.PhotoFromPlane(plane.Point{X: -60, Y: 22})), 0.1)
	expectLight(t, "left of the word", lightAt(raw, truth.PhotoFromPlane(plane.Point{X: -62, Y: 24})), s.Sheet.Tone)
}
