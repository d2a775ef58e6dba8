package cloth_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"fairedge/internal/cloth"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/problem"
)

// TestEnough: by hand. Two squares of 27 in on 54 in cloth, squared by 1 in at each end,
// need 29 in, four 56 in.
func TestEnough(t *testing.T) {
	c := bare(54 * inch)
	c.Squaring = inch
	for _, test := range []struct {
		have, over length.Length
		beyond     int
		pads       int
		words      string
	}{
		{56 * inch, 0, 0, 4, "enough, 0 cm (0 in) over"},
		{1500 * mm, 1500*mm - 56*inch, 0, 4, "You have 1.50 m (1 5/8 yd): enough, 7 cm"},
		{55 * inch, -1 * inch, 2, 2, "short by 3 cm (1 in). Enough for 2 of the 4 pads."},
		{6 * inch, -50 * inch, 4, 0, "short by 127 cm (50 in). Not one pad comes out of it."},
	} {
		o := quick()
		o.Have = test.have
		l := mustLay(t, c, o, cloth.Order{Pad: block(27*inch, 27*inch), Pads: 4})
		e := l.Enough
		if e == nil || (e.Over-test.over).Abs() > 1e-3 || len(e.Beyond) != test.beyond || e.Pads != test.pads || !strings.Contains(e.Words, test.words) {
			t.Errorf("%v: %+v, want %v over, %q", test.have, e, test.over, test.words)
		}
	}
}

// TestLeftOver: by hand. One square of 20 in in a corner of 54 in cloth leaves 34 x 20 in
// beside it; 27 in bought leave 7 in at the end.
func TestLeftOver(t *testing.T) {
	l := mustLay(t, bare(54*inch), quick(), cloth.Order{Pad: block(20*inch, 20*inch), Pads: 1})
	if len(l.Left) != 1 || l.Buy != 22.5*inch { // 2.5 in at the end are not worth keeping
		t.Fatalf("buy %v, left %+v", l.Buy, l.Left)
	}
	long, wide := l.Left[0].Sides()
	// The grid's cells are 5 mm: up to two cells are lost each way.
	if long > 34*inch || long < 34*inch-10*mm || wide > 20*inch || wide < 20*inch-10*mm || !strings.HasPrefix(l.Left[0].Words, "0.8") || !strings.HasSuffix(l.Left[0].Words, "m beside 1 (Square)") {
		t.Errorf("left %v x %v, %q", long, wide, l.Left[0].Words)
	}
	o := quick()
	o.Have = 40 * inch
	l = mustLay(t, bare(54*inch), o, cloth.Order{Pad: block(20*inch, 20*inch), Pads: 1})
	long, wide = l.Left[0].Sides()
	if math.Abs(long.Inches()-54) > 1e-6 || math.Abs(wide.Inches()-20) > 1e-6 || l.Left[0].Words != "1.37 x 0.50 m at the end" {
		t.Errorf("at the end %v x %v, %q", long, wide, l.Left[0].Words)
	}
}

// TestChalk: by hand. A square alone lies in the corner at the start and the left
// selvedge: its back's middle is half its width from the selvedge, its front on the line.
func TestChalk(t *testing.T) {
	c := cloth.DefaultCloth()
	l := mustLay(t, c, quick(), cloth.Order{Pad: block(400*mm, 380*mm), Pads: 1})
	p := l.Pieces[0]
	for _, test := range []struct {
		got           cloth.Chalk
		point         string
		along, across length.Length
	}{
		{p.First, "middle of the back", 380 * mm, c.Selvedge + 200*mm},
		{p.Second, "middle of the front", 0, c.Selvedge + 200*mm},
	} {
		if test.got.Point != test.point || (test.got.Along-test.along).Abs() > 1e-5 || (test.got.Across-test.across).Abs() > 1e-5 {
			t.Errorf("%+v, want %s at %v, %v", test.got, test.point, test.along, test.across)
		}
	}
	if p.Turn != "back to the far end" || l.Needed != 430*mm {
		t.Errorf("it lies %q and needs %v", p.Turn, l.Needed)
	}
	c.Railroad, c.Way = true, cloth.OneDesign
	if p := mustLay(t, c, quick(), cloth.Order{Pad: block(400*mm, 380*mm), Pads: 1}).Pieces[0]; p.Turn != "back to the left selvedge" || (p.First.Across-c.Selvedge).Abs() > 1e-5 || (p.First.Along-200*mm).Abs() > 1e-5 {
		t.Errorf("railroaded: %q, %+v", p.Turn, p.First)
	}
}

// TestPipingLengths: the strips of a pad, joined as planned, reach the need with its spare,
// and none is longer than planned.
func TestPipingLengths(t *testing.T) {
	for _, recipe := range []string{"tie-on", "boxed-zip", "round-boxed"} {
		for _, width := range []string{"900mm", "1120mm", "1370mm"} {
			p := padOf(t, seat(t), recipe, "piping.on", "true", "cloth.width", width)
			c := cloth.DefaultCloth()
			c.Width = p.Recipe.Cloth.Width
			l := mustLay(t, c, quick(), cloth.Order{Pad: p, Pads: 1})
			total, n := length.Length(0), 0
			for _, part := range l.Parts {
				if part.Kind == pad.PipingStrip {
					total, n = total+part.Length, n+1
					if part.Length > p.Piping.StripLength+1e-6 {
						t.Errorf("%s on %s: a strip of %v, planned %v", recipe, width, part.Length, p.Piping.StripLength)
					}
				}
			}
			plan := p.Piping
			full := pad.Joined(plan.Strips, plan.StripLength, plan.JoinCost)
			want := min(plan.WithSpare, full)
			if got := total - length.Length(n-1)*plan.JoinCost; n != plan.Strips || got < want-length.Millimetre/100 || got > full+length.Millimetre/100 || got > want+length.Length(n)*length.Millimetre {
				t.Errorf("%s on %s: %d strips give %v, want %v (and at most %v)", recipe, width, n, got, want, full)
			}
		}
	}
}

// TestTakeOff: needs of two orders are added up; the list is the same in CSV and JSON.
func TestTakeOff(t *testing.T) {
	p := padOf(t, seat(t), "boxed-zip")
	orders := []cloth.Order{{Name: "=chair", Pad: p, Pads: 2}, {Name: "stool", Pad: p, Pads: 1}}
	l := mustLay(t, cloth.DefaultCloth(), quick(), orders...)
	foam, err := cloth.LayFoam(context.Background(), cloth.DefaultFoam(), orders, quick())
	if err != nil {
		t.Fatal(err)
	}
	spare := pad.DefaultSpare()
	spare.Zips = 1
	lines := cloth.TakeOff(l, foam, spare)
	byKind := map[string]cloth.Line{}
	for _, line := range lines {
		if _, known := byKind[line.Kind]; !known {
			byKind[line.Kind] = line
		}
	}
	one := map[pad.NeedKind]pad.Need{}
	for _, need := range p.TakeOff(3, spare) {
		one[need.Kind] = need
	}
	for _, kind := range []pad.NeedKind{pad.CordNeed, pad.ThreadNeed} {
		if got := byKind[string(kind)]; (got.Length - one[kind].Length).Abs() > 1e-6 {
			t.Errorf("%s: %v, three pads need %v", kind, got.Length, one[kind].Length)
		}
	}
	if zip := byKind["zip"]; zip.Count != 4 || zip.SpareCount != 1 {
		t.Errorf("zips: %+v, want 3 and a spare one", zip)
	}
	if c := byKind["cloth"]; c.Length != l.Buy || c.Width != l.Cloth.Width || byKind["foam-sheet"].Count != foam[0].Sheets {
		t.Errorf("cloth %+v", c)
	}
	checkForms(t, lines)
}

func checkForms(t *testing.T, lines []cloth.Line) {
	data, err := cloth.CSV(lines)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil || len(rows) != len(lines)+1 {
		t.Fatalf("%d rows for %d lines, %v", len(rows), len(lines), err)
	}
	for _, row := range rows {
		for _, cell := range row {
			if strings.HasPrefix(cell, "=") {
				t.Errorf("%q is a formula", cell)
			}
		}
	}
	data, err = cloth.JSON(lines)
	if err != nil {
		t.Fatal(err)
	}
	var back []struct {
		Item   string
		Length float64 `json:"length_mm"`
	}
	if err := json.Unmarshal(data, &back); err != nil || len(back) != len(lines) {
		t.Fatalf("%d lines back, %v", len(back), err)
	}
	for i, line := range lines {
		if back[i].Item != line.Item || back[i].Length != line.Length.Millimetres() {
			t.Errorf("line %d: %+v, want %+v", i, back[i], line)
		}
	}
}

// TestStopped: a search that is stopped at once still lays everything.
func TestStopped(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	l, err := cloth.Lay(ctx, cloth.DefaultCloth(), []cloth.Order{{Pad: padOf(t, seat(t), "tie-on"), Pads: 4}}, quick())
	if err != nil || !l.Stopped {
		t.Fatalf("stopped %v, %v", l != nil && l.Stopped, err)
	}
	if err := prove(l, 0); err != nil {
		t.Error(err)
	}
}

// TestProgress: better and better, down to what is needed.
func TestProgress(t *testing.T) {
	o := quick()
	last, told := length.Length(math.Inf(1)), 0
	o.Progress = func(needed length.Length) {
		if needed >= last {
			t.Errorf("%v after %v", needed, last)
		}
		last, told = needed, told+1
	}
	l := mustLay(t, bare(1400*mm), o, cloth.Order{Pad: block(27*inch, 27*inch), Pads: 3}, cloth.Order{Pad: block(10*inch, 13*inch), Pads: 4})
	if told == 0 || last > l.Needed+length.Millimetre {
		t.Errorf("told %d times, last %v, needed %v", told, last, l.Needed)
	}
}

func TestRefuses(t *testing.T) {
	for name, change := range map[string]func(*cloth.Cloth){
		"no width":         func(c *cloth.Cloth) { c.Width = 0 },
		"NaN":              func(c *cloth.Cloth) { c.Width = length.Length(math.NaN()) },
		"selvedges":        func(c *cloth.Cloth) { c.Selvedge = 700 * mm },
		"negative gap":     func(c *cloth.Cloth) { c.Gap = -1 },
		"no step":          func(c *cloth.Cloth) { c.SoldBy = 0 },
		"tilt":             func(c *cloth.Cloth) { c.Tilt = 45 },
		"squaring":         func(c *cloth.Cloth) { c.Squaring = -5 },
		"tiny repeat":      func(c *cloth.Cloth) { c.Repeat.Along = 1 },
		"half drop alone":  func(c *cloth.Cloth) { c.Repeat = cloth.Repeat{Along: 300, HalfDrop: true} },
		"repeat on a fold": func(c *cloth.Cloth) { c.Fold, c.Repeat.Along = true, 300 },
		"wider than cloth": func(c *cloth.Cloth) { c.Width = 380 * mm },
		"strips too long":  func(c *cloth.Cloth) { c.Width = 1200 * mm },
		"a motif elsewhere": func(c *cloth.Cloth) {
			c.Repeat = cloth.Repeat{Along: 600, Across: 3000, First: &cloth.Motif{Across: 2500}}
		},
	} {
		c := cloth.DefaultCloth()
		c.Way = cloth.OneNap
		change(&c)
		_, err := cloth.Lay(context.Background(), c, []cloth.Order{{Pad: padOf(t, seat(t), "tie-on"), Pads: 1}}, quick())
		if err == nil || problem.KindOf(err) != problem.Usage {
			t.Errorf("%s: %v, want a sentence on what to change", name, err)
		}
	}
	if _, err := cloth.Lay(context.Background(), cloth.DefaultCloth(), []cloth.Order{{Pads: 100000}}, quick()); err == nil {
		t.Error("100 000 pads are laid")
	}
	if l := mustLay(t, cloth.DefaultCloth(), quick()); len(l.Pieces) != 0 || l.Buy != 0 {
		t.Error("nothing ordered, something bought")
	}
}
