package measure

import (
	"math"
	"testing"

	"fairedge/internal/card"
	"fairedge/internal/photo"
)

func TestClassOf(t *testing.T) {
	for _, c := range []struct {
		lens photo.Lens
		want LensClass
	}{
		{photo.Lens{Make: "Apple", Model: "iPhone 12", Focal35MM: 26, FocalMM: 4.2}, PhoneWithFocal},
		{photo.Lens{Make: "Google", Model: "Pixel 7", Focal35MM: 24, Zoomed: true}, PhoneZoomed},
		{photo.Lens{Make: "Google", Model: "Pixel 7", Focal35MM: 24, Cropped: true}, CroppedPicture},
		{photo.Lens{Make: "samsung", Model: "SM-G991B", Focal35MM: 26}, PhoneWithFocal},
		{photo.Lens{Make: "SAMSUNG", Model: "NX300", Focal35MM: 27, FocalMM: 18}, CameraWithFocal},
		{photo.Lens{Make: "Canon", Model: "Canon PowerShot", Focal35MM: 28, FocalMM: 5}, CameraWithFocal},
		{photo.Lens{Make: "Canon", Model: "Canon PowerShot", FocalMM: 5}, UnknownCamera},
		{photo.Lens{Make: "HUAWEI", Model: "P20"}, UnknownPhone},
		{photo.Lens{}, UnknownPhone},
	} {
		if got := ClassOf(c.lens); got != c.want {
			t.Errorf("ClassOf(%+v) = %v, want %v", c.lens, got, c.want)
		}
	}
}

// A lens whose 35 mm equivalent is the diagonal of 36 x 24 mm sees the picture's
// diagonal at a distance of itself: its focal length is the diagonal in pixels. Read
// by the width instead (36 mm) a 4:3 picture gives 4 % less.
func TestFocalLengthByTheDiagonal(t *testing.T) {
	diagonal := math.Sqrt(36*36 + 24*24)
	if got := focalPxFrom35MM(diagonal, 4032, 3024); math.Abs(got-5040) > 1e-9 { // 3-4-5 times 1008
		t.Errorf("focal length %.3f px, want 5040", got)
	}
	if share := 4032 / 36.0 / focalPxFrom35MM(1, 4032, 3024); math.Abs(share-0.9615) > 1e-3 {
		t.Errorf("by the width %.4f of that by the diagonal, want 0.96", share)
	}
}

// Sum and difference of two readings, each with standard uncertainty u: u√2/2 and
// u√2 (JCGM 100:2008, 5.1.2).
func TestPrintPrior(t *testing.T) {
	p := card.Print{Across: card.Ratio{Value: 1.002, Uncertainty: 0.001}, Along: card.Ratio{Value: 0.998, Uncertainty: 0.001}}
	p.Measured = p.Measured.AddDate(2024, 0, 0)
	scale, anisotropy := printPrior(p, 0.0025)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"scale", scale.Value, 0}, {"its uncertainty", scale.Uncertainty, 0.001 / math.Sqrt2},
		{"anisotropy", anisotropy.Value, 0.004}, {"its uncertainty", anisotropy.Uncertainty, 0.001 * math.Sqrt2},
	} {
		if math.Abs(c.got-c.want) > 1e-12 {
			t.Errorf("%s = %g, want %g", c.name, c.got, c.want)
		}
	}
	scale, anisotropy = printPrior(card.UnmeasuredPrint(card.A4, false), 0.0025)
	if math.Abs(scale.Uncertainty-0.005/math.Sqrt(3)) > 1e-12 || anisotropy.Uncertainty != 0.0025 {
		t.Errorf("unmeasured: %+v, %+v", scale, anisotropy)
	}
}
