package shapefile_test

import (
	"os"
	"testing"

	"fairedge/internal/shapefile"
)

// go test -run '^$' -bench . -cpu 1 ./internal/shapefile

func BenchmarkEncode(b *testing.B) {
	d := measuredDocument(b)
	for b.Loop() {
		if _, err := shapefile.EncodeDocument(d); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecode(b *testing.B) {
	data, err := shapefile.EncodeDocument(measuredDocument(b))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := shapefile.DecodeDocument(data); err != nil {
			b.Fatal(err)
		}
	}
}

// measuredDocument is the seat of a real measurement.
func measuredDocument(b *testing.B) shapefile.Document {
	b.Helper()
	data, err := os.ReadFile("testdata/measurement-without-shape.json")
	if err != nil {
		b.Fatal(err)
	}
	d, err := shapefile.DecodeDocument(data)
	if err != nil {
		b.Fatal(err)
	}
	return d
}
