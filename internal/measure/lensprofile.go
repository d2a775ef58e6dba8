package measure

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fairedge/internal/camera"
	"fairedge/internal/photo"
)

// LensProfile is a lens that several photos have taught, as later photos use it.
// Its pixels are those of the picture as stored, before EXIF's orientation turns it:
// the lens does not turn with the picture.
type LensProfile struct {
	Name               string // what a person calls it; may be empty
	Make, Model        string // of the camera, as EXIF has them; empty = any, by name only
	FocalMM, Focal35MM float64
	Width, Height      int // of the stored picture that Lens is for, px
	Lens               camera.Lens
	Uncertainty        LensUncertainty // of Lens
	Moves              LensMoves       // of each photo about Lens
	Learned            time.Time
}

// LensUncertainty holds standard uncertainties (k = 1) of a lens.
type LensUncertainty struct {
	Focal            float64 // of ln F, so a share
	CentreX, CentreY float64 // px
	K1, K2, P1, P2   float64
}

// LensMoves is how much the lens differs from photo to photo, as standard
// deviations: focusing breathes and stabilisers shift it.
type LensMoves struct {
	Focal  float64 // of ln F
	Centre float64 // px, each axis
}

// ProfileParams are the thresholds of using a profile.
type ProfileParams struct {
	// Focal: true or 35 mm equivalent focal lengths that differ by a larger share are
	// two lenses. EXIF states 4.2 as 4.2 or 4.25, and a phone's next lens is 1.5 times
	// as long.
	Focal float64
	// Shape: aspect ratios that differ by a larger share are two pictures. 4032 x 3024
	// halved and rounded differs by 0.0003; 4:3 and 3:2 by 0.12.
	Shape float64
	// K1, K2 and P: no profile is known better than this. Distortion changes with focus
	// and a shifted lens is decentred (0.01 of k1 times 0.7 % of shift): a feasibility
	// study's "profile" leaves a tenth of an unknown phone's.
	K1, K2, P float64
}

// DefaultProfileParams returns the thresholds described at ProfileParams.
func DefaultProfileParams() ProfileParams {
	return ProfileParams{Focal: 0.02, Shape: 0.005, K1: 0.001, K2: 0.0005, P: 1e-4}
}

// Title returns what to call the profile: its name, or camera and focal length.
func (p LensProfile) Title() string {
	if p.Name != "" {
		return p.Name
	}
	title := p.Model
	if !strings.HasPrefix(strings.ToLower(p.Model), strings.ToLower(p.Make)) {
		title = strings.TrimSpace(p.Make + " " + p.Model)
	}
	switch {
	case p.FocalMM > 0:
		title += fmt.Sprintf(", %.3g mm", p.FocalMM)
	case p.Focal35MM > 0:
		title += fmt.Sprintf(", %.3g mm equivalent", p.Focal35MM)
	}
	return title
}

// Fits reports whether a photo with this EXIF and upright size was taken through the
// profile's lens, as far as its EXIF says.
func (p LensProfile) Fits(lens photo.Lens, width, height int) bool {
	return p.Make+p.Model != "" &&
		strings.EqualFold(p.Make, lens.Make) && strings.EqualFold(p.Model, lens.Model) &&
		alike(p.FocalMM, lens.FocalMM) && alike(p.Focal35MM, lens.Focal35MM) &&
		!lens.Zoomed && p.HasShape(lens, width, height)
}

// HasShape reports whether a picture of this upright size can have come from the
// profile's: the same shape, whole, and not mirrored.
func (p LensProfile) HasShape(lens photo.Lens, width, height int) bool {
	if _, ok := quarterTurns(lens.Orientation); !ok || lens.Cropped || width <= 0 || height <= 0 {
		return false
	}
	w, h := storedSize(lens.Orientation, width, height)
	return math.Abs(float64(w)*float64(p.Height)/(float64(h)*float64(p.Width))-1) <= DefaultProfileParams().Shape
}

// alike compares two stated focal lengths; not stated is alike only to not stated.
func alike(a, b float64) bool {
	return math.Abs(a-b) <= DefaultProfileParams().Focal*math.Max(a, b)
}

// Over returns the priors with what the profile knows of the lens in place of what
// they do, for a photo of the given upright size.
func (p LensProfile) Over(priors Priors, lens photo.Lens, width, height int) Priors {
	params := DefaultProfileParams()
	w, _ := storedSize(lens.Orientation, width, height)
	scale := float64(w) / float64(p.Width)
	stored := p.Lens
	stored.F *= scale
	stored.Centre = photo.Point{X: stored.Centre.X * scale, Y: stored.Centre.Y * scale}
	u := p.Uncertainty
	priors.Profile = p.Title()
	priors.Lens = uprightLens(stored, lens.Orientation, width, height)
	priors.Focal = math.Hypot(u.Focal, p.Moves.Focal)
	priors.Centre = scale * math.Hypot(math.Max(u.CentreX, u.CentreY), p.Moves.Centre)
	priors.K1, priors.K2 = math.Max(u.K1, params.K1), math.Max(u.K2, params.K2)
	priors.P1 = math.Max(math.Max(u.P1, u.P2), params.P)
	priors.P2 = priors.P1
	return priors
}
