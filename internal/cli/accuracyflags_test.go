package cli

import (
	"math"
	"strings"
	"testing"

	"fairedge/internal/measure"
)

func TestTapedLength(t *testing.T) {
	for _, test := range []struct {
		text       string
		size       measure.TapedSize
		mm, withIn float64 // an inch is 25.4 mm (1959)
	}{
		{"width=415mm", measure.TapedWidth, 415, 0.5},
		{"Depth = 41,5 cm", measure.TapedDepth, 415, 0.5},
		{"width=16 1/2in+-1/16in", measure.TapedWidth, 419.1, 1.5875},
		{"depth=410mm±1mm", measure.TapedDepth, 410, 1},
		{"depth=410 +/- 2", measure.TapedDepth, 410, 2},
	} {
		got, err := tapedLength(test.text)
		if err != nil || got.Size != test.size || math.Abs(got.Value.Millimetres()-test.mm) > 1e-9 || math.Abs(got.Bound.Millimetres()-test.withIn) > 1e-9 {
			t.Errorf("tapedLength(%q) = %+v, %v", test.text, got, err)
		}
	}
	for _, text := range []string{"", "415mm", "height=4cm", "width=", "width=mm", "width=10mm", "width=5m", "width=415mm+-", "width=415mm+-0mm", "width=415mm+-30mm", "width=-415mm", "width=415mm+--1mm"} {
		if got, err := tapedLength(text); err == nil || !strings.Contains(err.Error(), "write it like") {
			t.Errorf("tapedLength(%q) = %+v, %v; want a refusal", text, got, err)
		}
	}
}

func FuzzTapedLength(f *testing.F) {
	f.Add("width=415mm+-0.5mm")
	f.Add("depth=16 1/2in")
	f.Fuzz(func(t *testing.T, text string) {
		got, err := tapedLength(text)
		if err == nil && !(got.Value >= leastTaped && got.Value <= greatestTaped && got.Bound > 0 && got.Bound <= greatestTapeSlip) {
			t.Errorf("tapedLength(%q) = %+v", text, got)
		}
	})
}
