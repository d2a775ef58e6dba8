package cloth_test

import (
	"context"
	"math"
	"testing"

	"fairedge/internal/cloth"
	"fairedge/internal/length"
	"fairedge/internal/pad"
)

// quick is a small budget: lays of rectangles are found at once.
func quick() cloth.Options {
	o := cloth.DefaultOptions()
	o.Params.Work = 60_000
	return o
}

// TestSquaresFromCloth: published yardages. Dining seats of 27 x 27 in: three pages of
// upholstery yardage agree on two seats from 3/4 yd of 54 in cloth, and 1 1/2, 2 1/4 and 3
// yd for 4, 6 and 8 chairs. Seats of 26 x 28 in (20 x 22 and 6 in each way): 28 in, sold
// as 7/8 yd; the page says "two from 1 yd". Squares for pillows: a newspaper column: nine of
// 18 in from 54 x 54 in; four of 15 in from 1/2 yd of 60 in, and from 30 in, sold as
// 7/8 yd, of 54 in.
func TestSquaresFromCloth(t *testing.T) {
	tests := []struct {
		across, along, width length.Length
		count                int
		needed, buy          length.Length
	}{
		{27, 27, 54, 2, 27, 27}, {27, 27, 54, 4, 54, 54}, {27, 27, 54, 6, 81, 81}, {27, 27, 54, 8, 108, 108},
		{26, 28, 54, 2, 28, 31.5},
		{18, 18, 54, 9, 54, 54}, {18, 18, 54, 10, 72, 72},
		{15, 15, 60, 4, 15, 18}, {15, 15, 54, 4, 30, 31.5},
	}
	for _, test := range tests {
		l := mustLay(t, bare(test.width*inch), quick(), cloth.Order{Pad: block(test.across*inch, test.along*inch), Pads: test.count})
		if math.Abs(l.Needed.Inches()-float64(test.needed)) > 1e-4 || math.Abs(l.Buy.Inches()-float64(test.buy)) > 1e-9 {
			t.Errorf("%d of %g x %g in on %g in: needed %.4f in, buy %.4f in, want %g and %g", test.count, test.across, test.along, test.width,
				l.Needed.Inches(), l.Buy.Inches(), test.needed, test.buy)
		}
		if len(l.Pieces) != test.count {
			t.Errorf("%d pieces of %d are laid", len(l.Pieces), test.count)
		}
	}
}

// stripsOnly is a pad of nothing but straight or bias strips.
func stripsOnly(cut pad.StripCut, count int, long, wide length.Length) pad.Pad {
	return pad.Pad{Strips: []pad.Strip{{Name: "Strip", Kind: pad.FacingStrip, Count: count, Length: long, Width: wide, Cut: cut}}}
}

// TestStripsPerWidth: an upholsterers' forum: 950 in of 1 1/2 in welt from 54 in cloth are
// 17.6, so 18 strips, and 27 in of cloth.
func TestStripsPerWidth(t *testing.T) {
	n, cut := pad.StripsAcross(950*inch, 54*inch, 1.5*inch)
	if n != 18 || cut != 27*inch {
		t.Fatalf("%d strips, %v of cloth, want 18 and 27 in", n, cut)
	}
	l := mustLay(t, bare(54*inch), quick(), cloth.Order{Pad: stripsOnly(pad.Straight, n, 54*inch, 1.5*inch), Pads: 1})
	if math.Abs(l.Needed.Inches()-27) > 1e-6 || l.Usage < 1-1e-9 {
		t.Errorf("18 strips take %.4f in, %.4f of it used; want 27 in and all", l.Needed.Inches(), l.Usage)
	}
}

// TestBiasStrips: the longest strip at 45 degrees across 54 in is 54 √2 = 76.37 in (the
// forum says 76). n strips of width w side by side take w √2 of the selvedge each, and the
// triangles at both ends together one width of the cloth.
func TestBiasStrips(t *testing.T) {
	longest := pad.LongestBias(54 * inch)
	if math.Abs(longest.Inches()-76.37) > 0.005 {
		t.Fatalf("the longest strip is %v", longest)
	}
	for _, n := range []int{1, 4, 9} {
		l := mustLay(t, bare(54*inch), quick(), cloth.Order{Pad: stripsOnly(pad.Bias, n, longest, 1.5*inch), Pads: 1})
		want := 54 + float64(n)*1.5*math.Sqrt2
		if math.Abs(l.Needed.Inches()-want) > 1e-4 || len(l.Pieces) != n {
			t.Errorf("%d bias strips take %.4f in, want %.4f", n, l.Needed.Inches(), want)
		}
	}
	if _, err := cloth.Lay(context.Background(), bare(54*inch), []cloth.Order{{Pad: stripsOnly(pad.Bias, 1, 76.5*inch, 1.5*inch), Pads: 1}}, quick()); err == nil {
		t.Error("a strip longer than the longest is laid")
	}
}

// TestRepeatRounding: a design guide: a piece of 500 mm on a repeat of 640 mm takes 640 mm;
// a half drop adds half a repeat for alternate rows.
func TestRepeatRounding(t *testing.T) {
	c := bare(2100 * mm)
	c.SoldBy = mm
	c.Repeat = cloth.Repeat{Along: 640 * mm, Across: 700 * mm}
	square := block(500*mm, 500*mm)
	for _, test := range []struct {
		half  bool
		count int
		buy   length.Length
	}{{false, 1, 640}, {false, 3, 640}, {false, 4, 1280}, {false, 9, 1920}, {true, 1, 640}, {true, 3, 960}} {
		c.Repeat.HalfDrop = test.half
		l := mustLay(t, c, quick(), cloth.Order{Pad: square, Pads: test.count})
		if l.Buy != test.buy {
			t.Errorf("half drop %v, %d squares: buy %v, want %v mm", test.half, test.count, l.Buy, test.buy)
		}
	}
}

// TestRepeatSurcharge: a trade chart and its worked example: 17 x 10 in on 54 in cloth, 27
// in together, is 20 %, so 8 yd become 9.6. On 50 to 52 in cloth every class is 10 points
// higher.
func TestRepeatSurcharge(t *testing.T) {
	tests := []struct{ width, along, across, share float64 }{
		{54, 0, 0, 0}, {54, 3, 0, 0.10}, {54, 14, 0, 0.10}, {54, 15, 0, 0.15}, {54, 10, 9, 0.15}, {54, 17, 10, 0.20},
		{54, 14, 14, 0.25}, {54, 25.5, 12, 0.30}, {54, 27, 27, 0.35}, {50, 17, 10, 0.30}, {52, 27, 27, 0.45}, {50, 0, 0, 0},
	}
	for _, test := range tests {
		share, ok := cloth.RepeatSurcharge(length.Length(test.width)*inch, length.Length(test.along)*inch, length.Length(test.across)*inch)
		if !ok || math.Abs(share-test.share) > 1e-12 {
			t.Errorf("%g x %g in on %g in: %v, %v, want %v", test.along, test.across, test.width, share, ok, test.share)
		}
	}
	if share, _ := cloth.RepeatSurcharge(54*inch, 17*inch, 10*inch); math.Abs(8*(1+share)-9.6) > 1e-12 {
		t.Errorf("8 yd become %v, want 9.6", 8*(1+share))
	}
	if _, ok := cloth.RepeatSurcharge(54*inch, 40*inch, 20*inch); ok {
		t.Error("the chart ends at 54 in")
	}
}

// TestWidthChart: a published chart of equivalent yardages, often credited to a state
// extension service: rows for the same garment on cloth of 35-36, 39, 42, 44-45, 50, 52-54
// and 60 in. Equal area gives every entry within a tenth.
func TestWidthChart(t *testing.T) {
	widths := []float64{36, 39, 42, 45, 50, 54, 60}
	chart := [][]float64{
		{1.75, 1.5, 1.5, 1.375, 1.25, 1.125, 1}, {2, 1.75, 1.75, 1.625, 1.5, 1.375, 1.25}, {2.25, 2, 2, 1.75, 1.625, 1.5, 1.375},
		{2.5, 2.25, 2.25, 2.125, 1.75, 1.75, 1.625}, {2.875, 2.5, 2.5, 2.25, 2, 1.875, 1.75}, {3.125, 2.75, 2.75, 2.5, 2.25, 2, 1.875},
		{3.375, 3, 2.875, 2.75, 2.375, 2.25, 2}, {3.75, 3.25, 3.125, 2.875, 2.625, 2.375, 2.25}, {4.25, 3.5, 3.375, 3.125, 2.75, 2.625, 2.375},
		{4.5, 3.75, 3.625, 3.375, 3, 2.75, 2.625}, {4.75, 4, 3.875, 3.625, 3.25, 2.875, 2.75}, {5, 4.25, 4.125, 3.875, 3.375, 3.125, 2.875},
	}
	for i, row := range chart {
		mean := 0.0 // area of the row
		for j, yards := range row {
			mean += yards * widths[j] / float64(len(row))
		}
		for j, yards := range row {
			got := cloth.SameArea(length.Length(mean)*length.Yard, length.Inch, length.Length(widths[j])*inch)
			if ratio := float64(got / length.Yard / length.Length(yards)); ratio < 0.90 || ratio > 1.10 {
				t.Errorf("row %d, %g in: %.3f yd by area, the chart says %.3f", i+1, widths[j], float64(got/length.Yard), yards)
			}
		}
	}
}

// TestSoldBy: shops sell by a tenth of a metre or an eighth of a yard (4 1/2 in, 114.3 mm).
func TestSoldBy(t *testing.T) {
	if cloth.EighthOfYard != 114.3*mm {
		t.Errorf("an eighth of a yard is %v, want 114.3 mm", cloth.EighthOfYard)
	}
	for _, test := range []struct{ l, step, want length.Length }{
		{2732, 100, 2800}, {2700, 100, 2700}, {2700.001, 100, 2700}, {2700.1, 100, 2800}, {1, 100, 100}, {700, 114.3, 800.1},
	} {
		if got := cloth.RoundUp(test.l, test.step); math.Abs(float64(got-test.want)) > 1e-9 {
			t.Errorf("%v sold by %v is %v, want %v", test.l, test.step, got, test.want)
		}
	}
	for l, want := range map[length.Length]string{31.5 * inch: "7/8 yd", 36 * inch: "1 yd", 30 * inch: "7/8 yd", 54 * inch: "1 1/2 yd"} {
		if got := cloth.Yards(l); got != want {
			t.Errorf("%v is %s, want %s", l, got, want)
		}
	}
}
