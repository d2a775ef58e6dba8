package job_test

import (
	"context"
	"testing"
	"time"

	"fairedge/internal/job"
)

// Everything but starting the program and storing the files, from a 12 MP photo:
// wall and processor time, and the wall time of every stage.
func BenchmarkPhotoToFiles(b *testing.B) {
	stages := map[string]float64{}
	var order []string
	pattern := job.DefaultPattern()
	printing, err := job.PrintingOn("any", nil, nil)
	if err != nil {
		b.Fatal(err)
	}
	before := processorTime(b)
	for b.Loop() {
		m, err := job.ShapeFromPhoto(context.Background(), "../../samples/tapered-four-cards.jpg", reading(), job.Quiet{})
		if err != nil {
			b.Fatal(err)
		}
		o, err := job.OutlinesFromShape(m.Shape, pattern)
		if err != nil {
			b.Fatal(err)
		}
		r, err := job.FilesOf(m, o, pattern, job.Label{Name: "bench", Date: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)}, printing)
		if err != nil {
			b.Fatal(err)
		}
		for _, t := range r.Report.Timings {
			if stages[t.Stage] == 0 {
				order = append(order, t.Stage)
			}
			stages[t.Stage] += t.Took
		}
	}
	b.ReportMetric(float64((processorTime(b)-before).Milliseconds())/float64(b.N), "cpu-ms/op")
	for _, s := range order {
		b.Logf("%-30s %6.1f ms", s, stages[s]/float64(b.N))
	}
}
