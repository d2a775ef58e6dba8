package detect_test

import (
	"fmt"
	"math"
	"os"
	"sort"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/detect"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/testscene"
)

// small is the everyday scene at a sixth of the pixels (0.6 mm per pixel), so that
// a table of scenes runs in seconds; FAIREDGE_SLOW=1 renders 12 MP and all rows.
func small() testscene.Scene {
	s := testscene.Workbench()
	if os.Getenv("FAIREDGE_SLOW") == "" {
		s.Camera = s.Camera.Scaled(0.4)
	}
	return s
}

// sightings are the cards as a perfect finder would see them.
func sightings(truth testscene.Truth) []detect.Sighting {
	var all []detect.Sighting
	for _, c := range truth.Cards {
		s := detect.Sighting{Card: c.Card}
		for _, m := range c.Marks {
			if m.InPicture && !m.Covered {
				s.Marks = append(s.Marks, detect.Mark{At: m.At, Photo: m.Photo, Sigma: 0.05})
			}
		}
		if len(s.Marks) > 8 {
			all = append(all, s)
		}
	}
	return all
}

// flat returns a closed outline as points no further than 0.3 mm apart; its
// chords depart from a curve of radius 30 mm by 0.0004 mm.
func flat(p curve.Path) []plane.Point {
	var out []plane.Point
	for i := range p.Len() {
		s := p.Segment(i)
		n := int(s.P0.DistanceTo(s.P3)/0.25) + 50
		for k := range n {
			out = append(out, s.At(float64(k)/float64(n)))
		}
	}
	return out
}

// outward returns how far q lies outside a counter-clockwise outline.
func outward(outline []plane.Point, q plane.Point) float64 {
	best, signed := math.Inf(1), 0.0
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if a.DistanceSqTo(q) > best*best+4*best+4 && b.DistanceSqTo(q) > best*best+4*best+4 {
			continue
		}
		along := b.Sub(a)
		t := 0.0
		if l := along.LengthSq(); l > 0 {
			t = math.Max(0, math.Min(1, q.Sub(a).Dot(along)/l))
		}
		near := a.Add(along.Scale(t))
		if d := near.DistanceTo(q); d < best {
			best, signed = d, math.Copysign(d, along.Cross(near.Sub(q)))
		}
	}
	return signed
}

// misses are how far, in mm outward, a traced edge lies off the truth.
type misses struct {
	median, rms, p95, worst float64
	worstAt                 plane.Point
	coverage                float64 // greatest distance from the truth to the nearest sample
	measured, bridged       []float64
}

func missesOf(edge detect.Edge, truth testscene.Truth) misses {
	outline := flat(truth.Outline)
	var m misses
	var all, sizes []float64
	var places []plane.Point
	for _, s := range edge.Samples {
		p := truth.PlaneFromPhoto(s.Centre)
		places = append(places, p)
		d := outward(outline, p)
		all, sizes = append(all, d), append(sizes, math.Abs(d))
		m.rms += d * d
		if math.Abs(d) > math.Abs(m.worst) {
			m.worst, m.worstAt = d, p
		}
		if s.Bridged {
			m.bridged = append(m.bridged, d)
		} else {
			m.measured = append(m.measured, d)
		}
	}
	for i := 0; i < len(outline); i += 4 {
		best := math.Inf(1)
		for _, p := range places {
			best = math.Min(best, p.DistanceTo(outline[i]))
		}
		m.coverage = math.Max(m.coverage, best)
	}
	sort.Float64s(all)
	sort.Float64s(sizes)
	m.rms = math.Sqrt(m.rms / float64(len(all)))
	m.median, m.p95 = all[len(all)/2], sizes[len(all)*95/100]
	return m
}

func (m misses) String() string {
	return fmt.Sprintf("median %+.4f rms %.4f p95 %.4f worst %+.3f mm at (%.0f, %.0f), nothing within %.2f", m.median, m.rms, m.p95, m.worst, m.worstAt.X, m.worstAt.Y, m.coverage)
}

// edgeScene is one row of the table: a scene, what must come out, and how close.
type edgeScene struct {
	name       string
	change     func(s *testscene.Scene)
	request    detect.EdgeRequest
	kind       detect.EdgeKind
	ticks      int
	rms, worst float64 // mm
	bridged    bool
	slow       bool // only with FAIREDGE_SLOW=1
}

func stroke(width, darkness, tone float64, points ...plane.Point) testscene.Stroke {
	var segments []curve.Segment
	for i := 1; i < len(points); i++ {
		segments = append(segments, curve.Line(points[i-1], points[i]))
	}
	return testscene.Stroke{Path: curve.OpenPath(segments...), OnSheet: true,
		Pen: testscene.Pen{WidthMM: width, Darkness: darkness, Tone: tone}}
}

func centreTick(s *testscene.Scene, length float64) {
	s.Strokes = append(s.Strokes, stroke(1.2, 0.95, 0.03, plane.Point{X: 3, Y: 205 - length/2}, plane.Point{X: 4, Y: 205 + length/2}))
}

// The bounds in mm: 0.05 px rms is the goal for an ideal line of blur 1.5 px and
// signal to noise 20; these photos have 0.6 mm pixels (0.24 when slow), so rms
// 0.05 mm is a twelfth of a pixel. A gap of 30 mm may cost 0.3 mm, a scribble 0.3 mm.
func edgeScenes() []edgeScene {
	at := func(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }
	return []edgeScene{
		{name: "centre tick", kind: detect.Line, ticks: 1, rms: 0.05, worst: 0.3,
			change: func(s *testscene.Scene) { centreTick(s, 22) }},
		{name: "pencil", slow: true, kind: detect.Line, rms: 0.08, worst: 0.4,
			change: func(s *testscene.Scene) {
				s.Line = testscene.Pen{WidthMM: 0.7, Darkness: 0.55, Tone: 0.15}
				s.Sensor.NoiseShare = 0.006
			}},
		{name: "blue pen on kraft in shadow", kind: detect.Line, rms: 0.05, worst: 0.3,
			change: func(s *testscene.Scene) {
				s.Sheet.Tone, s.Sheet.Tint = 0.35, testscene.Tint{Cb: -25, Cr: 12}
				s.Line.Tint, s.Line.Tone = testscene.Tint{Cb: 50, Cr: -20}, 0.06
				s.Shadows = []testscene.Shadow{{Through: at(60, 0), Along: plane.Vec{X: 0.3, Y: 1}, Depth: 0.6, SoftMM: 40}}
			}},
		{name: "film on dark wood", slow: true, kind: detect.Line, rms: 0.06, worst: 0.4,
			change: func(s *testscene.Scene) {
				s.Sheet.Opacity, s.Bench.Tone = 0.5, 0.1
			}},
		{name: "gaps of 5, 15 and 30 mm", kind: detect.Line, rms: 0.06, worst: 0.35, bridged: true,
			change: func(s *testscene.Scene) {
				s.Line.Gaps = []testscene.Gap{{FromMM: 150, LengthMM: 5}, {FromMM: 600, LengthMM: 15}, {FromMM: 1000, LengthMM: 30}}
			}},
		{name: "writing that touches the line", kind: detect.Line, rms: 0.06, worst: 0.35,
			change: func(s *testscene.Scene) {
				s.Strokes = append(s.Strokes,
					stroke(0.9, 0.95, 0.03, at(-100, 190), at(-95, 206), at(-88, 190), at(-80, 205.5), at(-76, 203), at(-74, 190)),
					stroke(0.9, 0.95, 0.03, at(-202, 0), at(-190, 8), at(-203, 20), at(-190, 30)),
					stroke(0.9, 0.95, 0.03, at(100, 150), at(100, 100), at(120, 110), at(100, 125)))
			}},
		{name: "faint second outline", slow: true, kind: detect.Line, rms: 0.05, worst: 0.4,
			change: func(s *testscene.Scene) {
				second := testscene.Seat(380, 440, 410, 60, 14).Transform(plane.RigidFromAngle(0.012, plane.Vec{X: 4, Y: -3}))
				s.Strokes = append(s.Strokes, testscene.Stroke{Path: second, OnSheet: true, Pen: testscene.Pen{WidthMM: 0.6, Darkness: 0.35, Tone: 0.2}})
			}},
		{name: "centre line from back to front", slow: true, kind: detect.Line, rms: 0.06, worst: 0.4,
			change: func(s *testscene.Scene) {
				s.Strokes = append(s.Strokes, stroke(1.2, 0.95, 0.03, at(0, 205), at(2, -219)))
			}},
		{name: "cut card on a mat", kind: detect.Cut, rms: 0.08, worst: 0.5,
			change: func(s *testscene.Scene) {
				s.Kind = testscene.CutTemplate
				s.Bench.Mat = &testscene.Mat{WidthMM: 600, HeightMM: 450, PlaneFromMat: plane.RigidFromAngle(0.02, plane.Vec{}),
					Tone: 0.12, LineTone: 0.4, GridMM: 10, LineMM: 0.4, Tint: testscene.Tint{Cb: -5, Cr: -25}}
			}},
		{name: "cut template with a card on it", slow: true, kind: detect.Cut, rms: 0.08, worst: 0.5,
			change: func(s *testscene.Scene) {
				s.Kind = testscene.CutTemplate
				s.Cards = []testscene.Placement{testscene.PlacedCard(1, 1, -80, 30, 20), testscene.PlacedCard(1, 2, 90, -30, -20)}
			}},
		{name: "line from the sheet's edge", kind: detect.OpenLine, rms: 0.08, worst: 0.6, change: openAtBack},
		{name: "steep and low", slow: true, kind: detect.Line, rms: 0.08, worst: 0.5,
			change: func(s *testscene.Scene) {
				s.Camera.TiltDeg, s.Camera.AzimuthDeg, s.Camera.DistanceMM = 38, 30, 900
			}},
		{name: "dim light", slow: true, kind: detect.Line, rms: 0.1, worst: 0.5,
			change: func(s *testscene.Scene) {
				s.Sensor.NoiseShare, s.Sensor.JPEG, s.Sensor.Exposure = 0.04, 70, 0.5
			}},
		{name: "sharpened, JPEG 70, quarter turn", slow: true, kind: detect.Line, rms: 0.06, worst: 0.4,
			change: func(s *testscene.Scene) {
				s.Sensor.Sharpen, s.Sensor.JPEG, s.Camera.RollDeg = 0.8, 70, 88
			}},
		{name: "a card over the line's edge", slow: true, kind: detect.Line, rms: 0.15, worst: 1.5, bridged: true,
			change: func(s *testscene.Scene) {
				s.Cards = append(s.Cards[:2], testscene.PlacedCard(1, 3, -268, 40, 45))
			}},
		{name: "pencil on kraft", slow: true, kind: detect.Line, rms: 0.1, worst: 0.5,
			change: func(s *testscene.Scene) {
				s.Sheet.Tone, s.Sheet.Tint = 0.35, testscene.Tint{Cb: -25, Cr: 12}
				s.Line = testscene.Pen{WidthMM: 0.7, Darkness: 0.6, Tone: 0.1}
				s.Sensor.NoiseShare = 0.006
			}},
		{name: "red pen, 3 mm, white bench", slow: true, kind: detect.Line, rms: 0.06, worst: 0.4,
			change: func(s *testscene.Scene) {
				s.Bench.Tone = 0.8
				s.Line = testscene.Pen{WidthMM: 3, Darkness: 0.9, Tone: 0.2, Tint: testscene.Tint{Cb: -20, Cr: 70}}
			}},
		{name: "cut kraft on oak", slow: true, kind: detect.Cut, rms: 0.12, worst: 0.8,
			change: func(s *testscene.Scene) {
				s.Kind = testscene.CutTemplate
				s.Sheet.Tone, s.Sheet.Tint = 0.42, testscene.Tint{Cb: -20, Cr: 10}
				s.Bench.Tone = 0.25
			}},
		{name: "cut dark template on a pale bench", slow: true, kind: detect.Cut, rms: 0.08, worst: 0.5,
			change: func(s *testscene.Scene) {
				s.Kind = testscene.CutTemplate
				s.Sheet.Tone, s.Bench.Tone = 0.1, 0.6
			}},
		{name: "stool", slow: true, kind: detect.Line, ticks: 1, rms: 0.05, worst: 0.3,
			change: func(s *testscene.Scene) {
				s.Outline = testscene.Oval(380, 360)
				s.Strokes = append(s.Strokes, stroke(1, 0.95, 0.03, plane.Point{X: -2, Y: 168}, plane.Point{X: 2, Y: 192}))
			}},
		{name: "arrows and words inside", slow: true, kind: detect.Line, ticks: 1, rms: 0.05, worst: 0.4,
			change: func(s *testscene.Scene) {
				centreTick(s, 15)
				s.Strokes = append(s.Strokes,
					stroke(1.5, 0.95, 0.03, at(0, -100), at(0, 100), at(-20, 70)),
					stroke(1.5, 0.95, 0.03, at(-120, 60), at(-60, 60), at(-60, 120), at(-120, 120), at(-120, 60)),
					stroke(1.5, 0.95, 0.03, at(60, -60), at(120, -60), at(150, -120), at(60, -120), at(60, -60)))
			}},
		{name: "ruler and scissors beside", slow: true, kind: detect.Line, rms: 0.05, worst: 0.3,
			change: func(s *testscene.Scene) {
				s.Rulers = []testscene.Block{{WidthMM: 300, HeightMM: 30, PlaneFromBlock: plane.RigidFromAngle(0.3, plane.Vec{X: 20, Y: -100}), Tone: 0.5}}
				s.Covers = []testscene.Block{{WidthMM: 150, HeightMM: 6, PlaneFromBlock: plane.RigidFromAngle(1.2, plane.Vec{X: 130, Y: 60}), Tone: 0.05}}
			}},
	}
}

// openAtBack lets the line run from the sheet's far edge round to the same edge.
func openAtBack(s *testscene.Scene) {
	s.Kind = testscene.OpenLine
	segments := s.Outline.Segments()
	s.Outline = curve.OpenPath(segments[:len(segments)-1]...)
	s.Sheet = testscene.Sheet{WidthMM: 540, HeightMM: 480, PlaneFromSheet: plane.RigidFromAngle(0, plane.Vec{Y: 205 - 240}), Tone: 0.85, Opacity: 1, Grain: 0.01}
}

func TestTracedEdgeOnKnownScenes(t *testing.T) {
	for _, c := range edgeScenes() {
		if c.slow && os.Getenv("FAIREDGE_SLOW") == "" {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			s := small()
			if c.change != nil {
				c.change(&s)
			}
			picture, truth := s.Photograph()
			edge, evidence, err := detect.TracedEdge(&picture, truth, sightings(truth), c.request, detect.DefaultEdgeParams())
			dumpEdge(t, &picture, edge, evidence)
			if err != nil {
				t.Fatalf("%v; tried %q", err, evidence.Tried)
			}
			m := missesOf(edge, truth)
			t.Logf("%v; %d samples, %d strayed, %.0f mm bridged, %d ticks, width %.2f, blur %.2f", m, len(edge.Samples), evidence.Strayed, evidence.BridgedMM, len(edge.Ticks), evidence.LineWidthMM, evidence.BlurPx)
			if edge.Kind != c.kind {
				t.Errorf("kind %v, want %v", edge.Kind, c.kind)
			}
			if m.rms > c.rms || math.Abs(m.worst) > c.worst || m.coverage > 1.5 {
				t.Errorf("%v; want rms %.2f, worst %.2f", m, c.rms, c.worst)
			}
			if len(edge.Ticks) != c.ticks {
				t.Errorf("%d ticks, want %d", len(edge.Ticks), c.ticks)
			}
			if (len(m.bridged) > 0) != c.bridged {
				t.Errorf("%d samples bridged, want some: %v", len(m.bridged), c.bridged)
			}
			checkOrder(t, edge, truth)
		})
	}
}

// checkOrder holds that samples go round once, counter-clockwise, evenly.
func checkOrder(t *testing.T, edge detect.Edge, truth testscene.Truth) {
	t.Helper()
	n := len(edge.Samples)
	area, longest := 0.0, 0.0
	for i := range n {
		a, b := truth.PlaneFromPhoto(edge.Samples[i].Centre), truth.PlaneFromPhoto(edge.Samples[(i+1)%n].Centre)
		area += (a.X*b.Y - a.Y*b.X) / 2
		longest = math.Max(longest, a.DistanceTo(b))
	}
	want := 0.0
	outline := flat(truth.Outline)
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		want += (a.X*b.Y - a.Y*b.X) / 2
	}
	if math.Abs(area-want) > 0.002*want {
		t.Errorf("samples enclose %.0f mm², the outline %.0f mm²", area, want)
	}
	if longest > 2 {
		t.Errorf("samples up to %.2f mm apart, want about 0.8", longest)
	}
}

func TestNoEdgeSaysWhy(t *testing.T) {
	cases := []struct {
		name   string
		change func(s *testscene.Scene)
		kind   problem.Kind
	}{
		{"a gap of 80 mm", func(s *testscene.Scene) {
			s.Line.Gaps = []testscene.Gap{{FromMM: 600, LengthMM: 80}}
			s.Sheet.WidthMM, s.Sheet.HeightMM = 1200, 1200
		}, problem.NoOutline},
		{"leaves the photo", func(s *testscene.Scene) {
			s.Camera.LookAt = plane.Point{X: 0, Y: 190}
			s.Cards = s.Cards[:2]
		}, problem.OutlineCutOff},
		{"nothing but a bench", func(s *testscene.Scene) {
			s.Line.Darkness, s.Sheet.WidthMM, s.Sheet.HeightMM = 0, 1, 1
		}, problem.NoOutline},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := small()
			c.change(&s)
			picture, truth := s.Photograph()
			edge, evidence, err := detect.TracedEdge(&picture, truth, sightings(truth), detect.EdgeRequest{}, detect.DefaultEdgeParams())
			dumpEdge(t, &picture, edge, evidence)
			t.Log(err)
			if got := problem.KindOf(err); err == nil || got != c.kind {
				t.Errorf("got %v (%v), want %v; tried %q", got, err, c.kind, evidence.Tried)
			}
		})
	}
}

func TestTwoOutlinesAskWhich(t *testing.T) {
	s := small()
	s.Outline = testscene.Seat(380, 440, 410, 60, 14)
	inner := testscene.Oval(230, 240)
	s.Strokes = append(s.Strokes, testscene.Stroke{Path: inner, OnSheet: true, Pen: s.Line})
	picture, truth := s.Photograph()
	_, _, err := detect.TracedEdge(&picture, truth, sightings(truth), detect.EdgeRequest{}, detect.DefaultEdgeParams())
	if problem.KindOf(err) != problem.AmbiguousOutline {
		t.Fatalf("two equal outlines: got %v, want a question", err)
	}
	inside := truth.PhotoFromPlane(plane.Point{X: 170, Y: 0})
	edge, _, err := detect.TracedEdge(&picture, truth, sightings(truth), detect.EdgeRequest{Inside: &inside}, detect.DefaultEdgeParams())
	if err != nil {
		t.Fatal(err)
	}
	if m := missesOf(edge, truth); m.rms > 0.05 {
		t.Errorf("the outline pointed to: %v", m)
	}
}

func dumpEdge(t *testing.T, p *photo.Photo, edge detect.Edge, evidence detect.EdgeEvidence) {
	if dump != nil {
		dump(t, p, edge, evidence)
	}
}

var dump func(t *testing.T, p *photo.Photo, edge detect.Edge, evidence detect.EdgeEvidence)
