package testscene

import (
	"bytes"
	"image"
	"image/jpeg"
	"math"
	"testing"

	"fairedge/internal/plane"
)

// The share of a turned, sheared pixel on one side of a line, against 200 x 200
// points.
func TestShareIsTheAreaCutOff(t *testing.T) {
	prints := []footprint{
		newFootprint(plane.Vec{X: 0.2}, plane.Vec{Y: -0.2}),
		newFootprint(plane.Vec{X: 0.3, Y: 0.1}, plane.Vec{X: 0.05, Y: -0.25}),
		newFootprint(plane.Vec{X: 0.1, Y: 0.1}, plane.Vec{X: 0.2, Y: -0.2}),
	}
	for k, f := range prints {
		for step := range 60 {
			n := plane.RigidFromAngle(float64(step)*0.37, plane.Vec{}).ApplyVec(plane.Vec{X: 1})
			d := 0.3 * math.Sin(float64(step)*1.3)
			inside := 0
			for i := range 200 {
				for j := range 200 {
					v := f.across.Scale((float64(i)+0.5)/200 - 0.5).Add(f.down.Scale((float64(j)+0.5)/200 - 0.5))
					if d+v.Dot(n) >= 0 {
						inside++
					}
				}
			}
			if got, want := f.share(d, n), float64(inside)/40000; math.Abs(got-want) > 0.006 {
				t.Errorf("footprint %d: share(%.3f, %v) = %.4f, want %.4f", k, d, n, got, want)
			}
		}
	}
}

// A single bright pixel becomes the Gaussian of the stated sigma, sampled at whole
// pixels, the same across and down.
func TestBlurOfAPoint(t *testing.T) {
	for _, sigma := range []float64{0.7, 1, 1.6} {
		const w, h, cx, cy = 60, 40, 31, 18
		pix := make([]float32, w*h)
		pix[cy*w+cx] = 1
		blur(pix, make([]float32, w*h), w, h, sigma)
		for y := range h {
			for x := range w {
				r2 := float64((x-cx)*(x-cx) + (y-cy)*(y-cy))
				// A Gaussian sampled at whole numbers sums to 1 within 2 exp(-2 π² sigma²)
				// (Poisson's summation formula): 1.3e-4 at 0.7.
				want := math.Exp(-r2/(2*sigma*sigma)) / (2 * math.Pi * sigma * sigma)
				if got := float64(pix[y*w+x]); math.Abs(got-want) > 2e-4 {
					t.Errorf("sigma %g at (%d, %d): %.5f, want %.5f", sigma, x-cx, y-cy, got, want)
				}
			}
		}
	}
}

// The noise has the stated variance, grows with the root of the light and leaves
// the mean alone; bounds are five standard errors of 200,000 numbers.
func TestNoiseHasTheStatedSize(t *testing.T) {
	c := Sensor{NoiseShare: 0.02}
	for _, light := range []float64{0.1, 0.5, 1} {
		row := make([]float32, 200_000)
		for i := range row {
			row[i] = float32(light)
		}
		c.addNoise(row, 7)
		var sum, sumSq float64
		for _, v := range row {
			d := float64(v) - light
			sum, sumSq = sum+d, sumSq+d*d
		}
		n := float64(len(row))
		want := 0.02 * math.Sqrt(light)
		if got := math.Sqrt(sumSq / n); math.Abs(got/want-1) > 5/math.Sqrt(2*n) {
			t.Errorf("light %g: sigma %.5f, want %.5f", light, got, want)
		}
		if mean := math.Abs(sum / n); mean > 5*want/math.Sqrt(n) {
			t.Errorf("light %g: mean moved by %.6f", light, mean)
		}
	}
}

// The tone curve at the points that IEC 61966-2-1 fixes: linear below 0.0031308,
// 0.5 of the signal at 0.21404 of the light.
func TestToneCurveIsSRGB(t *testing.T) {
	row := []float32{0, 0.001, 0.2140411, 1, 1.5, -0.2}
	newToneCurve(false).apply(row)
	for i, want := range []float64{0, 0.01292, 0.5, 1, 1, 0} {
		if math.Abs(float64(row[i])-want) > 2e-5 {
			t.Errorf("value %d = %.6f, want %.6f", i, row[i], want)
		}
	}
}

// The imitated JPEG against the standard library's encoder and decoder: nearly
// every pixel the same to rounding, while both differ from the original.
func TestJPEGLossAgainstARealJPEG(t *testing.T) {
	s := Workbench()
	s.Camera = s.Camera.Scaled(0.1)
	original, _ := s.Photograph()
	s.Sensor.JPEG = 80
	imitated, _ := s.Photograph()
	w, h := original.Width, original.Height
	picture := image.NewGray(image.Rect(0, 0, w, h))
	copy(picture.Pix, original.Luma)
	var file bytes.Buffer
	if err := jpeg.Encode(&file, picture, &jpeg.Options{Quality: 80}); err != nil {
		t.Fatal(err)
	}
	decoded, err := jpeg.Decode(&file)
	if err != nil {
		t.Fatal(err)
	}
	real := decoded.(*image.Gray)
	var loss, difference float64
	for y := range h / 8 * 8 { // whole blocks: padding beyond them is free
		for x := range w / 8 * 8 {
			a, b := float64(imitated.Luma[y*w+x]), float64(real.Pix[y*real.Stride+x])
			loss += math.Pow(b-float64(original.Luma[y*w+x]), 2)
			difference += math.Pow(a-b, 2)
		}
	}
	if rms := math.Sqrt(difference / float64(w*h)); rms > 0.6 || difference > loss/10 {
		t.Errorf("imitated JPEG differs by %.3f levels rms, the loss itself being %.3f", rms, math.Sqrt(loss/float64(w*h)))
	}
}
