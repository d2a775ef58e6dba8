package photo

import (
	"fmt"
	"image"
	"testing"
)

// What libheif's encoder can make: half-size and full-size colour, 10 bits,
// limited range. All show the same corners.
func TestHEICKinds(t *testing.T) {
	photo := encoded(t, corners(96, 64))
	for _, options := range [][]string{
		{"-p", "chroma=420"}, {"-p", "chroma=422"}, {"-p", "chroma=444"}, {"-b", "10"}, {"-b", "12", "-p", "chroma=444"},
		{"--full_range_flag=0"}, {"--full_range_flag=1"}, {"--full_range_flag=0", "-b", "10"},
	} {
		p := mustDecode(t, heicFrom(t, photo, options...))
		checkCorners(t, fmt.Sprint("HEIC ", options), p, 96, 64)
		// The middle is (90, 90, 90), far from any edge: a wrong range makes 86 or 93 of it.
		if grey := p.Luma[32*96+48]; grey < 89 || grey > 91 {
			t.Errorf("HEIC %v: the grey 90 has become %d", options, grey)
		}
	}
}

// A container that states limited range for a stream that does not say: black is
// 16 and white 235 (ITU-R BT.601-7, 2.5.3).
func TestHEICLimitedRangeByContainer(t *testing.T) {
	heic := heicFrom(t, encoded(t, corners(96, 64)))
	full := mustDecode(t, heic)
	// colr, type nclx: primaries 1, transfer 13, matrix 6 (ITU-T H.273), not full range.
	colr := append([]byte{0, 0, 0, 19}, "colrnclx\x00\x01\x00\x0d\x00\x06\x00"...)
	limited := mustDecode(t, withTransforms(t, heic, colr))
	for i, v := range full.Luma {
		want := min(max((float64(v)-16)*255/219, 0), 255)
		if d := float64(limited.Luma[i]) - want; max(d, -d) > 1.5 {
			t.Fatalf("luma %d became %d, want %.2f", v, limited.Luma[i], want)
		}
	}
	for i, v := range full.Cb {
		want := min(max((float64(v)-128)*255/224+128, 0), 255)
		if d := float64(limited.Cb[i]) - want; max(d, -d) > 1.5 {
			t.Fatalf("Cb %d became %d, want %.2f", v, limited.Cb[i], want)
		}
	}
}

// The container may cut the picture (clap); then its focal length cannot be
// turned into pixels.
func TestHEICCutIsCropped(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 96, 64))
	copy(img.Pix, corners(96, 64).Pix)
	heic := heicFrom(t, encoded(t, img))
	if mustDecode(t, heic).Lens.Cropped {
		t.Error("uncut, but cropped")
	}
	// clap: width 48/1, height 32/1, offsets of the centre 0/1 (ISO/IEC 14496-12, 12.1.4).
	clap := append([]byte{0, 0, 0, 40}, "clap\x00\x00\x00\x30\x00\x00\x00\x01\x00\x00\x00\x20\x00\x00\x00\x01"+
		"\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x00\x00\x00\x00\x01"...)
	p := mustDecode(t, withTransforms(t, heic, clap))
	if p.Width != 48 || p.Height != 32 || !p.Lens.Cropped {
		t.Errorf("cut to 48 x 32: %d x %d, %+v", p.Width, p.Height, p.Lens)
	}
}
