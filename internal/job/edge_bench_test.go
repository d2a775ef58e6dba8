package job_test

import (
	"context"
	"syscall"
	"testing"
	"time"

	"fairedge/internal/detect"
	"fairedge/internal/job"
)

// The search for the edge alone, on the sample photos as they come: at most 250 ms
// of processor time and 150 ms on two idle processors at 12 MP is the goal.
func BenchmarkEdgeOfSamples(b *testing.B) {
	for _, name := range []string{"tapered-four-cards", "one-card-beside", "cut-on-mat", "open-line-frame"} {
		b.Run(name, func(b *testing.B) {
			m, err := job.ShapeFromPhoto(context.Background(), "../../samples/"+name+".jpg", reading(), job.Quiet{})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			b.ResetTimer()
			before := processorTime(b)
			for b.Loop() {
				if _, _, err := detect.TracedEdge(m.Photo, m.Calibration, m.Sightings, detect.EdgeRequest{}, detect.DefaultEdgeParams()); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64((processorTime(b)-before).Milliseconds())/float64(b.N), "cpu-ms/op")
		})
	}
}

// processorTime returns the time that the processors have spent on this process.
func processorTime(b *testing.B) time.Duration {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		b.Fatal(err)
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}
