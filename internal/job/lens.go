package job

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"fairedge/internal/card"
	"fairedge/internal/detect"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/problem"
)

// NoLens as Reading.Lens measures without any lens profile.
const NoLens = "none"

// profileFor returns the newest profile that the photo's own data or the person's
// choice names, or nil when there is none.
func (r Reading) profileFor(p *photo.Photo) (*measure.LensProfile, error) {
	if r.Lens == NoLens {
		return nil, nil
	}
	for i := len(r.Profiles) - 1; i >= 0; i-- {
		profile := r.Profiles[i]
		switch {
		case r.Lens == "" && profile.Fits(p.Lens, p.Width, p.Height):
			return &profile, nil
		case r.Lens != "" && strings.EqualFold(r.Lens, profile.Title()):
			if !profile.HasShape(p.Lens, p.Width, p.Height) {
				return nil, problem.Newf(problem.Usage, "leave --lens away, or use the photo as the camera made it",
					"the lens profile %q is for whole pictures of %d x %d pixels, and this one is cropped or of another shape",
					profile.Title(), profile.Width, profile.Height)
			}
			return &profile, nil
		}
	}
	if r.Lens == "" {
		return nil, nil
	}
	return nil, problem.Newf(problem.Usage, "fairedge lens --list shows those that there are", "there is no lens profile %q", r.Lens)
}

// profileContradicted reports whether the marks made the fit leave the profile aside.
func (m *Measured) profileContradicted() bool {
	return m.Profile != nil && m.Calibration.Priors.Profile == ""
}

// LensRequest says how to learn a lens.
type LensRequest struct {
	Limits photo.Limits
	Prints []card.Print // what rulers read on the cards
	Name   string       // what to call the profile; photos that name no camera need one
	Date   time.Time
}

// LensLearnt is a lens profile with the evidence for it.
type LensLearnt struct {
	Profile measure.LensProfile
	Learned *measure.LearnedLens
	Skipped []SkippedPhoto
}

// SkippedPhoto is a photo that could not be used, and why.
type SkippedPhoto struct {
	Path string
	Why  error
}

// LearnLens learns a lens from photos of scale cards. Photos without usable cards are
// skipped as long as enough others remain. A lens that the photos do not show enough of
// is a problem.NotAccurateEnough; it comes with what was learnt all the same.
func LearnLens(ctx context.Context, paths []string, request LensRequest, watch Watcher) (LensLearnt, error) {
	var learnt LensLearnt
	params := measure.DefaultLensParams()
	if n := len(paths); n < params.MinPhotos || n > params.MaxPhotos {
		return learnt, problem.Newf(problem.Usage, "lay out the cards and take some from all sides",
			"learning a lens takes %d to %d photos, not %d", params.MinPhotos, params.MaxPhotos, n)
	}
	var photos []measure.LensPhoto
	for i, path := range paths {
		if err := ctx.Err(); err != nil {
			return learnt, problem.New(problem.Cancelled, "stopped before the lens was learnt", "nothing was written").Because(err)
		}
		watch.Stage(fmt.Sprintf("photo %d of %d", i+1, len(paths)))
		input, err := cardsIn(ctx, path, request)
		if isAboutCards(err) {
			learnt.Skipped = append(learnt.Skipped, SkippedPhoto{path, err})
			continue
		}
		if err != nil {
			return learnt, err
		}
		if request.Name == "" && input.Lens.Make+input.Lens.Model == "" {
			return learnt, problem.Newf(problem.Usage, "give the profile a name with --name, and use it with fairedge cut --lens NAME",
				"%s does not say which camera took it", path)
		}
		photos = append(photos, measure.LensPhoto{Name: path, Input: input})
	}
	if err := enoughPhotos(len(photos), params.MinPhotos, learnt.Skipped); err != nil {
		return learnt, err
	}
	watch.Stage("learning the lens")
	var err error
	if learnt.Profile, learnt.Learned, err = measure.LearnLens(photos, params); err != nil {
		return learnt, err
	}
	learnt.Profile.Name, learnt.Profile.Learned = request.Name, request.Date
	return learnt, learnt.Learned.Reach.Verdict()
}

// cardsIn reads a photo and finds its cards.
func cardsIn(ctx context.Context, path string, request LensRequest) (measure.Input, error) {
	p, err := photo.Read(ctx, path, request.Limits)
	if err != nil {
		if strings.Contains(err.Error(), path) {
			return measure.Input{}, err
		}
		return measure.Input{}, fmt.Errorf("%s: %w", path, err)
	}
	sightings, _, err := detect.Cards(p, detect.DefaultCardParams())
	if err != nil {
		return measure.Input{}, err
	}
	return measure.Input{
		Sightings: sightings, Width: p.Width, Height: p.Height, Lens: p.Lens, Prints: request.Prints,
	}, nil
}

// isAboutCards tells photos that show no usable card from what is wrong for all.
func isAboutCards(err error) bool {
	var known *problem.Error
	if !errors.As(err, &known) {
		return false
	}
	switch known.Kind {
	case problem.NoCard, problem.TooFewMarks, problem.CardTooSmall, problem.CardTooBlurred:
		return true
	}
	return false
}

// enoughPhotos returns an error of the kind of the first skipped photo's when too few
// remain.
func enoughPhotos(n, least int, skipped []SkippedPhoto) error {
	if n >= least || len(skipped) == 0 {
		return nil
	}
	first := skipped[0]
	return problem.Newf(problem.KindOf(first.Why), "take more photos with the whole cards sharp and in the picture",
		"only %d of %d photos show usable cards and %d are needed (%s: %v)", n, n+len(skipped), least, first.Path, first.Why).Because(first.Why)
}
