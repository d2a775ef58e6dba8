package photo

import (
	"image"
	"math/rand"
	"testing"
)

// noisy is a picture that costs as much to decode as a phone's: about 0.35 bytes
// a pixel.
func noisy(width, height int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	random := rand.New(rand.NewSource(1))
	for y := range height {
		for x := range width {
			v := 40 + (x*150)/width + (y*40)/height + random.Intn(14)
			p := img.Pix[y*img.Stride+4*x:]
			p[0], p[1], p[2], p[3] = uint8(v), uint8(v-10), uint8(v-20), 255
		}
	}
	return img
}

func benchmarkJPEG(b *testing.B, orientation int) {
	data := oriented(encoded(b, noisy(4032, 3024)), orientation)
	b.ReportMetric(float64(len(data))/(4032*3024), "bytes/px")
	b.ReportAllocs()
	for b.Loop() {
		mustDecode(b, data)
	}
}

func BenchmarkJPEG12MP(b *testing.B)       { benchmarkJPEG(b, 1) }
func BenchmarkJPEG12MPTurned(b *testing.B) { benchmarkJPEG(b, 6) }

func BenchmarkColour12MPTo3MP(b *testing.B) {
	p := mustDecode(b, encoded(b, noisy(4032, 3024)))
	for b.Loop() {
		p.Colour(2)
	}
}
