package measure_test

import (
	"math/rand/v2"
	"testing"

	"fairedge/internal/measure"
	"fairedge/internal/photo"
)

// Four loose cards, 520 marks: the largest fit there is.
func BenchmarkCalibrateFourCards(b *testing.B) {
	s := photograph(rand.New(rand.NewPCG(1, 1)), realistic(), several())
	production(&s.Set)
	for b.Loop() {
		if _, err := measure.CalibrateSet(s.Set); err != nil {
			b.Fatal(err)
		}
	}
}

// A frame and a loose card, 350 marks.
func BenchmarkCalibrateFrameAndCard(b *testing.B) {
	s := photograph(rand.New(rand.NewPCG(1, 1)), realistic(), []target{targetOf(frame(0, 0, 0)), targetOf(loose(1, 300, 0, 0))})
	production(&s.Set)
	for b.Loop() {
		if _, err := measure.CalibrateSet(s.Set); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPlaneFromPhoto(b *testing.B) {
	s := photograph(rand.New(rand.NewPCG(1, 1)), realistic(), several())
	c, err := measure.CalibrateSet(s.Set)
	if err != nil {
		b.Fatal(err)
	}
	b.ResetTimer()
	for i := range b.N {
		c.PlaneFromPhoto(photo.Point{X: float64(i % photoWidth), Y: float64(i % photoHeight)})
	}
}

func BenchmarkPhotoFromPlane(b *testing.B) {
	s := photograph(rand.New(rand.NewPCG(1, 1)), realistic(), several())
	c, err := measure.CalibrateSet(s.Set)
	if err != nil {
		b.Fatal(err)
	}
	b.ResetTimer()
	for i := range b.N {
		c.PhotoFromPlane(s.Outline[i%len(s.Outline)])
	}
}

func BenchmarkBudget(b *testing.B) {
	s := photograph(rand.New(rand.NewPCG(1, 1)), realistic(), several())
	c, err := measure.CalibrateSet(s.Set)
	if err != nil {
		b.Fatal(err)
	}
	b.ResetTimer()
	for b.Loop() {
		if _, err := c.Budget(measure.Outline{Points: s.Outline, Closed: true}); err != nil {
			b.Fatal(err)
		}
	}
}
