package cloth_test

import (
	"context"
	"testing"

	"fairedge/internal/cloth"
)

// BenchmarkLay lays the largest set that has to be answered within two seconds: sixteen
// plates with their piping and ties, at the work of a real run.
func BenchmarkLay(b *testing.B) {
	orders := []cloth.Order{{Pad: padOf(b, seat(b), "tie-on"), Pads: 8}}
	for b.Loop() {
		if _, err := cloth.Lay(context.Background(), cloth.DefaultCloth(), orders, cloth.DefaultOptions()); err != nil {
			b.Fatal(err)
		}
	}
}
