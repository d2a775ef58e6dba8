package testscene

import "math"

// luminanceTable is Table K.1 of ITU-T T.81, the quantisation of grey that most
// cameras' tables are scaled from.
var luminanceTable = [64]float64{
	16, 11, 10, 16, 24, 40, 51, 61,
	12, 12, 14, 19, 26, 58, 60, 55,
	14, 13, 16, 24, 40, 57, 69, 56,
	14, 17, 22, 29, 51, 87, 80, 62,
	18, 22, 37, 56, 68, 109, 103, 77,
	24, 35, 55, 64, 81, 104, 113, 92,
	49, 64, 78, 87, 103, 121, 120, 101,
	72, 92, 95, 98, 112, 100, 103, 99,
}

// quantiseJPEG does to the grey values (0 to 1) what a JPEG of the given quality
// does: transform blocks of 8 x 8, round, transform back. The quality scales the
// table by the rule of the Independent JPEG Group's library.
func quantiseJPEG(pix []float32, width, height, quality int) {
	steps := jpegSteps(quality)
	cosines := dctMatrix()
	blocks := (height + 7) / 8
	eachBand(blocks, func(from, to int) {
		for by := from; by < to; by++ {
			for x := 0; x < width; x += 8 {
				quantiseBlock(pix, width, height, x, by*8, &steps, &cosines)
			}
		}
	})
}

func jpegSteps(quality int) [64]float32 {
	scale := 200 - 2*float64(quality)
	if quality < 50 {
		scale = 5000 / float64(max(quality, 1))
	}
	var steps [64]float32
	for i, v := range luminanceTable {
		steps[i] = float32(math.Max(1, math.Min(255, math.Floor((v*scale+50)/100))))
	}
	return steps
}

// dctMatrix is the orthonormal cosine transform of length 8; T.81's two-
// dimensional transform is the product of two of it.
func dctMatrix() [64]float32 {
	var m [64]float32
	for u := range 8 {
		norm := 0.5
		if u == 0 {
			norm = math.Sqrt(0.125)
		}
		for x := range 8 {
			m[u*8+x] = float32(norm * math.Cos(float64((2*x+1)*u)*math.Pi/16))
		}
	}
	return m
}

func quantiseBlock(pix []float32, width, height, x0, y0 int, steps, m *[64]float32) {
	var b, t [64]float32
	for y := range 8 {
		row := min(y0+y, height-1) * width
		for x := range 8 {
			v := pix[row+min(x0+x, width-1)]
			b[y*8+x] = float32(math.Round(float64(max(0, min(1, v))*255))) - 128
		}
	}
	multiply(&t, m, &b, false) // m b
	multiply(&b, &t, m, true)  // (m b) mᵀ
	for i, s := range steps {
		b[i] = s * float32(math.RoundToEven(float64(b[i]/s)))
	}
	mt := transposed(m)
	multiply(&t, &mt, &b, false)
	multiply(&b, &t, &mt, true)
	for y := range min(8, height-y0) {
		for x := range min(8, width-x0) {
			pix[(y0+y)*width+x0+x] = (b[y*8+x] + 128) / 255
		}
	}
}

// multiply sets out = a b, or a bᵀ.
func multiply(out, a, b *[64]float32, bTransposed bool) {
	for i := range 8 {
		for j := range 8 {
			var sum float32
			for k := range 8 {
				if bTransposed {
					sum += a[i*8+k] * b[j*8+k]
				} else {
					sum += a[i*8+k] * b[k*8+j]
				}
			}
			out[i*8+j] = sum
		}
	}
}

func transposed(m *[64]float32) [64]float32 {
	var t [64]float32
	for i := range 8 {
		for j := range 8 {
			t[j*8+i] = m[i*8+j]
		}
	}
	return t
}
