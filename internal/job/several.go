package job

import (
	"context"
	"errors"
	"fmt"
	"time"

	"fairedge/internal/detect"
	"fairedge/internal/fusion"
	"fairedge/internal/photo"
	"fairedge/internal/problem"
)

// Several is what came of several photos of one template. Photos are numbered from 1 in
// the order in which they were given.
type Several struct {
	Photos  []OnePhoto
	Best    int             // the photo that the pictures show: the most certain one
	Used    []int           // those whose average the outline is; empty when only one could be measured
	LeftOut []fusion.Apart  // those that lie off the others
	Dispute *fusion.Dispute // two that disagree, when none is left to say which is wrong
	Repeat  fusion.Repeatability
}

// OnePhoto is what one of several photos says by itself.
type OnePhoto struct {
	Number                          int
	Path                            string
	Width, Depth, Perimeter, Within float64 // mm
	WidthU, DepthU                  float64
	Skipped                         error // why it could not be measured, or nil
	measured                        *Measured
}

const stageFuse = "fusing the photos"

// ShapeFromPhotos measures the seat in each photo by itself and fuses their outlines; one
// photo is measured as ShapeFromPhoto does. A photo in which no template can be measured
// is left out as long as another one remains.
func ShapeFromPhotos(ctx context.Context, paths []string, reading Reading, watch Watcher) (*Measured, error) {
	if len(paths) == 1 {
		return ShapeFromPhoto(ctx, paths[0], reading, watch)
	}
	s := &Several{}
	var timings []Timing
	for i, path := range paths {
		one := OnePhoto{Number: i + 1, Path: path}
		m, err := ShapeFromPhoto(ctx, path, reading, photoWatcher{watch, i + 1, len(paths)})
		switch {
		case isAboutThePhoto(err):
			one.Skipped = err
		case err != nil:
			return nil, err
		default:
			one.take(m)
			timings = append(timings, m.Timings...)
		}
		s.Photos = append(s.Photos, one)
	}
	watch.Stage(stageFuse)
	start := time.Now()
	m, err := s.fuse(reading)
	if err != nil {
		return nil, err
	}
	m.Timings = append(timings, Timing{stageFuse, time.Since(start)})
	return m, nil
}

// isAboutThePhoto tells photos that show no template, or not well enough, from what is
// wrong for all of them or with the program.
func isAboutThePhoto(err error) bool {
	var known *problem.Error
	if !errors.As(err, &known) {
		return false
	}
	switch known.Kind {
	case problem.NoCard, problem.TooFewMarks, problem.CardTooSmall, problem.CardTooBlurred, problem.NoOutline,
		problem.OutlineCutOff, problem.AmbiguousOutline, problem.PoorFit, problem.ImageTooSmall:
		return true
	}
	return false
}

// take keeps what the photo says, and lets go of its pixels: a dozen photos need not fit
// into memory. The picture for people stays.
func (one *OnePhoto) take(m *Measured) {
	one.measured = m
	size, b := m.Shape.Size, m.Budget
	one.Width, one.Depth, one.Perimeter = size.Width.Millimetres(), size.Depth.Millimetres(), size.Perimeter.Millimetres()
	one.Within, one.WidthU, one.DepthU = b.Within, b.Width.U, b.Depth.U
	m.reduced.picture()
	m.Photo = &photo.Photo{Width: m.Photo.Width, Height: m.Photo.Height, Lens: m.Photo.Lens}
	m.EdgeSearch = detect.EdgeEvidence{}
}

// fuse makes the result of the photos that could be measured: the most certain photo's,
// with the outline of all.
func (s *Several) fuse(reading Reading) (*Measured, error) {
	var photos []fusion.Photo
	var numbers []int
	for _, one := range s.Photos {
		if one.measured != nil {
			photos, numbers = append(photos, one.measured.forFusion()), append(numbers, one.Number)
		}
	}
	if len(photos) == 0 {
		return nil, s.Photos[0].Skipped
	}
	s.Best = numbers[0]
	if len(photos) == 1 {
		m := s.best()
		m.Several = s
		return m, nil
	}
	fused, err := fusion.Fuse(photos, fusion.DefaultParams())
	if err != nil {
		return nil, err
	}
	s.note(fused, numbers)
	m := s.best()
	m.Several = s
	if err := m.follow(fused, reading); err != nil {
		return nil, err
	}
	s.Repeat = fused.Repeatability(m.across())
	return m, nil
}

// follow puts the fused edge and its uncertainty in place of the photo's own.
func (m *Measured) follow(fused *fusion.Fused, reading Reading) (err error) {
	m.Traced.Samples = fused.Samples
	if err := m.fairOutline(reading); err != nil {
		return err
	}
	o := m.budgetOutline()
	for i := range o.Sigma { // how well each photo sees the edge is in their fusion
		o.Sigma[i] = m.Fair.RMS
	}
	m.Budget, err = fused.Budget(o)
	return err
}

func (s *Several) best() *Measured { return s.Photos[s.Best-1].measured }

// note keeps what came of the fusion under the numbers that a person gave the photos.
func (s *Several) note(f *fusion.Fused, numbers []int) {
	s.Best = numbers[f.Best]
	for _, i := range f.Used {
		s.Used = append(s.Used, numbers[i])
	}
	for _, a := range f.LeftOut {
		a.Photo = numbers[a.Photo]
		s.LeftOut = append(s.LeftOut, a)
	}
	if d := f.Dispute; d != nil {
		s.Dispute = &fusion.Dispute{Photos: [2]int{numbers[d.Photos[0]], numbers[d.Photos[1]]}, Off: d.Off, At: d.At}
	}
}

// forFusion is what one photo says of the template.
func (m *Measured) forFusion() fusion.Photo {
	lens := m.Photo.Lens
	return fusion.Photo{
		Calibration: m.Calibration, Camera: fmt.Sprintf("%s %s %.3g", lens.Make, lens.Model, lens.FocalMM),
		Samples: m.Traced.Samples, Path: m.Fair.Path,
		Uncertainty: m.Fair.Uncertainty, Noise: m.Fair.Noise, Within: m.Budget.Within,
	}
}

// photoWatcher says which photo a stage belongs to.
type photoWatcher struct {
	Watcher
	number, of int
}

// Stage shows the stage with the photo's number.
func (w photoWatcher) Stage(name string) {
	w.Watcher.Stage(fmt.Sprintf("photo %d of %d: %s", w.number, w.of, name))
}
