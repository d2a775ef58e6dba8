package pad_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairedge/internal/curve"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/shape"
)

func isShared(k pad.MarkKind) bool {
	switch k {
	case pad.BackCentre, pad.FrontCentre, pad.QuarterLeft, pad.QuarterRight, pad.Match, pad.OpeningEnd, pad.ZipEnd, pad.CornerMark:
		return true
	}
	return false
}

func isRelief(k pad.MarkKind) bool {
	return k == pad.ReliefClip || k == pad.ReliefNotch || k == pad.PipingClip || k == pad.BackClip
}

func TestPlatesAreMirrorImages(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPad(t)
		top, second := p.Pieces[0], p.Pieces[1]
		if !second.Mirrored || top.Mirrored || second.Count != 1 {
			t.Fatalf("mirrored: %v %v", top.Mirrored, second.Mirrored)
		}
		flip := func(q plane.Point) plane.Point { return pt(-q.X, q.Y) }
		for _, lines := range [][2]curve.Path{{top.SeamLine, second.SeamLine}, {top.CutLine, second.CutLine}, {top.FoamLine, second.FoamLine}} {
			n := lines[0].Len()
			for i := range n {
				a, b := lines[0].Segment(i), lines[1].Segment(n-1-i)
				for _, u := range []float64{0, 0.3, 1} {
					if d := flip(a.At(u)).DistanceTo(b.At(1 - u)); d > 1e-6 {
						t.Fatalf("piece %d is %v mm from its mirror image", i, d)
					}
				}
			}
			if lines[1].SignedArea() <= 0 {
				t.Fatal("the second plate runs clockwise")
			}
		}
		a, b := withoutPipingJoins(top.Marks), withoutPipingJoins(second.Marks)
		if len(a) != len(b) {
			t.Fatalf("%d marks on one plate, %d on the other", len(a), len(b))
		}
		for i, k := range a {
			other := b[i]
			if other.Kind != k.Kind || other.Along != k.Along || flip(k.At).DistanceTo(other.At) > 1e-6 || flip(k.From).DistanceTo(other.From) > 1e-6 {
				t.Fatalf("mark %+v has the partner %+v", k, other)
			}
		}
		// The code of notches is uneven: left one, right two.
		if l, r := ticks(top, pad.QuarterLeft), ticks(top, pad.QuarterRight); l != 1 || r != 2 {
			t.Fatalf("quarters have %d and %d ticks", l, r)
		}
	})
}

// withoutPipingJoins leaves out the only marks that differ from plate to plate.
func withoutPipingJoins(marks []pad.Mark) []pad.Mark {
	return slices.DeleteFunc(slices.Clone(marks), func(k pad.Mark) bool { return k.Kind == pad.PipingSeam })
}

func ticks(p pad.Piece, kind pad.MarkKind) int {
	for _, k := range p.Marks {
		if k.Kind == kind {
			return len(k.Strokes)
		}
	}
	return 0
}

// Every mark lies at its arc length, measured anew along the seam line, and is
// carried square to the cut line.
func TestMarksLieAtTheirArcLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPad(t)
		top := p.Pieces[0]
		total := top.SeamLine.ArcLength(1e-7)
		if math.Abs(total-p.SeamLength.Millimetres()) > 1e-5 {
			t.Fatalf("seam of %v mm is said to be %v", total, p.SeamLength)
		}
		for _, k := range top.Marks {
			if k.Kind == pad.GrainArrow || k.Kind == pad.NapArrow {
				continue
			}
			if at := top.SeamLine.AtLength(k.Along, 1e-7).Point; at.DistanceTo(k.At) > 1e-4 {
				t.Fatalf("%s at %v lies %v mm from its arc length", k.Kind, k.Along, at.DistanceTo(k.At))
			}
			if _, d := top.CutLine.Nearest(k.From); d > 1e-4 {
				t.Fatalf("%s at %v starts %v mm off the cut line", k.Kind, k.Along, d)
			}
			spot, _ := top.SeamLine.Nearest(k.At)
			out, way := top.SeamLine.Segment(spot.Piece).OutwardNormal(spot.T), k.From.Sub(k.At)
			if isSmooth(top.SeamLine, k.Along) && way.Length() > 1 && math.Abs(out.Cross(way.Unit())) > 1e-3 {
				t.Fatalf("%s at %v is carried %v rad off square", k.Kind, k.Along, out.Cross(way.Unit()))
			}
		}
	})
}

func isSmooth(path curve.Path, along float64) bool {
	at := 0.0
	for i := range path.Len() {
		if math.Abs(at-along) < 0.01 && math.Abs(path.TurnAtJoint(i)) > 1e-3 {
			return false
		}
		at += path.Segment(i).ArcLength(1e-6)
	}
	return true
}

// Every shared mark of the plates stands on both edges of the band, or on the zip
// strips, at the same arc length.
func TestBandAndPlatesCarryTheSameMarks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPad(t)
		if p.Recipe.Style != pad.Boxed {
			return
		}
		total := p.SeamLength.Millimetres()
		for _, k := range p.Pieces[0].Marks {
			if !isShared(k.Kind) {
				continue
			}
			upper, lower := false, false
			for _, s := range p.Strips {
				for _, m := range s.Marks {
					if m.Kind != k.Kind || m.Along != k.Along {
						continue
					}
					if d := math.Abs(math.Remainder(s.From+m.At.X-k.Along, total)); d > 1e-6 {
						t.Fatalf("%s of %s lies %v mm from %v", k.Kind, s.Name, d, k.Along)
					}
					upper = upper || m.At.Y > 0
					lower = lower || m.At.Y == 0
				}
			}
			if !upper || !lower {
				t.Fatalf("%s at %v: on the upper edge %v, on the lower one %v", k.Kind, k.Along, upper, lower)
			}
		}
	})
}

func TestStripsCoverTheNeed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPad(t)
		usable := (p.Recipe.Cloth.Width - 2*p.Recipe.Cloth.Selvedge).Millimetres()
		covered := 0.0
		for _, s := range p.Strips {
			if s.Kind == pad.BandStrip || s.Kind == pad.ZipStrip && strings.Contains(s.Name, "upper") {
				covered += s.To - s.From
				if got := s.Length.Millimetres(); math.Abs(got-(s.To-s.From)-2*s.Seam.Millimetres()) > 1e-6 || got > usable+1e-6 && s.Kind == pad.BandStrip {
					t.Fatalf("%s is cut %v mm long for %v mm; the cloth gives %v", s.Name, got, s.To-s.From, usable)
				}
			}
		}
		if p.Recipe.Style == pad.Boxed && math.Abs(covered-p.SeamLength.Millimetres()) > 1e-5 {
			t.Fatalf("bands cover %v of %v", covered, p.SeamLength)
		}
		if !p.Piping.On {
			return
		}
		if got := pad.Joined(p.Piping.Strips, p.Piping.StripLength, p.Piping.JoinCost); got < p.Piping.WithSpare-1e-6 {
			t.Fatalf("%d strips make %v, needed %v", p.Piping.Strips, got, p.Piping.WithSpare)
		}
		if p.Piping.WithSpare < p.Piping.Need || p.Piping.Need < p.SeamLength {
			t.Fatalf("needs %v, with spare %v, for a seam of %v", p.Piping.Need, p.Piping.WithSpare, p.SeamLength)
		}
	})
}

// No join falls at the front centre or at a sharp corner, unless a question says so.
func TestJoinsKeepOffTheFrontCentreAndCorners(t *testing.T) {
	clear := pad.DefaultParams().JoinClear
	rapid.Check(t, func(t *rapid.T) {
		p := drawPad(t)
		if len(p.Questions) > 0 && strings.Contains(strings.Join(p.Questions, " "), "no place was found") {
			return
		}
		total := p.SeamLength.Millimetres()
		var joins []float64
		for _, j := range p.Piping.Joins {
			joins = append(joins, j.Along)
		}
		for _, s := range p.Strips {
			if s.Kind == pad.BandStrip && p.Opening.Close == pad.ByHand {
				joins = append(joins, s.From)
			}
		}
		for _, k := range p.Pieces[0].Marks {
			for _, j := range joins {
				if d := math.Abs(math.Remainder(j-k.Along, total)); (k.Kind == pad.FrontCentre || k.Kind == pad.CornerMark) && d < clear {
					t.Fatalf("a join lies %v mm from the %s", d, k.Kind)
				}
			}
		}
	})
}

// No clip comes nearer to the stitching than the recipe's stop, nor reaches inside.
func TestNoClipCrossesTheSeam(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPad(t)
		stop := p.Recipe.Marks.ReliefStop.Millimetres()
		top := p.Pieces[0]
		for _, k := range top.Marks {
			if !isRelief(k.Kind) {
				continue
			}
			for _, s := range k.Strokes {
				for _, u := range []float64{0, 0.5, 0.9, 1} {
					q := s.From.Lerp(s.To, u)
					if _, d := top.SeamLine.Nearest(q); d < stop-0.02 {
						t.Fatalf("%s at %v comes within %v mm of the seam", k.Kind, k.Along, d)
					}
					if top.SeamLine.Contains(q) {
						t.Fatalf("%s at %v reaches inside the seam", k.Kind, k.Along)
					}
				}
			}
		}
	})
}

// A seat and a recipe k times as large make a pad k times as large.
func TestPadsScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		outline, r := drawSeat(t), drawRecipe(t)
		k := rapid.Float64Range(0.9, 1.3).Draw(t, "k")
		bigger := r
		for _, key := range []string{"foam.thickness", "foam.oversize", "plate.seam", "plate.seam_radius", "clearance.back", "clearance.sides", "piping.cord",
			"opening.from_corner", "zip.wrap"} {
			bigger = scaled(t, bigger, key, k)
		}
		a, err := pad.Cut(seatIn(t, outline), r)
		if err != nil {
			t.Fatal(err)
		}
		b, err := pad.Cut(seatIn(t, outline.Scaled(k, pt(0, 0))), bigger)
		if err != nil {
			t.Fatal(err)
		}
		near := func(what string, got, want, tolerance float64) {
			if math.Abs(got-want) > tolerance {
				t.Fatalf("%s: %v, want %v", what, got, want)
			}
		}
		near("seam", b.SeamLength.Millimetres(), k*a.SeamLength.Millimetres(), 0.05)
		near("opening", b.Opening.Length.Millimetres(), k*a.Opening.Length.Millimetres(), 0.05)
		near("foam", b.Foam.AreaMM2, k*k*a.Foam.AreaMM2, 20)
		near("mass", b.Foam.MassKg, k*k*k*a.Foam.MassKg, 1e-4)
	})
}

// scaled multiplies one length of the recipe, as its text says it.
func scaled(t *rapid.T, r pad.Recipe, key string, k float64) pad.Recipe {
	section, name, _ := strings.Cut(key, ".")
	inside := false
	for _, line := range strings.Split(string(r.Text()), "\n") {
		if strings.HasPrefix(line, "[") {
			inside = line == "["+section+"]"
		}
		if value, found := strings.CutPrefix(line, name+` = "`); inside && found {
			mm, _, _ := strings.Cut(value, " mm")
			out, err := r.With(key, multiply(t, mm, k)+" mm")
			if err != nil {
				t.Fatal(err)
			}
			return out
		}
	}
	t.Fatalf("no %s in the recipe's text", key)
	return r
}

// Where the outline starts, and how the template lay in the photo, changes nothing.
func TestTurningAndRestartingTheOutlineChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		outline, r := drawSeat(t), drawRecipe(t)
		turn := rapid.Float64Range(-3, 3).Draw(t, "turn")
		move := plane.RigidFromAngle(turn, plane.Vec{X: rapid.Float64Range(-500, 500).Draw(t, "x"), Y: -120})
		other := outline.StartingAt(rapid.IntRange(0, outline.Len()-1).Draw(t, "start")).Transform(move)
		s, err := shape.FromOutline(other, other.Corners(0.5), nil, shape.BackHint{Said: move.ApplyVec(plane.Vec{Y: 1})})
		if err != nil {
			t.Fatal(err)
		}
		a, err := pad.Cut(seatIn(t, outline), r)
		if err != nil {
			t.Fatal(err)
		}
		b, err := pad.Cut(s, r)
		if err != nil {
			t.Fatal(err)
		}
		if d := math.Abs((a.SeamLength - b.SeamLength).Millimetres()); d > 0.01 {
			t.Fatalf("seam differs by %v mm", d)
		}
		if len(a.Pieces[0].Marks) != len(b.Pieces[0].Marks) || len(a.Strips) != len(b.Strips) {
			t.Fatalf("%d marks and %d strips, else %d and %d", len(a.Pieces[0].Marks), len(a.Strips), len(b.Pieces[0].Marks), len(b.Strips))
		}
		for i, k := range a.Pieces[0].Marks {
			if o := b.Pieces[0].Marks[i]; o.Kind != k.Kind || o.At.DistanceTo(k.At) > 0.02 {
				t.Fatalf("mark %d: %s at %v, else %s at %v", i, k.Kind, k.At, o.Kind, o.At)
			}
		}
	})
}

// What shrinks by a share q is cut 1/(1-q) times as large, and the marks' arc lengths
// stay those of the finished pad.
func TestShrinkage(t *testing.T) {
	r := recipe(t, "boxed-hand-closed")
	shrunk := recipe(t, "boxed-hand-closed", "cloth.shrink_length=5%", "cloth.shrink_width=3%")
	a, b := cut(t, bowFront(), r), cut(t, bowFront(), shrunk)
	wa, da := a.Pieces[0].Sizes()
	wb, db := b.Pieces[0].Sizes()
	if math.Abs(float64(wb*0.97-wa)) > 1e-6 || math.Abs(float64(db*0.95-da)) > 1e-6 {
		t.Errorf("plates %v x %v shrink to %v x %v, want %v x %v", wb, db, wb*0.97, db*0.95, wa, da)
	}
	shared := func(p pad.Pad) []pad.Mark {
		return slices.DeleteFunc(slices.Clone(p.Pieces[0].Marks), func(k pad.Mark) bool { return !isShared(k.Kind) })
	}
	for i, k := range shared(a) {
		if o := shared(b)[i]; o.Along != k.Along {
			t.Errorf("%s moved from %v to %v", k.Kind, k.Along, o.Along)
		}
	}
	if a.Foam.AreaMM2 != b.Foam.AreaMM2 {
		t.Error("the foam shrank")
	}
	if got := b.Strips[0].Width * 0.95; math.Abs(float64(got-a.Strips[0].Width)) > 1e-6 {
		t.Errorf("the band shrinks to %v, want %v", got, a.Strips[0].Width)
	}
}
