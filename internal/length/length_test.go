package length

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The inch is exactly 25.4 mm (international yard and pound agreement, 1959); the
// other numbers of the tables follow by hand.

func TestParse(t *testing.T) {
	tests := []struct {
		text string
		mm   float64
	}{
		{"19.05", 19.05}, {"19,05mm", 19.05}, {"19.05 mm", 19.05}, {" 7 MM ", 7}, {".5", 0.5}, {",5", 0.5}, {"0", 0},
		{"1.9 cm", 19}, {"1,9cm", 19}, {"0.4 m", 400}, {"2 metres", 2000}, {"3 millimeters", 3},
		{"3/4in", 19.05}, {"3/4 in", 19.05}, {`3/4"`, 19.05}, {"3 / 4 in", 19.05}, {"0.75 in", 19.05}, {"0,75 inch", 19.05},
		{`1 3/8"`, 34.925}, {"1-3/8 inch", 34.925}, {"1 3/8 inches", 34.925}, {"11/8 in", 34.925}, {"1 3/8''", 34.925},
		{"18 11/16 in", 474.6625}, {"1/2", 0.5},
		{"2ft", 609.6}, {"2 feet", 609.6}, {"1'", 304.8}, {`1' 6"`, 457.2}, {`1'6"`, 457.2}, {"1 ft 6 in", 457.2},
		{`1' 6 1/2"`, 469.9}, {"1 ft 6-1/2 in", 469.9}, {`1′ 6″`, 457.2}, {`1’ 6”`, 457.2},
		{"1 yd", 914.4}, {"0.5 yards", 457.2},
		{"-3", -3}, {"+3", 3}, {"−3 mm", -3}, {"- 1/2 in", -12.7}, {`-1' 6"`, -457.2},
	}
	for _, test := range tests {
		got, err := Parse(test.text)
		if err != nil {
			t.Errorf("Parse(%q): %v", test.text, err)
			continue
		}
		if math.Abs(got.Millimetres()-test.mm) > 1e-12*math.Abs(test.mm) {
			t.Errorf("Parse(%q) = %.12g mm, want %.12g", test.text, got.Millimetres(), test.mm)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, text := range []string{
		"", " ", "mm", "x", "1 x", "1e3", "0x10", "NaN", "inf", "1/0", "1 1/0 in", "1//2", "1/2/3", "1 2 3", "1.5 1/2 in", "1/2.5",
		"--3", "3-", "1 -3/8", "1 2", "1,000.5", "1.2.3", "3 4 mm", "in 3", `6" 1'`, "1' 6", "12 mm 3", "½ in", "1.5/2 in",
	} {
		if got, err := Parse(text); err == nil {
			t.Errorf("Parse(%q) = %v, want an error", text, got)
		}
	}
}

func TestParseErrorNamesTheTextAndARemedy(t *testing.T) {
	_, err := Parse("a hand")
	want := `"a hand" is not a length: write it like 19.05mm, 1.9cm, 3/4in or 1 3/8"`
	if err == nil || err.Error() != want {
		t.Errorf("Parse(a hand): %v, want %s", err, want)
	}
}

func TestFormat(t *testing.T) {
	tests := []struct {
		l                Length
		metric, imperial string
	}{
		{0, "0.0 mm", "0 in"},
		{475.31 * Millimetre, "475.3 mm", "18 11/16 in"}, // 18.713 in
		{19.05 * Millimetre, "19.1 mm", "3/4 in"},
		{2 * Inch, "50.8 mm", "2 in"},
		{Inch / 16, "1.6 mm", "1/16 in"},
		{Inch * 31 / 16, "49.2 mm", "1 15/16 in"},
		{Inch / 2, "12.7 mm", "1/2 in"},
		{1.99 * Inch, "50.5 mm", "2 in"},
		{0.02 * Inch, "0.5 mm", "0 in"},
		{-0.02 * Millimetre, "0.0 mm", "0 in"},
		{-34.925 * Millimetre, "-34.9 mm", "-1 3/8 in"},
		{Metre, "1000.0 mm", "39 3/8 in"}, // 39.370 in
		{Yard, "914.4 mm", "36 in"},
	}
	for _, test := range tests {
		if got := test.l.Metric(); got != test.metric {
			t.Errorf("Length(%v).Metric() = %q, want %q", float64(test.l), got, test.metric)
		}
		if got := test.l.Imperial(); got != test.imperial {
			t.Errorf("Length(%v).Imperial() = %q, want %q", float64(test.l), got, test.imperial)
		}
		if got, want := test.l.String(), test.metric+" ("+test.imperial+")"; got != want {
			t.Errorf("Length(%v).String() = %q, want %q", float64(test.l), got, want)
		}
	}
}

func TestUnits(t *testing.T) {
	if got := Inch.Points(); got != 72 {
		t.Errorf("Inch.Points() = %v, want 72 (ISO 32000-1)", got)
	}
	if got := (210 * Millimetre).Points(); math.Abs(got-595.2755905511812) > 1e-9 { // 210/25.4·72
		t.Errorf("the width of A4 = %v points, want 595.2756", got)
	}
	if got := (-3 * Inch).Abs().Inches(); math.Abs(got-3) > 1e-15 {
		t.Errorf("(-3 in).Abs() = %v in, want 3", got)
	}
}

// TestPrintedLengthsReadBack: a printed length parses to within half a step of what
// was printed, in either unit, and a second printing is the same text.
func TestPrintedLengthsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Float64Range(-1e5, 1e5).Draw(t, "mm"))
		for _, form := range []struct {
			text string
			step Length
			name string
		}{{l.Metric(), Millimetre / 10, "metric"}, {l.Imperial(), Inch / 16, "imperial"}} {
			back, err := Parse(form.text)
			if err != nil {
				t.Fatalf("%s: Parse(%q): %v", form.name, form.text, err)
			}
			if off := (back - l).Abs(); off > form.step/2*(1+1e-9)+1e-9 {
				t.Fatalf("%s: %v mm printed as %q reads back %v mm", form.name, float64(l), form.text, float64(back))
			}
			again := back.Metric()
			if form.name == "imperial" {
				again = back.Imperial()
			}
			if again != form.text {
				t.Fatalf("%s: %q prints again as %q", form.name, form.text, again)
			}
		}
	})
}

// TestFractionsAreExact compares whole numbers and fractions with the product worked
// out in float64 once.
func TestFractionsAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := rapid.IntRange(0, 99).Draw(t, "whole")
		under := rapid.SampledFrom([]int{2, 4, 8, 16, 32, 64}).Draw(t, "under")
		over := rapid.IntRange(1, under-1).Draw(t, "over")
		got, err := Parse(itoa(whole) + " " + itoa(over) + "/" + itoa(under) + `"`)
		if err != nil {
			t.Fatal(err)
		}
		// The sum is exact: a binary fraction. Only the product rounds.
		if want := (float64(whole) + float64(over)/float64(under)) * 25.4; got.Millimetres() != want {
			t.Fatalf("%d %d/%d in = %v mm, want %v", whole, over, under, got.Millimetres(), want)
		}
	})
}

func itoa(n int) string {
	if n < 10 {
		return string(rune('0' + n))
	}
	return itoa(n/10) + itoa(n%10)
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{"19.05", "19,05mm", `1 3/8"`, `1' 6 1/2"`, "−3 mm", "1/0", "1.2.3", "９mm", "'", "1e400", "99999999999999999999999999 yd"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, err := Parse(text)
		if err != nil {
			return
		}
		if math.IsNaN(float64(l)) || math.IsInf(float64(l), 0) {
			t.Errorf("Parse(%q) = %v without an error", text, float64(l))
		}
		if float64(l.Abs()) < 1e9 {
			if back, err := Parse(l.Metric()); err != nil || (back-l).Abs() > 0.05001 {
				t.Errorf("Parse(%q) prints as %q, which reads %v, %v", text, l.Metric(), float64(back), err)
			}
		}
	})
}

// ISO/IEC 7810:2019 states the ID-1 card in both units: 85.60 x 53.98 mm, 3.370 x
// 2.125 in, so the two must agree to half a thousandth of an inch.
func TestBankCardInBothUnits(t *testing.T) {
	for _, side := range []struct{ mm, inches string }{{"85.60mm", "3.370in"}, {"53.98mm", "2.125in"}} {
		metric, err1 := Parse(side.mm)
		imperial, err2 := Parse(side.inches)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if d := (metric - imperial).Abs(); d > 0.0005*Inch {
			t.Errorf("%s and %s differ by %v mm", side.mm, side.inches, d.Millimetres())
		}
	}
}
