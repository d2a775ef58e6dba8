package job

import (
	"bytes"
	"fmt"
	"image"
	"image/color"

	"fairedge/internal/card"
	"fairedge/internal/curve"
	"fairedge/internal/detect"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
	"fairedge/internal/render"
	"fairedge/internal/safefile"
)

// pictureSet is the pictures of one run, or why there are none.
type pictureSet struct {
	files []safefile.File
	err   error
}

// jpegQuality of the pictures for people: no visible loss at phone size, a third of
// the size of 95.
const jpegQuality = 85

// checkPictures draws the photo, and the same seen square on, with all that was
// found.
func checkPictures(m *Measured, label Label) pictureSet {
	factor, reduced := m.reduced.factor, m.reduced.picture()
	inPhoto := render.Check{
		Base: reduced, PerPixel: float64(factor), Marks: marksFound(m.Sightings), Caption: caption(m, label),
		Outline: m.outlineThrough(m.Calibration.PhotoFromPlane),
	}
	inPhoto.Samples, inPhoto.Bridged = samplesThrough(m, m.Calibration.PhotoFromPlane)
	inPhoto.Labels = m.labels(m.Calibration.PhotoFromPlane)
	var band band
	if label.Band {
		band = m.band()
		inPhoto.Caption.Band = band.words
		inPhoto.Band = band.through(m.Calibration.PhotoFromPlane)
	}
	first := make(chan pictureSet, 1)
	go func() { first <- onePicture("check.jpg", inPhoto) }()
	view := m.straighten(reduced, factor)
	viewFromPlane := func(p plane.Point) photo.Point { return view.viewFromSeat(m.Shape.SeatFromPlane.Apply(p)) }
	squareOn := render.Check{
		Base: view.Image, PerPixel: 1, Caption: inPhoto.Caption,
		Outline: m.outlineThrough(viewFromPlane), Labels: m.labels(viewFromPlane), Band: band.through(viewFromPlane),
	}
	squareOn.Samples, squareOn.Bridged = samplesThrough(m, viewFromPlane)
	second := onePicture("straightened.jpg", squareOn)
	set := <-first
	set.files = append(set.files, second.files...)
	if set.err == nil {
		set.err = second.err
	}
	return set
}

func onePicture(name string, c render.Check) pictureSet {
	var set pictureSet
	set.add(name, c)
	return set
}

func (s *pictureSet) add(name string, c render.Check) {
	if s.err != nil {
		return
	}
	img, err := render.CheckPicture(c)
	if err == nil {
		err = s.encode(name, img)
	}
	if err != nil {
		s.err = fmt.Errorf("drawing %s: %w", name, err)
	}
}

func (s *pictureSet) encode(name string, img *image.RGBA) error {
	var out bytes.Buffer
	if err := photo.EncodeJPEG(&out, img, jpegQuality); err != nil {
		return err
	}
	s.files = append(s.files, safefile.File{Name: name, Data: out.Bytes()})
	return nil
}

func caption(m *Measured, label Label) render.Caption {
	s := m.Shape.Size
	return render.Caption{
		Title: label.Name, Width: s.Width, Depth: s.Depth, Perimeter: s.Perimeter, AreaMM2: s.AreaMM2,
		Accuracy: AccuracySentence(m), Warnings: Warnings(m),
	}
}

func marksFound(sightings []detect.Sighting) []photo.Point {
	var out []photo.Point
	for _, s := range sightings {
		for _, mark := range s.Marks {
			out = append(out, mark.Photo)
		}
	}
	return out
}

// outlineSpacing and sampleSpacing are distances in millimetres of the places that
// pictures draw.
const (
	outlineSpacing = 2.0
	sampleSpacing  = 6.0
)

func (m *Measured) outlineThrough(pictureFromPlane func(plane.Point) photo.Point) []photo.Point {
	points := m.outlinePoints(outlineSpacing)
	out := make([]photo.Point, len(points))
	for i, p := range points {
		out[i] = pictureFromPlane(p)
	}
	return out
}

// samplesThrough returns every few millimetres of the edge as it was seen, and all
// of it that was not.
func samplesThrough(m *Measured, pictureFromPlane func(plane.Point) photo.Point) (seen, bridged []photo.Point) {
	var last plane.Point
	for i, s := range m.Traced.Samples {
		if i > 0 && s.At.DistanceTo(last) < sampleSpacing {
			continue
		}
		last = s.At
		if s.Bridged {
			bridged = append(bridged, pictureFromPlane(s.At))
		} else {
			seen = append(seen, pictureFromPlane(s.At))
		}
	}
	return seen, bridged
}

// labels names the cards and the back in a picture.
func (m *Measured) labels(pictureFromPlane func(plane.Point) photo.Point) []render.PointLabel {
	var out []render.PointLabel
	for _, c := range m.Calibration.Cards {
		out = append(out, render.PointLabel{At: pictureFromPlane(c.PlaneFromCard.Apply(plane.Point{})), Words: c.Name})
	}
	planeFromSeat := m.Shape.SeatFromPlane.Inverse()
	back := planeFromSeat.Apply(plane.Point{Y: -backLabelInset})
	return append(out, render.PointLabel{At: pictureFromPlane(back), Words: "back"})
}

// backLabelInset is how far inside the back edge its name stands, mm.
const backLabelInset = 25.0

// The colours of debug pictures.
var (
	debugMarks = color.NRGBA{120, 255, 190, 255}
	debugEdge  = color.NRGBA{86, 200, 255, 255}
	debugLine  = color.NRGBA{255, 214, 10, 255}
)

// DebugPictures draws what a stage has just found, numbered from n.
func DebugPictures(e Evidence, n int) ([]safefile.File, error) {
	var set pictureSet
	m := e.So
	name := func(what string) string { return fmt.Sprintf("%02d-%s.jpg", n+len(set.files), what) }
	switch e.Stage {
	case stageRead:
		if m.Photo != nil {
			set.overPhoto(name("upright"), m)
		}
	case stageCards:
		set.overPhoto(name("cards"), m, render.Layer{Ink: debugMarks, Points: marksFound(m.Sightings), Crosses: true, Labels: sightingLabels(m)})
	case stageCamera:
		if m.Calibration != nil {
			set.overPhoto(name("camera"), m, m.cardBorders())
		}
	case stageEdge:
		set.edge(name, m)
	case stageFair:
		if !m.Fair.Path.IsEmpty() {
			set.overPhoto(name("outline"), m, render.Layer{Ink: debugLine, Lines: []render.Line{{Points: m.outlineThrough(m.Calibration.PhotoFromPlane), Closed: true}}})
		}
	}
	return set.files, set.err
}

func (s *pictureSet) overPhoto(name string, m *Measured, layers ...render.Layer) {
	img, err := render.DebugPicture(m.reduced.picture(), float64(m.reduced.factor), layers...)
	if err == nil {
		err = s.encode(name, img)
	}
	if s.err == nil {
		s.err = err
	}
}

// edge draws the squared-up view that was searched, its lines, and what was
// measured along the edge.
func (s *pictureSet) edge(name func(string) string, m *Measured) {
	for what, grey := range []*image.Gray{m.EdgeSearch.View, m.EdgeSearch.Skeleton} {
		if grey == nil {
			continue
		}
		if err := s.encode(name([]string{"bench-view", "lines"}[what]), colourOf(grey)); err != nil && s.err == nil {
			s.err = err
		}
	}
	seen := make([]photo.Point, len(m.Edge.Samples))
	for i, e := range m.Edge.Samples {
		seen[i] = e.Centre
	}
	if len(seen) > 0 {
		s.overPhoto(name("edge"), m, render.Layer{Ink: debugEdge, Points: seen})
	}
}

func colourOf(grey *image.Gray) *image.RGBA {
	b := grey.Bounds()
	out := image.NewRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	for y := range b.Dy() {
		for x := range b.Dx() {
			g := grey.Pix[y*grey.Stride+x]
			copy(out.Pix[out.PixOffset(x, y):], []uint8{g, g, g, 255})
		}
	}
	return out
}

func sightingLabels(m *Measured) []render.PointLabel {
	var out []render.PointLabel
	for _, s := range m.Sightings {
		if len(s.Marks) > 0 {
			out = append(out, render.PointLabel{At: s.Marks[len(s.Marks)/2].Photo, Words: s.Card.String()})
		}
	}
	return out
}

// cardBorders returns the border of every card where the fitted camera sees it.
func (m *Measured) cardBorders() render.Layer {
	layer := render.Layer{Ink: debugLine}
	for _, s := range m.Sightings {
		d, err := card.DesignOf(s.Card)
		if err != nil {
			continue
		}
		for _, c := range m.Calibration.Cards {
			if c.Name != s.Card.String() {
				continue
			}
			w, h := d.Width/2, d.Height/2
			border := curve.Polygon(plane.Point{X: -w, Y: -h}, plane.Point{X: w, Y: -h}, plane.Point{X: w, Y: h}, plane.Point{X: -w, Y: h})
			var line render.Line
			line.Closed = true
			for _, p := range every(border.Transform(c.PlaneFromCard), outlineSpacing) {
				line.Points = append(line.Points, m.Calibration.PhotoFromPlane(p))
			}
			layer.Lines = append(layer.Lines, line)
		}
	}
	return layer
}
