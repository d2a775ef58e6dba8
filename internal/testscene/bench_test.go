package testscene

import "testing"

// BenchmarkPhotograph is the cost of the everyday scene at 3 and at 12 MP.
func BenchmarkPhotograph(b *testing.B) {
	for name, share := range map[string]float64{"3MP": 0.5, "12MP": 1} {
		b.Run(name, func(b *testing.B) {
			s := Workbench()
			s.Camera = s.Camera.Scaled(share)
			for b.Loop() {
				s.Photograph()
			}
		})
	}
}
