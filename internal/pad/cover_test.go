package pad_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/shape"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v ± %v", what, got, want, tolerance)
	}
}

// A rectangle W x D with allowances of its own on each edge and mitred corners is cut
// (W + 2 s) x (D + f + b), exactly.
func TestEachEdgeHasItsOwnAllowance(t *testing.T) {
	p := cut(t, rectangle(410, 400), recipe(t, "tie-on", "plate.ease=tight", "plate.seam=10 mm", "plate.seam_sides=14 mm", "plate.seam_front=9 mm", "plate.hem=30 mm"))
	w, d := p.Pieces[0].Sizes()
	near(t, "width", w.Millimetres(), 410+2*14, 1e-6)
	near(t, "depth", d.Millimetres(), 400+9+30, 1e-6)
	near(t, "area", p.Pieces[0].CutLine.SignedArea(), (410+28)*(400+39), 1e-3)
	// A pad with a zip has no hem.
	p = cut(t, rectangle(410, 400), recipe(t, "tie-on", "plate.ease=tight", "opening.close=zip", "plate.hem=30 mm", "plate.seam=13 mm"))
	_, d = p.Pieces[0].Sizes()
	near(t, "depth with a zip", d.Millimetres(), 400+26, 1e-6)
	near(t, "zip", p.Zip.Clear.Millimetres(), 410-2*50.8, 1e-6)
}

func TestClearanceMovesTheFinishedLineInward(t *testing.T) {
	p := cut(t, rectangle(410, 400), recipe(t, "boxed-zip", "clearance.back=5 mm", "clearance.front=0 mm", "clearance.sides=4 mm", "clearance.keep_inside=no"))
	b := p.Finished.Bounds()
	near(t, "width", b.Width(), 402, 1e-6)
	near(t, "back", b.Max.Y, -5, 1e-6)
	near(t, "front", b.Min.Y, -400, 1e-6)
	// With piping that must stay inside, the cord and its cloth come off on every side.
	p = cut(t, rectangle(410, 400), recipe(t, "boxed-zip", "clearance.back=5 mm", "clearance.front=0 mm", "clearance.sides=4 mm", "piping.cord=4 mm", "piping.cloth=1 mm"))
	near(t, "width inside the piping", p.Finished.Bounds().Width(), 392, 1e-6)
	// On a seat whose edges run smoothly into one another there is no step.
	p = cut(t, rounded(430, 410, 60, 60), recipe(t, "boxed-zip", "clearance.keep_inside=no"))
	for i := range p.Finished.Len() {
		if turn := p.Finished.TurnAtJoint(i); math.Abs(turn) > 0.01 {
			t.Errorf("the finished line turns by %v rad at joint %d", turn, i)
		}
	}
}

// A zip wraps both corners; the opening of a hand-closed pad stays between them.
func TestZipAndOpening(t *testing.T) {
	p := cut(t, rectangle(410, 400), recipe(t, "boxed-zip", append([]string{"zip.wrap=80 mm"}, plain...)...))
	near(t, "zip opens", p.Zip.Clear.Millimetres(), 410+160, 1e-6)
	near(t, "zip with its ends", p.Zip.Length.Millimetres(), 410+160+25.4, 1e-6)
	upper := p.Strips[0]
	near(t, "zip strip's width", upper.Width.Millimetres(), 76.2/2+12.7+19.05, 1e-6)
	near(t, "zip strip's length", upper.Length.Millimetres(), 410+160+25.4, 1e-6)
	p = cut(t, rectangle(410, 400), recipe(t, "tie-on", "plate.ease=tight"))
	near(t, "opening", p.Opening.Length.Millimetres(), 410-2*50.8, 1e-6)
	near(t, "opening's left end", p.Opening.To, 205-50.8, 1e-6)
}

func TestTiesOfTheBench(t *testing.T) {
	p := cut(t, bowFront(), recipe(t, "tie-on"))
	ties := p.Ties
	near(t, "finished width, in", ties.Finished.Width.Inches(), 0.5, 1e-9)
	if tail := ties.Tail.Inches(); tail < 8.5 || tail > 10 {
		t.Errorf("tails of %v in, want nearly 10 (20 in strip in half, ends turned in)", tail)
	}
	if len(ties.At) != 2 || ties.Count != 2 {
		t.Fatalf("ties %+v", ties)
	}
	near(t, "inset from the back's end, in", (backEnd(p)-ties.At[1])/25.4, 1, 1e-6)
	if !strings.Contains(strings.Join(p.Cautions, " "), "Not for cots") {
		t.Error("no caution about the ties' length")
	}
	short := cut(t, bowFront(), recipe(t, "tie-on", "ties.cut_length=400 mm"))
	if strings.Contains(strings.Join(short.Cautions, " "), "Not for cots") {
		t.Errorf("caution about tails of %v", short.Ties.Tail)
	}
	tabs := cut(t, bowFront(), recipe(t, "tie-on", "ties.kind=tabs"))
	if i := slices.IndexFunc(tabs.Strips, func(s pad.Strip) bool { return s.Kind == pad.TabStrip }); i < 0 || tabs.Strips[i].Count != 2 {
		t.Error("no tabs are cut")
	}
}

// backEnd is the arc length of the seam's corner at the back left.
func backEnd(p pad.Pad) float64 { return p.Pieces[0].SeamLine.Segment(0).ArcLength(1e-9) }

// Ties go to the ticks that the maker drew on the back, and else to the post notches.
func TestTiesGoToThePosts(t *testing.T) {
	tick := func(x, y float64) shape.PlaneTick {
		return shape.PlaneTick{At: pt(x, y), From: pt(x, y-8), To: pt(x, y+8)}
	}
	s := seatOf(t, rectangle(410, 400), tick(-150, 0), tick(0, 0), tick(120, 0))
	p, err := pad.Cut(s, recipe(t, "tie-on", "plate.ease=tight"))
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Ties.At) != 2 {
		t.Fatalf("ties at %v, want two", p.Ties.At)
	}
	near(t, "right tie", p.Ties.At[0], -120, 1e-4) // counter-clockwise along the back is leftward
	near(t, "left tie", p.Ties.At[1], 150, 1e-4)
	if !strings.Contains(strings.Join(p.Questions, " "), "inside the opening") {
		t.Error("ties inside the opening are not asked about")
	}
	n := cut(t, notched(430, 400, 45), recipe(t, "tie-on", "plate.ease=tight"))
	near(t, "tie at the notch", n.Ties.At[1], 170+45, 1e-4)
	facing := slices.IndexFunc(n.Strips, func(s pad.Strip) bool { return s.Kind == pad.FacingStrip })
	if facing < 0 || n.Strips[facing].Count != 4 {
		t.Error("want a facing on both plates for each of two inner corners")
	}
}

func TestReliefByCurvature(t *testing.T) {
	clips := func(p pad.Pad, kind pad.MarkKind) int {
		n := 0
		for _, k := range p.Pieces[0].Marks {
			if k.Kind == kind {
				n++
			}
		}
		return n
	}
	tight := append([]string{"plate.ease=tight", "plate.seam=13 mm", "ties.kind=none"}, plain...)
	// Sharp corners: one slit each; a bow of radius 700 mm and more: none.
	if n := clips(cut(t, bowFront(), recipe(t, "tie-on", tight...)), pad.PipingClip); n != 4 {
		t.Errorf("%d clips on a bow front, want one for each corner", n)
	}
	// Quarter circles of radius 50: 78.5 mm at 11.5 mm (g R / s) make 6.8, so 7 each.
	if n := clips(cut(t, rounded(430, 410, 50, 50), recipe(t, "tie-on", tight...)), pad.PipingClip); n != 4*7 {
		t.Errorf("%d clips on four corners of radius 50, want 28", n)
	}
	// Radius 190: none on bias (130 mm is the bound), on straight strips at 25 mm.
	if n := clips(cut(t, circleOf(190), recipe(t, "round", tight...)), pad.PipingClip); n != 0 {
		t.Errorf("%d clips round a stool with bias piping, want none", n)
	}
	if n, want := clips(cut(t, circleOf(190), recipe(t, "tie-on", tight...)), pad.PipingClip), int(math.Round(2*math.Pi*190/25)); n != want {
		t.Errorf("%d clips round a stool with straight piping, want %d", n, want)
	}
	// Hollow sides are slit, outward bends without piping are notched.
	p := cut(t, saddle(), recipe(t, "tie-on", append(tight, "piping.on=no")...))
	if clips(p, pad.ReliefClip) == 0 || clips(p, pad.ReliefNotch) == 0 || clips(p, pad.PipingClip) != 0 {
		t.Errorf("saddle: %d slits, %d wedges, %d slits of piping", clips(p, pad.ReliefClip), clips(p, pad.ReliefNotch), clips(p, pad.PipingClip))
	}
}

// The side of a wrapped front is as long round its profile as the main piece it is
// sewn to, and every mark of the one is found on the other at the same arc length.
func TestWrappedFrontsFitTheirSides(t *testing.T) {
	for _, name := range []string{"waterfall", "bullnose"} {
		for _, outline := range []struct {
			front, back float64
		}{{430, 430}, {460, 390}} {
			p := cut(t, trapezoid(outline.front, outline.back, 420), recipe(t, name, "piping.on=yes"))
			thick := p.Recipe.Foam.Thickness.Millimetres()
			main, left := p.Pieces[0], p.Pieces[1]
			side := left.SeamLine.ArcLength(1e-6) - thick
			backs := p.Strips[0].To - p.Strips[0].From
			edge := (main.SeamLine.ArcLength(1e-6) - 2*backs) / 2
			near(t, name+": profile of main piece and side", edge, side, 0.01)
			for _, k := range left.Marks {
				i := slices.IndexFunc(main.Marks, func(o pad.Mark) bool { return o.Kind == k.Kind && math.Abs(o.Along-k.Along) < 1e-9 })
				if i < 0 {
					t.Errorf("%s: %q at %v is not on the main piece", name, k.Words, k.Along)
				} else if len(main.Marks[i].Strokes) != 1 || len(k.Strokes) != 1 {
					t.Errorf("%s: left marks have %d and %d ticks, want one", name, len(main.Marks[i].Strokes), len(k.Strokes))
				}
			}
			if i := slices.IndexFunc(main.Marks, func(k pad.Mark) bool { return k.Kind == pad.FoldMark && len(k.Strokes) == 2 }); i < 0 {
				t.Errorf("%s: the right side's marks have no two ticks", name)
			}
			if p.Piping.Need.Millimetres() < 2*(side+thick) {
				t.Errorf("%s: piping of %v for two seams of %v mm", name, p.Piping.Need, side+thick)
			}
			near(t, name+": right side mirrors the left", farthestApart(p.Pieces[2].SeamLine, left.SeamLine.Mirrored(plane.Point{}, plane.Vec{Y: 1})), 0, 1e-6)
		}
	}
	if _, err := pad.Cut(seatOf(t, circleOf(190)), recipe(t, "waterfall")); err == nil || !strings.Contains(err.Error(), "boxed recipe") {
		t.Errorf("a round seat with a waterfall front: %v", err)
	}
}

func TestFoamLargerThanTheSheetIsJoined(t *testing.T) {
	p := cut(t, rectangle(410, 400), recipe(t, "tie-on", "foam.sheet_length=600 mm", "foam.sheet_width=405 mm"))
	if p.Foam.Parts != 1 || p.Foam.Turned {
		t.Errorf("fits, yet %+v", p.Foam)
	}
	p = cut(t, rectangle(380, 420), recipe(t, "tie-on", "foam.sheet_length=600 mm", "foam.sheet_width=405 mm"))
	if p.Foam.Parts != 1 || !p.Foam.Turned {
		t.Errorf("fits when turned, yet %d parts, turned %v", p.Foam.Parts, p.Foam.Turned)
	}
	p = cut(t, rectangle(500, 450), recipe(t, "tie-on", "foam.sheet_length=600 mm", "foam.sheet_width=300 mm"))
	if p.Foam.Parts != 2 || len(p.Foam.Joins) != 1 {
		t.Fatalf("%d parts, %d joins, want 2 and 1", p.Foam.Parts, len(p.Foam.Joins))
	}
	if j := p.Foam.Joins[0]; j.From.Y != j.To.Y || j.From.Y < -225 {
		t.Errorf("the join %v does not lie across the back half", j)
	}
	over := cut(t, rectangle(410, 400), recipe(t, "tie-on", "foam.oversize=1/2 in", "foam.oversize_measure=overall"))
	near(t, "oversize overall", over.Foam.Width.Inches(), 410/25.4+0.5, 1e-9)
	over = cut(t, rectangle(410, 400), recipe(t, "tie-on", "foam.oversize=1/4 in"))
	near(t, "oversize per side", over.Foam.Width.Inches(), 410/25.4+0.5, 1e-9)
}

func TestUnusualSeatsAreAskedAboutNotRefused(t *testing.T) {
	for _, c := range []struct {
		what    string
		w, b, d float64
		asked   bool
	}{
		{"usual", 450, 390, 410, false},
		{"scale wrong by 1.9", 857, 740, 780, true},
		{"wider at the back", 380, 450, 410, true},
		{"child's", 330, 310, 320, true},
		{"bench", 555, 555, 300, true},
	} {
		got := pad.SizeOf(seatOf(t, trapezoid(c.w, c.b, c.d))).Unusual()
		if (len(got) > 0) != c.asked {
			t.Errorf("%s: questions %q, want some: %v", c.what, got, c.asked)
		}
	}
	if q := cut(t, bowFront(), recipe(t, "tie-on")).Questions; len(q) != 0 {
		t.Errorf("a usual pad is asked about: %v", q)
	}
	if q := cut(t, bowFront(), recipe(t, "tie-on", "plate.ease=square")).Questions; len(q) != 1 || !strings.Contains(q[0], "bench") {
		t.Errorf("leaving the bench's rule is not asked about: %v", q)
	}
}

func TestImpossibleRecipesSaySo(t *testing.T) {
	for _, c := range []struct{ change, want string }{
		{"opening.from_corner=300 mm", "no sensible opening"},
		{"ties.cut_length=50 mm", "leave no tails"},
		{"marks.relief_stop=15 mm", "no room"},
		{"plate.ease_extra=-50 mm", ""},
	} {
		_, err := pad.Cut(seatOf(t, bowFront()), recipe(t, "tie-on", c.change))
		if c.want == "" {
			if err != nil {
				t.Errorf("%s: %v", c.change, err)
			}
			continue
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.change, err, c.want)
		}
	}
	if _, err := pad.Cut(shape.Shape{}, recipe(t, "tie-on")); err == nil {
		t.Error("an empty shape was cut")
	}
}

func TestOrderOfWorkNamesThePlaces(t *testing.T) {
	p := cut(t, rectangle(410, 400), recipe(t, "tie-on", "plate.ease=tight"))
	all := strings.Join(p.Order, "\n")
	for _, want := range []string{
		"179.6 mm (7 1/16 in) left of the back centre", // tie: 205 - 25.4
		"154.2 mm (6 1/16 in) left of the back centre", // opening's end: 205 - 50.8
		"Close the opening, 308.4 mm (12 1/8 in)",      // 410 - 101.6
		"round a cord of 4.0 mm (5/32 in)", "Needle down", "front centre first", "hem it",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
	}
}

func TestTakeOff(t *testing.T) {
	p := cut(t, bowFront(), recipe(t, "boxed-zip", "ties.kind=strings"))
	one, six := p.TakeOff(1, pad.Spare{}), p.TakeOff(6, pad.Spare{Zips: 1})
	find := func(needs []pad.Need, kind pad.NeedKind) pad.Need {
		return needs[slices.IndexFunc(needs, func(n pad.Need) bool { return n.Kind == kind })]
	}
	near(t, "cord for six", float64(find(six, pad.CordNeed).Length), 6*float64(find(one, pad.CordNeed).Length), 1e-6)
	near(t, "thread for six", float64(find(six, pad.ThreadNeed).Length), 6*float64(find(one, pad.ThreadNeed).Length), 1e-6)
	near(t, "foam for six", find(six, pad.FoamBlanks).MassKg, 6*p.Foam.MassKg, 1e-9)
	if z := find(six, pad.ZipNeed); z.Count != 7 || z.SpareCount != 1 || z.Length != p.Zip.Length {
		t.Errorf("zips %+v, want six and a spare", z)
	}
	if c := find(six, pad.ClothPieces); c.Count != 6 {
		t.Errorf("%d top plates, want 6", c.Count)
	}
	// E12's wrap: 24 x 24 x 4 in of foam takes 30 x 58 in.
	wrapped := cut(t, rectangle(609.6, 609.6), recipe(t, "boxed-zip", append([]string{"foam.thickness=4 in", "foam.wrap=yes"}, plain...)...))
	if w := find(wrapped.TakeOff(2, pad.Spare{}), pad.WrapNeed); w.Count != 2 || math.Abs(w.Width.Inches()-30) > 1e-9 || math.Abs(w.Length.Inches()-58) > 1e-9 {
		t.Errorf("wrap %+v, want two of 30 x 58 in", w)
	}
	// Thread: both seams of the plates, twice more for their piping, ties and the zip.
	stitched := 2*p.SeamLength + 2*p.Piping.Need + 2*p.Ties.Finished.Length + 2*p.Zip.Length
	near(t, "thread", float64(find(one, pad.ThreadNeed).Length), float64(stitched)*3*1.25, 1e-6)
	tape := find(one, pad.TapeNeed).Length
	near(t, "tape", float64(tape), float64(2*p.SeamLength+6*p.Recipe.Ties.CutLength), 1e-6)
}

func BenchmarkCut(b *testing.B) {
	s, r := seatOf(b, saddle()), recipe(b, "boxed-zip")
	for b.Loop() {
		if _, err := pad.Cut(s, r); err != nil {
			b.Fatal(err)
		}
	}
}
