package nest

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"testing"

	"fairedge/internal/plane"
)

func rectangle(w, h float64) []plane.Point {
	return []plane.Point{{X: 0, Y: 0}, {X: w, Y: 0}, {X: w, Y: h}, {X: 0, Y: h}}
}

func solve(t testing.TB, p *Problem, work int64) *Result {
	t.Helper()
	r, err := Solve(context.Background(), p, Options{Seed: 1, Work: work})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestRectanglesThatTileExactly: closed form, the area over the width.
func TestRectanglesThatTileExactly(t *testing.T) {
	for _, c := range []struct {
		name   string
		p      Problem
		length float64
		sheets int
	}{
		{"two across, decimals", Problem{Width: 1370, Items: []Item{{Outline: rectangle(450.5, 685), Demand: 4}}}, 901, 1},
		{"ten across", Problem{Width: 1370, Items: []Item{{Outline: rectangle(200, 137), Demand: 20}}}, 400, 1},
		{"quarter turn needed", Problem{Width: 600, Items: []Item{{Outline: rectangle(600, 250), Demand: 2, Turns: []float64{0, 90}}}}, 500, 1},
		{"foam blanks", Problem{Width: 1000, SheetLength: 2000, Items: []Item{{Outline: rectangle(500, 500), Demand: 16}}}, 2000, 2},
		{"buffer", Problem{Width: 310, Buffer: 10, EdgeBuffer: 5, Items: []Item{{Outline: rectangle(140, 145), Demand: 4}}}, 300, 1},
	} {
		r := solve(t, &c.p, 200_000)
		if math.Abs(r.UsedLength-c.length) > 1e-5 || r.Sheets != c.sheets {
			t.Errorf("%s: length %v on sheet %d, want %v on sheet %d", c.name, r.UsedLength, r.Sheets, c.length, c.sheets)
		}
	}
}

func TestSameSeedSameBytes(t *testing.T) {
	p := readInstance(t, "fu")
	a, _ := json.Marshal(solve(t, p, 100_000))
	b, _ := json.Marshal(solve(t, p, 100_000))
	if !bytes.Equal(a, b) {
		t.Error("two runs of the same problem differ")
	}
}

func TestNeverWorseThanTheSimpleLays(t *testing.T) {
	for _, name := range []string{"albano", "fu", "mao", "marques", "shapes1", "shirts", "trousers"} {
		r := solve(t, readInstance(t, name), 20_000)
		if r.UsedLength > r.RowsLength || r.UsedLength > r.FillLength {
			t.Errorf("%s: %v, rows %v, fill %v", name, r.UsedLength, r.RowsLength, r.FillLength)
		}
	}
}
