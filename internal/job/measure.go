package job

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"fairedge/internal/card"
	"fairedge/internal/curve"
	"fairedge/internal/detect"
	"fairedge/internal/length"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
)

// Measured is everything that one photo says of a seat, stage by stage.
type Measured struct {
	Photo       *photo.Photo
	Sightings   []detect.Sighting
	Cards       detect.CardEvidence
	Calibration *measure.Calibration
	Edge        detect.Edge
	EdgeSearch  detect.EdgeEvidence
	Side        measure.Side
	Prints      []card.Print
	Profile     *measure.LensProfile // the lens profile that was tried; nil = none
	Traced      measure.Traced
	Fair        curve.Fair // plane frame
	Shape       shape.Shape
	Tape        *Tape // nil when no size was taped
	Budget      measure.Budget
	Advice      []measure.Advice // what would make the photo better, greatest gain first
	Several     *Several         // nil when there is one photo

	TemplateHeight, Ask length.Length // as told
	Timings             []Timing

	reduced *reducedPhoto // the photo for people
}

// Timing is how long one stage took.
type Timing struct {
	Stage string
	Took  time.Duration
}

// Evidence is what a stage has just added to the result.
type Evidence struct {
	Stage string
	So    *Measured // the stages after this one are still zero
}

// ShapeFromPhoto measures the seat in the photo at path. Failures are
// problem.Errors with the path before them.
func ShapeFromPhoto(ctx context.Context, path string, reading Reading, watch Watcher) (*Measured, error) {
	m := &Measured{Side: reading.Side, Prints: reading.Prints, TemplateHeight: reading.TemplateHeight, Ask: reading.Ask}
	stages := append([]stage{{stageRead, func() error { return m.readPhoto(ctx, path, reading) }}}, m.stages(reading)...)
	if err := m.run(ctx, stages, watch); err != nil {
		if strings.Contains(err.Error(), path) {
			return nil, err
		}
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return m, nil
}

// ShapeFromPicture is ShapeFromPhoto for a picture that is already in memory.
func ShapeFromPicture(ctx context.Context, p *photo.Photo, reading Reading, watch Watcher) (*Measured, error) {
	m := &Measured{Photo: p, reduced: startReducing(p), Side: reading.Side, Prints: reading.Prints, TemplateHeight: reading.TemplateHeight, Ask: reading.Ask}
	if err := m.run(ctx, m.stages(reading), watch); err != nil {
		return nil, err
	}
	return m, nil
}

// The names of the stages, as a person sees them.
const (
	stageRead   = "reading the photo"
	stageCards  = "finding the cards"
	stageCamera = "placing the camera"
	stageEdge   = "finding the edge"
	stageFair   = "fairing the outline"
	stageTape   = "comparing with the tape"
	stageJudge  = "judging the accuracy"
	stageCoach  = "looking for what would help"
)

type stage struct {
	name string
	run  func() error
}

func (m *Measured) stages(reading Reading) []stage {
	stages := []stage{
		{stageCards, m.findCards},
		{stageCamera, func() error { return m.calibrate(reading) }},
		{stageEdge, func() error { return m.traceEdge(reading) }},
		{stageFair, func() error { return m.fairOutline(reading) }},
	}
	if len(reading.Taped) > 0 {
		stages = append(stages, stage{stageTape, func() error { return m.compareTape(reading) }})
	}
	return append(stages, stage{stageJudge, m.judge}, stage{stageCoach, m.coach})
}

func (m *Measured) run(ctx context.Context, stages []stage, watch Watcher) error {
	for _, s := range stages {
		if err := ctx.Err(); err != nil {
			return problem.New(problem.Cancelled, "stopped before "+s.name, "nothing was written").Because(err)
		}
		watch.Stage(s.name)
		start := time.Now()
		err := s.run()
		m.Timings = append(m.Timings, Timing{s.name, time.Since(start)})
		watch.Evidence(Evidence{s.name, m})
		if err != nil {
			return err
		}
	}
	return nil
}

func (m *Measured) readPhoto(ctx context.Context, path string, reading Reading) (err error) {
	if m.Photo, err = photo.Read(ctx, path, reading.Limits); err == nil {
		m.reduced = startReducing(m.Photo)
	}
	return err
}

func (m *Measured) findCards() (err error) {
	m.Sightings, m.Cards, err = detect.Cards(m.Photo, detect.DefaultCardParams())
	return err
}

func (m *Measured) calibrate(reading Reading) (err error) {
	if m.Profile, err = reading.profileFor(m.Photo); err != nil {
		return err
	}
	m.Calibration, err = measure.Calibrate(measure.Input{
		Sightings: m.Sightings, Width: m.Photo.Width, Height: m.Photo.Height, Lens: m.Photo.Lens,
		Prints: reading.Prints, TemplateHeight: reading.TemplateHeight,
		Profile: m.Profile,
	})
	return err
}

func (m *Measured) traceEdge(reading Reading) (err error) {
	request := detect.EdgeRequest{Kind: reading.Kind, Inside: reading.Inside}
	m.Edge, m.EdgeSearch, err = detect.TracedEdge(m.Photo, m.Calibration, m.Sightings, request, detect.DefaultEdgeParams())
	if err == nil {
		m.Traced = m.Calibration.Trace(m.Edge, reading.Side)
	}
	return err
}

func (m *Measured) fairOutline(reading Reading) (err error) {
	samples := make([]curve.Sample, len(m.Traced.Samples))
	hint := shape.BackHint{Said: reading.Back.vec()}
	for i, s := range m.Traced.Samples {
		samples[i] = curve.Sample{At: s.At, Sigma: s.Sigma, Bridged: s.Bridged}
		if s.SheetEdge {
			hint.SheetEdge = append(hint.SheetEdge, s.At)
		}
	}
	if m.Fair, err = curve.FitClosed(samples, fitParams()); err != nil {
		return err
	}
	ticks := make([]shape.PlaneTick, len(m.Traced.Ticks))
	for i, t := range m.Traced.Ticks {
		ticks[i] = shape.PlaneTick{At: t.At, From: t.From, To: t.To}
	}
	m.Shape, err = shape.FromOutline(m.Fair.Path, m.Fair.Corners, ticks, hint)
	return err
}

// handWaver is how far a steady hand with a pen wanders along a seat, in millimetres
// rms over some centimetres (common practice: the traced sample templates wander by
// 0.4 mm; a ruler stepped round by hand is off by ten times as much). A bend smaller
// than that is the hand's or the lens's, not the seat's, and a cushion sewn along it
// would show it. Smaller: the outline has a joint for every waver; larger: gentle
// shape is lost.
const handWaver = 0.25

func fitParams() curve.FitParams {
	p := curve.DefaultFitParams()
	p.Resolution = handWaver
	return p
}

// budgetSpacing is the distance in millimetres of the points whose uncertainty is
// worked out: errors of lens, cards and paper change over centimetres.
const budgetSpacing = 5.0

func (m *Measured) judge() (err error) {
	m.Budget, err = m.Calibration.Budget(m.budgetOutline())
	return err
}

// budgetOutline is the outline as the budget sees it.
func (m *Measured) budgetOutline() measure.Outline {
	points := m.outlinePoints(budgetSpacing)
	sigma := make([]float64, len(points))
	for i := range sigma {
		sigma[i] = math.Hypot(m.Fair.Uncertainty, m.Fair.RMS)
	}
	return measure.Outline{Points: points, Closed: true, Sigma: sigma, Across: m.across()}
}

// across returns the direction of the seat's width in the plane frame.
func (m *Measured) across() plane.Vec {
	return m.Shape.SeatFromPlane.Inverse().ApplyVec(plane.Vec{X: 1})
}

// outlinePoints returns the fair outline as points in the plane frame, spacing
// millimetres apart, for the budget and the pictures.
func (m *Measured) outlinePoints(spacing float64) []plane.Point { return every(m.Fair.Path, spacing) }

// every returns points along the path, spacing millimetres apart (8 at least).
func every(p curve.Path, spacing float64) []plane.Point {
	around := p.ArcLength(0.01)
	n := max(8, int(around/spacing))
	at := make([]float64, n)
	for i := range at {
		at[i] = around * float64(i) / float64(n)
	}
	points := make([]plane.Point, n)
	for i, spot := range p.AtLengths(at, 0.01) {
		points[i] = spot.Point
	}
	return points
}
