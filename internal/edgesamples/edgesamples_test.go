package edgesamples

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestSamplesReadBackBitForBit(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		want := rapid.SliceOf(rapid.Custom(func(rt *rapid.T) Sample {
			return Sample{rapid.Float64().Draw(rt, "x"), rapid.Float64().Draw(rt, "y"), rapid.Float64().Draw(rt, "sigma"),
				rapid.Bool().Draw(rt, "bridged"), rapid.Bool().Draw(rt, "sheet edge")}
		})).Draw(rt, "samples")
		data, err := Encode(want)
		if err != nil {
			rt.Fatal(err)
		}
		got, err := Decode(data)
		if err != nil {
			rt.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			rt.Fatal(diff)
		}
	})
}

func TestSamplesThatAreNone(t *testing.T) {
	if _, err := Encode([]Sample{{X: math.NaN()}}); err == nil {
		t.Error("a sample that is no number was encoded")
	}
	for _, text := range []string{"", "{}", "[]", `{"format":2,"unit":"mm","frame":"seat"}`, `{"format":1,"unit":"in","frame":"seat"}`} {
		if _, err := Decode([]byte(text)); err == nil {
			t.Errorf("%q was read", text)
		}
	}
}
