// Package lenslog keeps the lenses that photos have taught: one small JSON file, to
// which profiles are only ever added.
package lenslog

import (
	"errors"
	"math"
	"time"

	"fairedge/internal/camera"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/problem"
	"fairedge/internal/recordfile"
)

// FileName is the name of the file inside the data folder.
const FileName = "lenses.json"

// Record is one learned lens, as stored. Pixels are those of the stored picture; its
// first pixel's centre is at (0.5, 0.5). Uncertainties are standard ones (k = 1).
type Record struct {
	Name      string  `json:"name,omitempty"` // given by the person
	Make      string  `json:"make,omitempty"`
	Model     string  `json:"model,omitempty"`
	FocalMM   float64 `json:"focal_mm,omitempty"`
	Focal35MM float64 `json:"focal_35mm_equivalent,omitempty"`
	WidthPx   int     `json:"width_px"`
	HeightPx  int     `json:"height_px"`

	FocalPx     float64    `json:"focal_px"`
	CentrePx    [2]float64 `json:"principal_point_px"`
	Radial      [2]float64 `json:"k1_k2"`
	Decentering [2]float64 `json:"p1_p2"`

	FocalShareU  float64    `json:"focal_share_u"`
	CentrePxU    [2]float64 `json:"principal_point_px_u"`
	RadialU      [2]float64 `json:"k1_k2_u"`
	DecenteringU [2]float64 `json:"p1_p2_u"`

	FocalShareMove float64 `json:"focal_share_from_photo_to_photo"`
	CentrePxMove   float64 `json:"principal_point_px_from_photo_to_photo"`

	Photos  int       `json:"photos"`
	Marks   int       `json:"marks"`
	RMSPx   float64   `json:"residual_rms_px"`
	Learned time.Time `json:"learned"`
}

func kind() recordfile.Kind[Record] {
	return recordfile.Kind[Record]{
		FileName: FileName, List: "lenses", Says: "the lens profiles", Again: "learn the lens again",
		Check: Record.check,
	}
}

// RecordOf puts a profile and the evidence for it into the stored form.
func RecordOf(p measure.LensProfile, l *measure.LearnedLens) Record {
	u := p.Uncertainty
	return Record{
		Name: p.Name, Make: p.Make, Model: p.Model, FocalMM: p.FocalMM, Focal35MM: p.Focal35MM,
		WidthPx: p.Width, HeightPx: p.Height,
		FocalPx: p.Lens.F, CentrePx: [2]float64{p.Lens.Centre.X, p.Lens.Centre.Y},
		Radial: [2]float64{p.Lens.K1, p.Lens.K2}, Decentering: [2]float64{p.Lens.P1, p.Lens.P2},
		FocalShareU: u.Focal, CentrePxU: [2]float64{u.CentreX, u.CentreY},
		RadialU: [2]float64{u.K1, u.K2}, DecenteringU: [2]float64{u.P1, u.P2},
		FocalShareMove: p.Moves.Focal, CentrePxMove: p.Moves.Centre,
		Photos: len(l.Photos), Marks: l.Marks, RMSPx: l.RMS, Learned: p.Learned,
	}
}

// Profile returns the record in the form that measuring uses.
func (r Record) Profile() measure.LensProfile {
	return measure.LensProfile{
		Name: r.Name, Make: r.Make, Model: r.Model, FocalMM: r.FocalMM, Focal35MM: r.Focal35MM,
		Width: r.WidthPx, Height: r.HeightPx,
		Lens: camera.Lens{
			F: r.FocalPx, Centre: photo.Point{X: r.CentrePx[0], Y: r.CentrePx[1]},
			K1: r.Radial[0], K2: r.Radial[1], P1: r.Decentering[0], P2: r.Decentering[1],
		},
		Uncertainty: measure.LensUncertainty{
			Focal: r.FocalShareU, CentreX: r.CentrePxU[0], CentreY: r.CentrePxU[1],
			K1: r.RadialU[0], K2: r.RadialU[1], P1: r.DecenteringU[0], P2: r.DecenteringU[1],
		},
		Moves:   measure.LensMoves{Focal: r.FocalShareMove, Centre: r.CentrePxMove},
		Learned: r.Learned,
	}
}

// check returns what is wrong with the record, or nil. The bounds keep out what is no
// lens at all; they are those of the model, not of any phone: the focal length from a
// tenth of the longer side (a fisheye) to thirty times it (a telescope), the principal
// point inside the picture, distortion that folds nothing near the middle.
func (r Record) check() error {
	longer := float64(max(r.WidthPx, r.HeightPx))
	switch {
	case r.WidthPx <= 0 || r.HeightPx <= 0 || longer > 1e6:
		return errors.New("has no picture size")
	case !(r.FocalPx >= longer/10 && r.FocalPx <= 30*longer):
		return errors.New("has an impossible focal length")
	case !inside(r.CentrePx[0], r.WidthPx) || !inside(r.CentrePx[1], r.HeightPx):
		return errors.New("has its middle outside the picture")
	case r.Name == "" && r.Make == "" && r.Model == "":
		return errors.New("has neither a name nor a camera")
	}
	for _, v := range []float64{r.Radial[0], r.Radial[1], r.Decentering[0], r.Decentering[1]} {
		if !(math.Abs(v) <= 10) {
			return errors.New("has an impossible distortion")
		}
	}
	for _, u := range []float64{
		r.FocalShareU, r.CentrePxU[0] / longer, r.CentrePxU[1] / longer, r.RadialU[0], r.RadialU[1],
		r.DecenteringU[0], r.DecenteringU[1], r.FocalShareMove, r.CentrePxMove / longer, r.FocalMM / 1e4, r.Focal35MM / 1e4,
	} {
		if !(u >= 0 && u <= 10) {
			return errors.New("has an impossible uncertainty")
		}
	}
	return nil
}

func inside(at float64, size int) bool { return at >= 0 && at <= float64(size) }

// Read returns the records in the data folder, oldest first. A missing file holds
// none.
func Read(dataFolder string) ([]Record, error) { return kind().Read(dataFolder) }

// Add appends a record to those in the data folder. The old file stays whole until
// the new one is complete.
func Add(dataFolder string, r Record) error {
	if err := r.check(); err != nil {
		return problem.Newf(problem.PoorFit, "take the photos again", "the learned lens cannot be true: it %v", err)
	}
	return kind().Add(dataFolder, r)
}

// Profiles returns the records in the form that measuring uses, oldest first.
func Profiles(records []Record) []measure.LensProfile {
	profiles := make([]measure.LensProfile, len(records))
	for i, r := range records {
		profiles[i] = r.Profile()
	}
	return profiles
}
