package testscene

import (
	"math"
	"runtime"
	"sync"

	"fairedge/internal/photo"
)

// develop turns light into the finished picture: the lens's fall-off and blur,
// noise, tone curve, sharpening, the JPEG's quantisation, bytes.
func (s Scene) develop(raw *rawPicture) photo.Photo {
	sensor := s.Sensor
	scratch := make([]float32, len(raw.light))
	sensor.fallOff(raw)
	blur(raw.light, scratch, raw.width, raw.height, sensor.BlurPx)
	curve := newToneCurve(sensor.Linear)
	eachBand(raw.height, func(from, to int) {
		for y := from; y < to; y++ {
			row := raw.light[y*raw.width : (y+1)*raw.width]
			sensor.addNoise(row, hash(s.Seed+101, uint64(y)))
			curve.apply(row)
		}
	})
	if sensor.Sharpen > 0 {
		sharpen(raw.light, scratch, raw.width, raw.height, sensor.Sharpen)
	}
	p := photo.Photo{Width: raw.width, Height: raw.height}
	p.Cb, p.Cr = chromaBytes(raw.cb), chromaBytes(raw.cr)
	if sensor.JPEG > 0 {
		quantiseJPEG(raw.light, raw.width, raw.height, sensor.JPEG)
	}
	p.Luma = toBytes(raw.light)
	return p
}

// eachBand runs f on bands of rows at once. Bands do not depend on the number of
// processors, and f must not look outside its own.
func eachBand(rows int, f func(from, to int)) {
	const band = 64
	next := make(chan int, rows/band+1)
	for from := 0; from < rows; from += band {
		next <- from
	}
	close(next)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for from := range next {
				f(from, min(from+band, rows))
			}
		}()
	}
	wait.Wait()
}

// fallOff exposes the picture and dims it towards one side and the corners.
func (c Sensor) fallOff(raw *rawPicture) {
	exposure := c.Exposure
	if exposure == 0 {
		exposure = 0.9
	}
	w, h := float64(raw.width), float64(raw.height)
	gx, gy := math.Cos(c.GradientTo), math.Sin(c.GradientTo)
	diagonal := math.Hypot(w, h) / 2
	eachBand(raw.height, func(from, to int) {
		for y := from; y < to; y++ {
			row := raw.light[y*raw.width : (y+1)*raw.width]
			v := (float64(y) + 0.5 - h/2) / diagonal
			for x := range row {
				u := (float64(x) + 0.5 - w/2) / diagonal
				g := 1 - c.Gradient*(0.5+0.5*(u*gx+v*gy)) - c.Vignette*(u*u+v*v)
				row[x] *= float32(exposure * g)
			}
		}
	})
}

// kernel returns the right half of a Gaussian of the given sigma, its middle
// first, cut off at four sigma and summing to one over both halves.
func kernel(sigma float64) []float32 {
	n := int(math.Ceil(4 * sigma))
	weights, sum := make([]float64, n+1), 0.0
	for i := range weights {
		weights[i] = math.Exp(-float64(i*i) / (2 * sigma * sigma))
		sum += weights[i]
		if i > 0 {
			sum += weights[i]
		}
	}
	half := make([]float32, n+1)
	for i := range weights {
		half[i] = float32(weights[i] / sum)
	}
	return half
}

// blur smooths the picture by a Gaussian; beyond the border the last pixel
// repeats. Below a sigma of 0.05 px it does nothing.
func blur(pix, scratch []float32, width, height int, sigma float64) {
	if sigma < 0.05 {
		return
	}
	k := kernel(sigma)
	eachBand(height, func(from, to int) {
		for y := from; y < to; y++ {
			blurRow(scratch[y*width:(y+1)*width], pix[y*width:(y+1)*width], k)
		}
	})
	eachBand(height, func(from, to int) {
		for y := from; y < to; y++ {
			blurDown(pix[y*width:(y+1)*width], scratch, width, height, y, k)
		}
	})
}

func blurRow(out, in, k []float32) {
	last := len(in) - 1
	for x := range in {
		sum := k[0] * in[x]
		if x >= len(k) && x+len(k) <= last {
			for i := 1; i < len(k); i++ {
				sum += k[i] * (in[x-i] + in[x+i])
			}
		} else {
			for i := 1; i < len(k); i++ {
				sum += k[i] * (in[max(x-i, 0)] + in[min(x+i, last)])
			}
		}
		out[x] = sum
	}
}

func blurDown(out, in []float32, width, height, y int, k []float32) {
	for x, v := range in[y*width : (y+1)*width] {
		out[x] = k[0] * v
	}
	for i := 1; i < len(k); i++ {
		up, down := max(y-i, 0)*width, min(y+i, height-1)*width
		a, b := in[up:up+width], in[down:down+width]
		for x := range out {
			out[x] += k[i] * (a[x] + b[x])
		}
	}
}

// addNoise adds noise whose variance grows with the light, as photons' does. The
// sum of four even random numbers stands for a Gaussian: same variance, kurtosis
// 2.7 instead of 3.
func (c Sensor) addNoise(row []float32, seed uint64) {
	if c.NoiseShare <= 0 {
		return
	}
	scale := float32(c.NoiseShare * math.Sqrt(3) / 65536)
	for x, v := range row {
		h := hash(seed, uint64(x))
		sum := int32(h&0xffff) + int32(h>>16&0xffff) + int32(h>>32&0xffff) + int32(h>>48) - 131070
		row[x] = v + scale*float32(sum)*float32(math.Sqrt(float64(max(v, 0.002))))
	}
}

// toneCurve is the sRGB transfer function (IEC 61966-2-1) as a table, or nothing.
type toneCurve struct{ table []float32 }

const toneSteps = 8192

func newToneCurve(linear bool) toneCurve {
	if linear {
		return toneCurve{}
	}
	t := toneCurve{make([]float32, toneSteps+2)}
	for i := range t.table {
		v := float64(i) / toneSteps
		if v <= 0.0031308 {
			t.table[i] = float32(12.92 * v)
		} else {
			t.table[i] = float32(1.055*math.Pow(v, 1/2.4) - 0.055)
		}
	}
	return t
}

func (t toneCurve) apply(row []float32) {
	for x, v := range row {
		v = max(0, min(1, v))
		if t.table != nil {
			s := v * toneSteps
			i := int(s)
			v = t.table[i] + (s-float32(i))*(t.table[i+1]-t.table[i])
		}
		row[x] = v
	}
}

// sharpen adds the difference from a blurred copy (sigma 1 px).
func sharpen(pix, scratch []float32, width, height int, amount float64) {
	copyOf := append([]float32(nil), pix...)
	blur(pix, scratch, width, height, 1)
	a := float32(amount)
	for i, v := range copyOf {
		pix[i] = v + a*(v-pix[i])
	}
}

func toBytes(pix []float32) []uint8 {
	out := make([]uint8, len(pix))
	for i, v := range pix {
		out[i] = uint8(max(0, min(255, v*255+0.5)))
	}
	return out
}

func chromaBytes(pix []float32) []uint8 {
	out := make([]uint8, len(pix))
	for i, v := range pix {
		out[i] = uint8(max(0, min(255, v+128.5)))
	}
	return out
}
