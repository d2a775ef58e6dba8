package photo

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"testing"
)

// The box mean of the full-size picture is the slow way to a smaller one. On a
// picture whose colours do not clip the two agree to the rounding of each.
func TestColourIsTheBoxMean(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 61, 47))
	for y := range 47 {
		for x := range 61 {
			img.SetRGBA(x, y, color.RGBA{uint8(60 + 2*x), uint8(80 + 2*y), uint8(200 - x - y), 255})
		}
	}
	p := mustDecode(t, pngOf(t, img))
	full := p.Colour(1)
	for _, factor := range []int{1, 2, 3, 4, 7, 16, 100} {
		got := p.Colour(factor)
		if want := image.Pt((61+factor-1)/factor, (47+factor-1)/factor); got.Rect.Size() != want {
			t.Fatalf("factor %d: %v, want %v", factor, got.Rect.Size(), want)
		}
		for y := range got.Rect.Dy() {
			for x := range got.Rect.Dx() {
				var sum [3]int
				n := 0
				for yy := y * factor; yy < min((y+1)*factor, 47); yy++ {
					for xx := x * factor; xx < min((x+1)*factor, 61); xx++ {
						c := full.RGBAAt(xx, yy)
						sum[0], sum[1], sum[2], n = sum[0]+int(c.R), sum[1]+int(c.G), sum[2]+int(c.B), n+1
					}
				}
				c := got.RGBAAt(x, y)
				for i, v := range []uint8{c.R, c.G, c.B} {
					// Y', Cb and Cr are each rounded once more: 0.5 (1 + 1.772) and half for the mean.
					if d := sum[i]/n - int(v); max(d, -d) > 2 {
						t.Fatalf("factor %d at %d, %d: %v, want %v/%d", factor, x, y, c, sum, n)
					}
				}
			}
		}
	}
}

func TestYCCAgreesWithGo(t *testing.T) {
	for r := 0; r < 256; r += 15 {
		for g := 0; g < 256; g += 15 {
			for b := 0; b < 256; b += 15 {
				y, cb, cr := yccFromRGB(uint8(r), uint8(g), uint8(b))
				wy, wb, wr := color.RGBToYCbCr(uint8(r), uint8(g), uint8(b))
				gr, gg, gb := rgbFromYCC(y, cb, cr)
				vr, vg, vb := color.YCbCrToRGB(y, cb, cr)
				for _, d := range []int{int(y) - int(wy), int(cb) - int(wb), int(cr) - int(wr), int(gr) - int(vr), int(gg) - int(vg), int(gb) - int(vb)} {
					if max(d, -d) > 1 {
						t.Fatalf("%d %d %d: %d %d %d and back %d %d %d, Go has %d %d %d and %d %d %d", r, g, b, y, cb, cr, gr, gg, gb, wy, wb, wr, vr, vg, vb)
					}
				}
			}
		}
	}
}

func TestEncodeJPEG(t *testing.T) {
	data := encoded(t, corners(91, 63))
	img, err := jpeg.Decode(bytes.NewReader(data)) // another implementation reads it
	if err != nil || img.Bounds().Size() != image.Pt(91, 63) {
		t.Fatalf("%v, %v", img, err)
	}
	if bytes.Contains(data, []byte("Exif")) {
		t.Error("EXIF in the picture")
	}
	if again := encoded(t, corners(91, 63)); !bytes.Equal(data, again) {
		t.Error("not the same bytes twice")
	}
	part := corners(91, 63).SubImage(image.Rect(60, 0, 91, 30)).(*image.RGBA)
	if p := mustDecode(t, encoded(t, part)); p.Width != 31 || p.Height != 30 {
		t.Errorf("part of a picture: %d x %d", p.Width, p.Height)
	}
	for _, bad := range []*image.RGBA{{}, image.NewRGBA(image.Rect(0, 0, 0, 5)), {Pix: make([]uint8, 8), Stride: 4, Rect: image.Rect(0, 0, 1, 3)},
		image.NewRGBA(image.Rect(0, 0, 70000, 1))} {
		if EncodeJPEG(io.Discard, bad, 90) == nil {
			t.Errorf("%v: no error", bad.Rect)
		}
	}
}
