package job_test

import (
	"context"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"fairedge/internal/detect"
	"fairedge/internal/job"
)

// The search for the edge alone, on the sample photos as they come: at most 250 ms
// of processor time and 150 ms on two idle processors at 12 MP is the goal.
func BenchmarkEdgeOfSamples(b *testing.B) {
	files, err := filepath.Glob("../../samples/*.jpg")
	if err != nil || len(files) == 0 {
		b.Fatalf("found %d samples (%v)", len(files), err)
	}
	for _, file := range files {
		b.Run(strings.TrimSuffix(filepath.Base(file), ".jpg"), func(b *testing.B) {
			m, err := job.ShapeFromPhoto(context.Background(), file, reading(), job.Quiet{})
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
