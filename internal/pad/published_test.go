package pad_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/pad"
)

const (
	inch = length.Inch
	mm   = length.Millimetre
)

// recipe returns a built-in recipe with "key=value" changes.
func recipe(t testing.TB, name string, changes ...string) pad.Recipe {
	t.Helper()
	r, err := pad.Named(name)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range changes {
		key, value, _ := strings.Cut(c, "=")
		if r, err = r.With(key, value); err != nil {
			t.Fatal(err)
		}
	}
	return r
}

func cut(t testing.TB, outline curve.Path, r pad.Recipe) pad.Pad {
	t.Helper()
	p, err := pad.Cut(seatOf(t, outline), r)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// plain takes away everything that moves the seam line but the ease.
var plain = []string{"clearance.sides=0 mm", "clearance.back=0 mm", "clearance.keep_inside=no", "foam.oversize=0 mm", "plate.hem=same"}

// check is one figure from outside and what this package says.
type check struct {
	what, source string
	got, want    float64
	tolerance    float64
}

// The figures of published pages, standards and closed forms that concern pads. The
// numbers in front are those of the list of checks they were collected in.
func TestPublishedFigures(t *testing.T) {
	groups := [][]check{
		parallelCurves(t), plateRules(t), stripRules(), biasTables(), jobChecks(t),
	}
	for _, checks := range groups {
		for _, c := range checks {
			if !(math.Abs(c.got-c.want) <= c.tolerance) {
				t.Errorf("%s: got %.6g, want %.6g ± %.3g (%s)", c.what, c.got, c.want, c.tolerance, c.source)
			}
		}
	}
}

func parallelCurves(t *testing.T) []check {
	trap := trapezoid(450, 380, 400)
	offset13 := append([]string{"plate.ease=tight", "plate.seam=13 mm", "piping.on=no", "marks.relief_stop=3 mm"}, plain...)
	round := cut(t, trap, recipe(t, "tie-on", append(offset13, "plate.cut_corner=round")...)).Pieces[0].CutLine
	mitre := cut(t, trap, recipe(t, "tie-on", offset13...)).Pieces[0].CutLine
	const steiner = "Steiner's formula for parallel curves of convex outlines"
	circle := cut(t, circleOf(190), recipe(t, "round", append([]string{"plate.ease=snug", "foam.thickness=25.4 mm"}, plain...)...))
	const ease = 25.4 / 4
	// A A-A-2800A seat cushion, style B: 16 x 16 in, front corners 1.5 in, back corners 4 in.
	cushion := cut(t, rounded(406.4, 406.4, 38.1, 101.6), recipe(t, "tie-on", append([]string{"plate.ease=tight"}, plain...)...))
	area := func(w, d, f, b float64) float64 { return w*d - 2*(1-math.Pi/4)*(f*f+b*b) }
	round2 := func(w, d, f, b float64) float64 { return 2*(w+d) - 2*(2-math.Pi/2)*(f+b) }
	const item = "A-A-2800A, closed form of the rounded rectangle; arcs as one cubic each are too long by up to 2.7e-4 of the radius"
	return []check{
		{"E1 seam round a circle grown by the ease", steiner, circle.SeamLength.Millimetres(), 2 * math.Pi * (190 + ease), 0.01},
		{"E2 area within it", steiner, circle.Pieces[0].SeamLine.SignedArea(), math.Pi * (190 + ease) * (190 + ease), 2},
		{"E3 trapezoid grown 13 mm round, length", steiner, round.ArcLength(1e-6), 1714.738, 0.01},
		{"E3 and area", steiner, round.SignedArea(), 187760.67, 1},
		{"E4 trapezoid grown 13 mm mitred, length", "closed form", mitre.ArcLength(1e-6), 1737.454, 0.001},
		{"E4 and area", "closed form", mitre.SignedArea(), 187908.32, 0.1},
		{"E7 government seat cushion, area", item, cushion.Pieces[0].SeamLine.SignedArea(), area(406.4, 406.4, 38.1, 101.6), 8},
		{"E7 and length", item, cushion.SeamLength.Millimetres(), round2(406.4, 406.4, 38.1, 101.6), 0.1},
	}
}

func plateRules(t *testing.T) []check {
	in := func(l length.Length) float64 { return l.Inches() }
	sixteen := rectangle(406.4, 406.4)
	half := cut(t, sixteen, recipe(t, "tie-on", "foam.thickness=2 in", "plate.ease=square", "plate.seam=3/8 in", "plate.hem=same"))
	w9, d9 := half.Pieces[0].Sizes()
	tight := cut(t, sixteen, recipe(t, "tie-on", "foam.thickness=2 in", "plate.ease=tight", "plate.ease_extra=-1/2 in", "plate.seam=1/2 in"))
	wide, _ := tight.Pieces[0].Sizes()
	bevelled := cut(t, sixteen, recipe(t, "tie-on", "foam.thickness=3 in", "foam.bevel=1 in", "plate.bevel_ease=yes"))
	ease := func(p pad.Pad) float64 {
		return (p.Pieces[0].SeamLine.Bounds().Width() - p.Finished.Bounds().Width()) / 2
	}
	eased := func(preset, thickness string) pad.Pad {
		return cut(t, sixteen, recipe(t, "tie-on", "plate.ease="+preset, "foam.thickness="+thickness))
	}
	stool := func(preset string) pad.Pad {
		return cut(t, circleOf(190), recipe(t, "round", "plate.ease="+preset, "foam.thickness=25 mm"))
	}
	longer := func(p pad.Pad) float64 { return p.SeamLength.Millimetres() - 2*math.Pi*190 }
	bench := cut(t, bowFront(), recipe(t, "tie-on"))
	boxed := cut(t, rectangle(609.6, 609.6), recipe(t, "boxed-hand-closed", append([]string{"foam.thickness=4 in", "piping.on=no", "cloth.width=4 m"}, plain...)...))
	w11, d11 := boxed.Pieces[0].Sizes()
	band := boxed.Strips[0]
	across, round := pad.WrapSheet(24*inch, 24*inch, 4*inch)
	across2, round2 := pad.WrapSheet(30*inch, 24*inch, 6*inch)
	const home = "home encyclopaedia page"
	return []check{
		{"E9 half-thickness plate of 16 x 16 x 2 in, width", "how-to site: half the thickness plus 3/8 in", in(w9), 18.75, 1e-9},
		{"E9 and depth", "the same", in(d9), 18.75, 1e-9},
		{"E10 tight: plates as large as the foam", home, in(wide), 16, 1e-9},
		{"E10 finished an inch less", home, tight.Pieces[0].SeamLine.Bounds().Width() / 25.4, 15, 1e-9},
		{"ease over 3 in foam bevelled by 1 in, in", "length along the surface, t/2 - 0.586 c", ease(bevelled) / 25.4, 0.914, 5e-4},
		{"ease of square foam, 25 mm", "t/2", ease(eased("square", "25 mm")), 12.5, 1e-6},
		{"ease of rounded foam, 25 mm", "π t/4 - t/2", ease(eased("rounded", "25 mm")), 7.1, 0.05},
		{"ease of rounded foam, 40 mm", "π t/4 - t/2", ease(eased("rounded", "40 mm")), 11.4, 0.05},
		{"seam longer than the foam, square", "Steiner, 2π t/2", longer(stool("square")), 78.5, 0.05},
		{"seam longer than the foam, rounded", "Steiner, 2π 0.2854 t", longer(stool("rounded")), 44.8, 0.05},
		{"bench: 3/4 in outside the template", "common practice for 1 in foam with 1/2 in seams", in(bench.CutOutside), 0.75, 1e-9},
		{"bench: the cut line's distance from the template", "the same, measured", distanceBetween(bench.Pieces[0].CutLine, bench.Template), 19.05, 0.01},
		{"E11 boxed 24 x 24 x 4 in, plates", "home sewing site, 1/2 in seams", in(w11), 25, 1e-9},
		{"E11 depth", "the same", in(d11), 25, 1e-9},
		{"E11 two plates", "the same", float64(boxed.Pieces[0].Count + boxed.Pieces[1].Count), 2, 0},
		{"E11 boxing width", "the same", in(band.Width), 5, 1e-9},
		{"E11 boxing length", "the same", in(band.Length), 97, 1e-6},
		{"E12 wrap of 24 x 24 x 4 in", "fibre-wrap page", in(across), 30, 1e-9},
		{"E12 round", "the same", in(round), 58, 1e-9},
		{"E12 wrap of 30 x 24 x 6 in", "the same", in(across2), 38, 1e-9},
		{"E12 round", "the same", in(round2), 62, 1e-9},
	}
}

// distanceBetween is the least distance from the middle of the inner path's front to
// the outer path.
func distanceBetween(outer, inner curve.Path) float64 {
	b := inner.Bounds()
	front, _ := inner.Nearest(pt(0, b.Min.Y-50))
	_, d := outer.Nearest(front.Point)
	return d
}

func stripRules() []check {
	in := func(l length.Length) float64 { return l.Inches() }
	strips, cloth := pad.StripsAcross(950*inch, 54*inch, 1.5*inch)
	const forum, geometry, pages = "upholstery forum", "geometry", "sewing pages"
	return []check{
		{"E13 welt strip for 5/32 cord, 1/2 in seams", "upholstery resource page; the trade cuts 1 1/2 in", in(pad.PipingWidth(5.0/32*inch, 0.5*inch, 0)), 1.5, 1.0 / 32},
		{"E13 exactly", "2 s + π d", in(pad.PipingWidth(5.0/32*inch, 0.5*inch, 0)), 1.491, 5e-4},
		{"E14 welt strip for a circumference of 1/2 in", "sewing page", in(pad.PipingWidth(0.5/math.Pi*inch, 0.5*inch, 0)), 1.5, 1e-12},
		{"E15 950 in of 1 1/2 in welt from 54 in: strips", forum, float64(strips), 18, 0},
		{"E15 cloth", forum, in(cloth), 27, 1e-9},
		{"E16 longest bias strip on 54 in", geometry + " (the forum says 76)", in(pad.LongestBias(54 * inch)), 76.37, 0.005},
		{"E19 12 in square, 2 in strips", pages, in(pad.BiasFromArea(12*inch, 12*inch, 2*inch)), 72, 1e-9},
		{"E19 20 in square, 2 in strips", pages, in(pad.BiasFromArea(20*inch, 20*inch, 2*inch)), 200, 1e-9},
		{"E19 36 in square, 2 in strips", pages, in(pad.BiasFromArea(36*inch, 36*inch, 2*inch)), 648, 1e-9},
		{"E20 square for 250 in of 2 in", "soft-furnishing FAQ", in(pad.BiasSquare(250*inch, 2*inch)), 22.36, 0.005},
		{"E21 two strips joined across lose the width", geometry, in(pad.Joined(2, 53*inch, 1.5*inch)), 2*53 - 1.5, 1e-12},
		{"strips of 1347 mm for 1708 mm, 38 mm wide", geometry, float64(pad.StripsFor(1708*mm, 1347*mm, 38*mm)), 2, 0},
		{"thread of a lockstitch, 3 mm through 1.5 mm", "geometry of the 301 stitch", pad.ThreadPerSeam(3*mm, 1.5*mm), 3, 1e-12},
	}
}

// biasTables holds the published tables of bias yield against area: E17 says that
// each square lies at most 3.1 in above the root, E18 that each yield is 0.74 to 1 of
// area over width.
func biasTables() []check {
	var all []check
	need := []length.Length{110, 220, 340, 480}
	squares := [][4]float64{{14, 16, 18, 20}, {19, 23, 26, 28}, {23, 28, 32, 35}, {28, 33, 37, 40}}
	for i, row := range squares {
		for j, width := range []length.Length{1.5, 2, 2.5, 3} {
			root := pad.BiasSquare(need[i]*inch, width*inch).Inches()
			all = append(all, check{fmt.Sprintf("E17 square for %v in of %v in", need[i], width), "quilters' guild handout", row[j], root + 1.55, 1.55})
		}
	}
	yield := func(source string, yards, clothLength, clothWidth, strip float64) {
		share := yards * 36 / pad.BiasFromArea(length.Length(clothLength)*inch, length.Length(clothWidth)*inch, length.Length(strip)*inch).Inches()
		all = append(all, check{fmt.Sprintf("E18 %v yd of %v in bias from %v x %v in", yards, strip, clothLength, clothWidth), source, share, 0.87, 0.13})
	}
	for i, row := range [][3]float64{{4.5, 5.5, 7}, {10, 13, 14}, {16, 20, 22}, {22, 26, 29.5}} {
		for j, width := range []float64{36, 48, 54} {
			yield("home-sewing chart", row[j], 9*float64(i+1), width, 1.625)
		}
	}
	for i, row := range [][5]float64{{23, 15, 12, 10, 8}, {30, 21.5, 16, 14, 10}, {37, 26, 20, 16.5, 12}, {40, 29, 22.5, 19, 14}} {
		for j, strip := range []float64{1.25, 1.75, 2.25, 2.75, 3.75} {
			yield("fibre-art page", row[j], 36, []float64{35, 45, 54, 60}[i], strip)
		}
	}
	return all
}

func jobChecks(t *testing.T) []check {
	count := func(s []string) float64 { return float64(len(s)) }
	usual := pad.SizeOf(seatOf(t, trapezoid(457, 381, 406)))
	wide := pad.SizeOf(seatOf(t, trapezoid(857, 781, 406)))
	nose := cut(t, rectangle(450, 430), recipe(t, "bullnose", append([]string{"foam.thickness=50 mm", "plate.ease=tight"}, plain...)...))
	foam := cut(t, rectangle(450, 430), recipe(t, "boxed-zip", append([]string{"foam.thickness=50 mm", "foam.density=35 kg/m3"}, plain...)...))
	spacing, due := pad.ReliefSpacing(50, 13, 3, 0.10, 6, 25)
	_, gentle := pad.ReliefSpacing(400, 13, 3, 0.10, 6, 25)
	straight, dueStraight := pad.ReliefSpacing(400, 13, 3, 0.03, 6, 25)
	truth := map[bool]float64{true: 1}
	const en71, derived, seats = "EN 71-1 figures, as orientation", "derived", "published seat sizes"
	has := func(text string) float64 { return truth[strings.Contains(pad.FoamTolerance(), text)] }
	return []check{
		{"E45 tail of 220 mm, loop of 380 mm", en71, count(pad.TieCautions(220*mm, 380*mm)), 0, 0},
		{"E45 tail of 221 mm", en71, count(pad.TieCautions(221*mm, 380*mm)), 1, 0},
		{"E45 loop of 381 mm", en71, count(pad.TieCautions(220*mm, 381*mm)), 1, 0},
		{"E46 457 front, 381 rear, 406 deep: questions", seats, count(usual.Unusual()), 0, 0},
		{"E46 taper", seats, usual.Taper.Millimetres(), 76, 1},
		{"E46 857 wide is asked about", seats, truth[count(wide.Unusual()) > 0], 1, 0},
		{"E47 bullnose, 430 deep, 50 thick", derived, pad.WrappedLength(pad.Bullnose, 430*mm, 50*mm).Millimetres(), 888.54, 0.01},
		{"E47 the main piece's seam line", derived, nose.Pieces[0].SeamLine.Bounds().Height(), 888.54, 0.01},
		{"waterfall, 430 deep, 50 thick", "boat canvas handbook, 2 D + t", pad.WrappedLength(pad.Waterfall, 430*mm, 50*mm).Millimetres(), 910, 1e-9},
		{"E48 foam 450 x 430 x 50 mm at 35 kg/m³", derived, foam.Foam.MassKg, 0.3386, 1e-4},
		{"E49 length +12.7/-0", "joint industry foam standards and guidelines, section 10", has("length +12.7/-0 mm"), 1, 0},
		{"E49 width +6.35/-0", "the same", has("width +6.35/-0 mm"), 1, 0},
		{"E49 thickness ±1.6", "the same", has("thickness ±1.6 mm"), 1, 0},
		{"E50 clips at R 50, s 13, g 3", derived, spacing, 11.5, 0.1},
		{"E50 are due", derived, truth[due], 1, 0},
		{"E50 none at R 400 on bias", derived, truth[gentle], 0, 0},
		{"E50 but on straight strips, at the greatest spacing", derived, straight, 25, 0},
		{"E50 are due on straight strips", derived, truth[dueStraight], 1, 0},
	}
}
