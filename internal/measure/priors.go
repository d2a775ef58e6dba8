package measure

import (
	"math"
	"strings"

	"fairedge/internal/camera"
	"fairedge/internal/photo"
)

// Priors is what is known before looking at the marks: standard deviations of
// normal distributions about the stated means. Zero means "exactly so" and takes
// the unknown out of the fit. Too small a value makes the fit bend something else
// and the stated uncertainty too small; too large a value throws away knowledge
// and makes the answer needlessly uncertain.
//
//	term          default         source
//	Focal         2 % with EXIF   35 mm equivalents are rounded to 1 mm (1 % of 26,
//	                              rectangular) and focusing breathes by 1 to 2 %
//	              3 % camera      the same, and zoom steps
//	              10 % zoomed     common practice: zoom rounds and crops
//	              15 % phone without EXIF: main lenses, 22 to 30 mm equivalent
//	              30 % unknown    24 to 50 mm equivalent; 40 % cropped
//	Centre        0.5 % of width  20 px of 4032: stabilisers and assembly
//	              1, 2 % camera   with, without EXIF; 15 % cropped
//	K1, K2        0.01, 0.005     phones correct their own pictures
//	              0.3, 0.2        unknown camera; OpenCV's sample camera: -0.27, Zhang's
//	                              (2000) -0.23 and 0.19
//	P1, P2        2e-4 (1e-3)     Zhang 2000 leaves them out; OpenCV's samples 1e-3
//	Anisotropy    0.25 %          printers feed paper unlike they write across
//	CardLift ...  0.2 ± 0.2,      paper on a bench, taped down; see flatness.go, which
//	              0.15 mm         lets the marks choose a larger or smaller one
//	Placement     0.03 mm         600 dpi printer, half a dot rms
//	Warp          0.15 px         what Brown's model leaves, smooth: 0 to 0.2 px assumed;
//	                              ACCURACY.md has the band against a world with 0.2
type Priors struct {
	Profile    string      // name of the lens profile that the lens is from; empty = none
	Lens       camera.Lens // the most probable lens: a straight one, or a profile
	Focal      float64     // sd of the logarithm of its focal length
	Centre     float64     // of its principal point, px, each axis
	K1, K2     float64     // of its radial distortion
	P1, P2     float64     // of its decentering
	Anisotropy float64     // an unmeasured print's across/along - 1

	// CardLiftMean and CardLift are mean and sd of a card's mean height over its
	// plane, mm. Paper that is not flat touches the bench with its lowest point, so
	// its mean lies above it.
	CardLiftMean, CardLift float64

	CardTilt float64 // height at the card's border from a slope, mm, each axis
	CardBend float64 // height at the card's border from curvature, mm, each of three
	// Flatness: the marks may choose these multiples of the four above; empty = 1.
	Flatness []float64

	Placement float64 // of each printed mark, mm, each axis
	Warp      float64 // smooth lens error beyond Brown's model, px rms, each axis

	TemplateHeight      float64 // sd of Input.TemplateHeight, mm (paper's own thickness)
	TemplateHeightShare float64 // more of it, as a share of TemplateHeight
	TemplateBuckle      float64 // local lift of the template's edge, mm rms
	Line                float64 // roughness of a pen line or cut, mm rms, each sample
}

// LensClass says how well a camera is known.
type LensClass int

// The classes, best known first.
const (
	PhoneWithFocal LensClass = iota // a phone whose EXIF states a credible focal length
	CameraWithFocal
	PhoneZoomed
	UnknownPhone
	UnknownCamera
	CroppedPicture // anything may have been cut away
)

// String returns the class in words for reports.
func (c LensClass) String() string {
	return [...]string{
		"phone with stated focal length", "camera with stated focal length", "phone, zoomed",
		"phone without focal length", "unknown camera", "cropped picture",
	}[c]
}

// ClassOf returns how well the camera behind a photo is known from its EXIF.
func ClassOf(lens photo.Lens) LensClass {
	phone := isPhone(lens)
	switch {
	case lens.Cropped:
		return CroppedPicture
	case phone && lens.Zoomed:
		return PhoneZoomed
	case phone && lens.Focal35MM > 0:
		return PhoneWithFocal
	case lens.Focal35MM > 0 && !lens.Zoomed:
		return CameraWithFocal
	case phone || lens.Make == "" && lens.Model == "":
		// A photo without EXIF has mostly come through a messenger, from a phone; the
		// marks may say otherwise (see lensCandidates).
		return UnknownPhone
	}
	return UnknownCamera
}

// isPhone goes by the maker's name; makers that sell both phones and cameras by a
// true focal length that only a phone's tiny sensor has (below 10 mm at a normal
// or wide angle).
func isPhone(lens photo.Lens) bool {
	name := strings.ToLower(lens.Make + " " + lens.Model)
	for _, maker := range []string{
		"apple", "iphone", "google", "pixel", "xiaomi", "redmi", "huawei", "honor", "oneplus", "oppo",
		"vivo", "realme", "motorola", "moto ", "hmd", "fairphone", "nothing", "lge", "galaxy", "xperia", "sm-",
	} {
		if strings.Contains(name, maker) {
			return true
		}
	}
	return lens.FocalMM > 0 && lens.FocalMM < 10 && lens.Focal35MM >= 20 && lens.Focal35MM <= 35 &&
		(strings.Contains(name, "samsung") || strings.Contains(name, "nokia"))
}

// usualFocal35MM is the focal length of a phone's main lens (22 to 30 mm
// equivalent) in the middle.
const usualFocal35MM = 26

// focalPxFrom35MM turns a 35 mm equivalent into pixels by the diagonal: 36 x 24 mm
// has one of 43.27 mm (CIPA DCG-001, 3.2: equal diagonal angle of view).
func focalPxFrom35MM(focal35MM float64, width, height int) float64 {
	return focal35MM * math.Hypot(float64(width), float64(height)) / math.Hypot(36, 24)
}

// PriorsFor returns the priors of the table above for a photo of the given size.
func PriorsFor(class LensClass, lens photo.Lens, width, height int) Priors {
	p := Priors{
		Focal: focalSD(class), Centre: centreShare(class) * float64(max(width, height)),
		K1: 0.01, K2: 0.005, P1: 2e-4, P2: 2e-4, Anisotropy: 0.0025,
		CardLiftMean: 0.2, CardLift: 0.2, CardTilt: 0.15, CardBend: 0.15,
		Flatness:  []float64{0.1, 0.3, 1, 3},
		Placement: 0.03, Warp: 0.15,
		TemplateHeight: 0.1, TemplateHeightShare: 0.02, TemplateBuckle: 0.2, Line: 0.05,
	}
	if class == CameraWithFocal || class == UnknownCamera {
		p.K1, p.K2, p.P1, p.P2 = 0.3, 0.2, 1e-3, 1e-3
	}
	focal35 := lens.Focal35MM
	if focal35 <= 0 || class == CroppedPicture {
		focal35 = usualFocal35MM
	}
	p.Lens = camera.Lens{
		F:      focalPxFrom35MM(focal35, width, height),
		Centre: photo.Point{X: float64(width) / 2, Y: float64(height) / 2},
	}
	return p
}

func focalSD(class LensClass) float64 {
	switch class {
	case PhoneWithFocal:
		return 0.02
	case CameraWithFocal:
		return 0.03
	case PhoneZoomed:
		return 0.1
	case UnknownPhone:
		return 0.15
	case UnknownCamera:
		return 0.3
	}
	return 0.4 // cropped: the picture is narrower than the lens
}

// centreShare is the sd of the principal point as a share of the longer side.
func centreShare(class LensClass) float64 {
	switch class {
	case CameraWithFocal:
		return 0.01
	case UnknownCamera:
		return 0.02
	case CroppedPicture:
		return 0.15
	}
	return 0.005
}
