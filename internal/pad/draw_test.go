package pad_test

import (
	"flag"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairedge/internal/curve"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/shape"
)

// TestMain keeps the number of drawn cases small unless FAIREDGE_SLOW is set.
func TestMain(m *testing.M) {
	if os.Getenv("FAIREDGE_SLOW") != "1" {
		if err := flag.Set("rapid.checks", "20"); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}

// drawSeat draws a seat: tapered, with a bowed front, sharp or rounded corners, and
// not quite symmetric; or one of the closed forms.
func drawSeat(t *rapid.T) curve.Path {
	fixed := []curve.Path{bowFront(), horseshoe(), saddle(), notched(430, 400, 45), circleOf(185), rounded(430, 410, 38, 60)}
	if k := rapid.IntRange(0, 2*len(fixed)).Draw(t, "which"); k < len(fixed) {
		return fixed[k]
	}
	length := func(name string, least, most float64) float64 { return rapid.Float64Range(least, most).Draw(t, name) }
	back, front, depth := length("back", 330, 430), length("front", 360, 500), length("depth", 340, 460)
	bow, lean := length("bow", 0, 40), length("lean", -6, 6)
	a, b := pt(back/2, 0), pt(-back/2, 0)
	c, d := pt(-front/2+lean, -depth), pt(front/2+lean, -depth)
	down := plane.Vec{Y: -bow}
	return curve.ClosedPath(curve.Line(a, b), curve.Line(b, c), curve.Cubic(c, c.Lerp(d, 0.3).Add(down), c.Lerp(d, 0.7).Add(down), d), curve.Line(d, a))
}

// drawRecipe draws a recipe for two plates.
func drawRecipe(t *rapid.T) pad.Recipe {
	names := []string{"tie-on", "tie-on-square", "round", "boxed-zip", "boxed-hand-closed", "round-boxed", "horseshoe"}
	r, err := pad.Named(rapid.SampledFrom(names).Draw(t, "recipe"))
	if err != nil {
		t.Fatal(err)
	}
	for _, change := range []string{
		rapid.SampledFrom([]string{"piping.cut=bias", "piping.cut=straight", "piping.on=no"}).Draw(t, "piping"),
		rapid.SampledFrom([]string{"plate.seam=1/2 in", "plate.seam=15 mm", "plate.seam=10 mm"}).Draw(t, "seam"),
		rapid.SampledFrom([]string{"cloth.width=54 in", "cloth.width=45 in", "cloth.width=90 cm"}).Draw(t, "width"),
		rapid.SampledFrom([]string{"marks.corner_clips=1", "marks.corner_clips=3"}).Draw(t, "clips"),
		rapid.SampledFrom([]string{"marks.match_every=150 mm", "marks.match_every=60 mm", "marks.match_every=400 mm"}).Draw(t, "matches"),
	} {
		key, value, _ := strings.Cut(change, "=")
		if r, err = r.With(key, value); err != nil {
			t.Fatal(err)
		}
	}
	return r
}

func seatIn(t *rapid.T, outline curve.Path) shape.Shape {
	s, err := shape.FromOutline(outline, outline.Corners(0.5), nil, shape.BackHint{Said: plane.Vec{Y: 1}})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func drawPad(t *rapid.T) pad.Pad {
	p, err := pad.Cut(seatIn(t, drawSeat(t)), drawRecipe(t))
	if err != nil {
		t.Fatal(err)
	}
	return p
}
