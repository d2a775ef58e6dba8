package measure

import (
	"fmt"
	"slices"

	"fairedge/internal/detect"
	"fairedge/internal/photo"
	"fairedge/internal/problem"
)

// LensPhoto is one photo of cards for LearnLens.
type LensPhoto struct {
	Name  string
	Input Input // TemplateHeight and Profile are left aside
}

// LearnLens learns the lens that all photos were taken through: one camera, one
// picture size, no zoom. Failures are problem.Usage for photos that do not belong
// together, those of Calibrate for a photo's cards, and problem.PoorFit. Whether the
// photos show enough of the lens is for LearnedLens.Reach.Verdict to say.
func LearnLens(photos []LensPhoto, params LensParams) (LensProfile, *LearnedLens, error) {
	if n := len(photos); n < params.MinPhotos || n > params.MaxPhotos {
		return LensProfile{}, nil, problem.Newf(problem.Usage, "lay out the cards and take a few more from all sides, or leave some out",
			"learning a lens takes %d to %d photos with cards, not %d", params.MinPhotos, params.MaxPhotos, n)
	}
	var views []LensView
	for i, p := range photos {
		if err := sameCamera(photos[0], p); err != nil {
			return LensProfile{}, nil, err
		}
		for _, before := range photos[:i] {
			if slices.EqualFunc(before.Input.Sightings, p.Input.Sightings, sameSighting) {
				return LensProfile{}, nil, problem.Newf(problem.Usage, "give each photo once", "%s and %s are the same photo", before.Name, p.Name)
			}
		}
		set, err := setFromInput(p.Input.stored(), DefaultParams())
		if err != nil {
			return LensProfile{}, nil, fmt.Errorf("%s: %w", p.Name, err)
		}
		views = append(views, LensView{Name: p.Name, Set: set, Orientation: p.Input.Lens.Orientation})
	}
	l, err := LearnLensFromSets(views, params)
	if err != nil {
		return LensProfile{}, nil, err
	}
	exif := photos[0].Input.Lens
	return LensProfile{
		Make: exif.Make, Model: exif.Model, FocalMM: exif.FocalMM, Focal35MM: exif.Focal35MM,
		Width: views[0].Set.Width, Height: views[0].Set.Height,
		Lens: l.Lens, Uncertainty: l.Uncertainty, Moves: l.Moves,
	}, l, nil
}

// sameSighting reports whether two photos show a card at the very same pixels: two
// photos never do, and one counted twice would make the lens look better known.
func sameSighting(a, b detect.Sighting) bool {
	return a.Card == b.Card && slices.Equal(a.Marks, b.Marks)
}

// stored turns the marks back into the picture as stored, which the lens is fixed to.
func (in Input) stored() Input {
	out := in
	out.TemplateHeight, out.Profile = 0, nil
	out.Width, out.Height = storedSize(in.Lens.Orientation, in.Width, in.Height)
	out.Lens.Orientation = 1
	out.Sightings = nil
	for _, s := range in.Sightings {
		s.Marks = append([]detect.Mark(nil), s.Marks...)
		for i := range s.Marks {
			s.Marks[i].Photo = storedFromUpright(s.Marks[i].Photo, in.Lens.Orientation, in.Width, in.Height)
		}
		out.Sightings = append(out.Sightings, s)
	}
	return out
}

// sameCamera returns an error when a photo was taken with another camera, size or
// zoom than the first, or cannot say.
func sameCamera(first, p LensPhoto) error {
	a, b := first.Input.Lens, p.Input.Lens
	wa, ha := storedSize(a.Orientation, first.Input.Width, first.Input.Height)
	wb, hb := storedSize(b.Orientation, p.Input.Width, p.Input.Height)
	refuse := func(format string, args ...any) error {
		return problem.Newf(problem.Usage, "use photos straight from one camera, at one size and without zoom", format, args...)
	}
	_, plain := quarterTurns(b.Orientation)
	switch {
	case b.Cropped:
		return refuse("%s was cropped or resized after it was taken", p.Name)
	case b.Zoomed:
		return refuse("%s was taken with digital zoom", p.Name)
	case !plain:
		return refuse("%s is stored mirrored", p.Name)
	case a.Make != b.Make || a.Model != b.Model:
		return refuse("%s was taken with %s and %s with %s", first.Name, cameraName(a), p.Name, cameraName(b))
	case !alike(a.FocalMM, b.FocalMM) || !alike(a.Focal35MM, b.Focal35MM):
		return refuse("%s was taken at %s and %s at %s", first.Name, focalName(a), p.Name, focalName(b))
	case wa != wb || ha != hb:
		return refuse("%s has %d x %d pixels as stored and %s %d x %d", first.Name, wa, ha, p.Name, wb, hb)
	}
	return nil
}

func cameraName(l photo.Lens) string {
	if l.Make+l.Model == "" {
		return "a camera that it does not name"
	}
	return LensProfile{Make: l.Make, Model: l.Model}.Title()
}

func focalName(l photo.Lens) string {
	switch {
	case l.FocalMM > 0 && l.Focal35MM > 0:
		return fmt.Sprintf("%.3g mm (%.3g mm equivalent)", l.FocalMM, l.Focal35MM)
	case l.FocalMM > 0:
		return fmt.Sprintf("%.3g mm", l.FocalMM)
	case l.Focal35MM > 0:
		return fmt.Sprintf("%.3g mm equivalent", l.Focal35MM)
	}
	return "a focal length that it does not state"
}
