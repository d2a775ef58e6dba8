package detect_test

import (
	"testing"

	"fairedge/internal/detect"
	"fairedge/internal/testscene"
)

// The goal is 150 ms on two idle cores for 12 MP, 250 ms of processor time.
func BenchmarkTracedEdge(b *testing.B) {
	kinds := []struct {
		name   string
		change func(s *testscene.Scene)
	}{
		{"line", func(s *testscene.Scene) { centreTick(s, 22) }},
		{"open", openAtBack},
		{"cut", func(s *testscene.Scene) { s.Kind = testscene.CutTemplate }},
	}
	for _, k := range kinds {
		b.Run(k.name, func(b *testing.B) {
			s := testscene.Workbench()
			k.change(&s)
			picture, truth := s.Photograph()
			cards := sightings(truth)
			b.ResetTimer()
			for b.Loop() {
				if _, _, err := detect.TracedEdge(&picture, truth, cards, detect.EdgeRequest{}, detect.DefaultEdgeParams()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
