package curve

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// BenchmarkFitClosed measures one fit of the T seat: 6000 samples, and 2000 as
// the edge finder gives.
func BenchmarkFitClosed(b *testing.B) {
	for _, c := range []struct {
		name string
		n    float64
	}{{"6000", 6000}, {"2000", 2000}} {
		truth := loadFitTruth(b, "S3_Tcushion")
		samples := noisy(sampleEvenly(truth.path, 2212.684/c.n), 0.15, 0, 1)
		b.Run(c.name, func(b *testing.B) { benchmarkFit(b, samples, DefaultFitParams()) })
	}
}

// BenchmarkFitPhoto measures the fit of what the edge finder read off the sample
// photos, with the resolution that a hand deserves.
func BenchmarkFitPhoto(b *testing.B) {
	params := DefaultFitParams()
	params.Resolution = handResolution
	for _, name := range fitPhotoNames {
		samples := loadFitPhoto(b, name)
		b.Run(name, func(b *testing.B) { benchmarkFit(b, samples, params) })
	}
}

// handResolution is what the program asks for (job): a hand's waver, mm.
const handResolution = 0.25

func benchmarkFit(b *testing.B, samples []Sample, params FitParams) {
	for b.Loop() {
		if _, err := FitClosed(samples, params); err != nil {
			b.Fatal(err)
		}
	}
}

var fitPhotoNames = []string{"tapered-four-cards", "one-card-beside", "cut-on-mat", "open-line-frame"}

func loadFitPhoto(t testing.TB, name string) []Sample {
	t.Helper()
	out := loadFitCSV(t, "photo-"+name+".csv")
	f, err := os.Open(filepath.Join("testdata", "photo-"+name+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) != len(out)+1 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	for i, r := range rows[1:] {
		if out[i].Sigma, err = strconv.ParseFloat(r[2], 64); err != nil {
			t.Fatal(err)
		}
		out[i].Bridged = r[3] == "1"
	}
	return out
}
