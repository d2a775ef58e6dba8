package render

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// readOutline returns the path that the SVG calls id, turned back into the sheet's
// frame, read by a parser of its own: absolute M, L, C, Z.
func readOutline(t *testing.T, svg []byte, id string, height float64) curve.Path {
	t.Helper()
	for decoder := xml.NewDecoder(bytes.NewReader(svg)); ; {
		token, err := decoder.Token()
		if err == io.EOF {
			t.Fatalf("the SVG has no path %q", id)
		}
		if err != nil {
			t.Fatal(err)
		}
		element, ok := token.(xml.StartElement)
		if !ok || element.Name.Local != "path" {
			continue
		}
		attributes := map[string]string{}
		for _, a := range element.Attr {
			attributes[a.Name.Local] = a.Value
		}
		if attributes["id"] == id {
			return parsePath(t, attributes["d"], height)
		}
	}
}

func parsePath(t *testing.T, data string, height float64) curve.Path {
	t.Helper()
	tokens := regexp.MustCompile(`[MLCZ]|-?[0-9.]+`).FindAllString(data, -1)
	var segments []curve.Segment
	var start, here plane.Point
	point := func() plane.Point {
		x, err1 := strconv.ParseFloat(tokens[0], 64)
		y, err2 := strconv.ParseFloat(tokens[1], 64)
		if err1 != nil || err2 != nil {
			t.Fatalf("path data has no point at %v", tokens[:2])
		}
		tokens = tokens[2:]
		return plane.Point{X: x, Y: height - y}
	}
	for len(tokens) > 0 {
		command := tokens[0]
		tokens = tokens[1:]
		switch command {
		case "M":
			start = point()
			here = start
		case "L":
			to := point()
			segments = append(segments, curve.Line(here, to))
			here = to
		case "C":
			a, b, to := point(), point(), point()
			segments = append(segments, curve.Cubic(here, a, b, to))
			here = to
		case "Z":
			if here.DistanceTo(start) > 1e-9 {
				segments = append(segments, curve.Line(here, start))
			}
			return curve.ClosedPath(segments...)
		default:
			t.Fatalf("unknown path command %q", command)
		}
	}
	return curve.OpenPath(segments...)
}

func TestSVGOutlinesReadBackAsTheyAre(t *testing.T) {
	s := sheet.Whole(seatLabel(), seatPlate(t))
	var out bytes.Buffer
	if err := SVG(&out, s); err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"net", "fabric"} {
		want := stroke(t, s, id).Path
		got := readOutline(t, out.Bytes(), id, s.Height.Millimetres())
		if got.Len() != want.Len() || !got.IsClosed() {
			t.Fatalf("%s: %d pieces, closed %v; want %d, closed", id, got.Len(), got.IsClosed(), want.Len())
		}
		for i := range want.Len() {
			g, w := got.Segment(i), want.Segment(i)
			worst := math.Max(math.Max(g.P0.DistanceTo(w.P0), g.P1.DistanceTo(w.P1)), math.Max(g.P2.DistanceTo(w.P2), g.P3.DistanceTo(w.P3)))
			if g.Straight != w.Straight || worst > 2e-6 { // written to 1e-6 per coordinate
				t.Errorf("%s: piece %d is %v, want %v", id, i, g, w)
			}
		}
	}
}

func TestSVGSaysItsSizeTwiceAlike(t *testing.T) {
	s := sheet.Whole(seatLabel(), seatPlate(t))
	var out bytes.Buffer
	if err := SVG(&out, s); err != nil {
		t.Fatal(err)
	}
	head := fmt.Sprintf(`width="%vmm" height="%vmm" viewBox="0 0 %v %v"`,
		s.Width.Millimetres(), s.Height.Millimetres(), s.Width.Millimetres(), s.Height.Millimetres())
	if !strings.Contains(out.String(), head) {
		t.Errorf("the SVG does not begin with %s", head)
	}
	if !strings.Contains(out.String(), "Ålder &amp; sons &lt;kitchen&gt;") {
		t.Error("the job's name is not written safely")
	}
	var again bytes.Buffer
	if err := SVG(&again, s); err != nil || !bytes.Equal(out.Bytes(), again.Bytes()) {
		t.Errorf("the same sheet gives another SVG (%v)", err)
	}
}

func TestSVGRefusesTwoItemsOfOneName(t *testing.T) {
	s := square(100, 100)
	s.Items = append(s.Items, s.Items[0])
	if err := SVG(&bytes.Buffer{}, s); err == nil {
		t.Error("two items called fabric give no error")
	}
}

// crossing returns where the outline crosses the horizontal line at height y, the
// least x and the greatest, by brute force on a fine polygon.
func crossing(path curve.Path, y float64) (least, greatest float64) {
	least, greatest = math.Inf(1), math.Inf(-1)
	ring := path.Flatten(0.001)
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if (a.Y < y) != (b.Y < y) {
			x := a.X + (y-a.Y)/(b.Y-a.Y)*(b.X-a.X)
			least, greatest = math.Min(least, x), math.Max(greatest, x)
		}
	}
	return least, greatest
}

// checkWidths compares the drawn fabric line with the curve at several heights.
func checkWidths(t *testing.T, r *raster, s sheet.Sheet, tolerance float64) {
	t.Helper()
	path := stroke(t, s, "fabric").Path
	b := path.Bounds()
	worst := 0.0
	for _, share := range []float64{0.15, 0.3, 0.45, 0.6, 0.75} {
		y := math.Floor((b.Min.Y+share*b.Height())*r.perMM)/r.perMM + 0.5/r.perMM // a row's middle
		left, right := crossing(path, y)
		var off [2]float64
		for i, x := range []float64{left, right} {
			ink, middle := r.moment(plane.Point{X: x, Y: y}, plane.Vec{X: 1}, 3)
			if ink < 0.5 || ink > 1.2 { // the line is 0.8 mm wide and crossed at a slant
				t.Fatalf("at height %.1f the line has %.2f mm of ink", y, ink)
			}
			off[i] = middle
		}
		worst = math.Max(worst, math.Abs(off[1]-off[0]))
	}
	if worst > tolerance {
		t.Errorf("the outline is drawn %.3f mm too wide or narrow, want at most %v", worst, tolerance)
	}
	t.Logf("widths within %.4f mm", worst)
}

func TestSVGIsDrawnTrueToScale(t *testing.T) {
	t.Parallel()
	s := sheet.Whole(seatLabel(), seatPlate(t))
	svg := writeSVG(t, s)
	out := filepath.Join(t.TempDir(), "sheet.png")
	run(t, "rsvg-convert", "--unlimited", "-d", "150", "-p", "150", "-b", "white", "-o", out, svg)
	r := readPNG(t, out, 150, s)
	if w := float64(r.width) / r.perMM; math.Abs(w-s.Width.Millimetres()) > 0.5/r.perMM+0.05 {
		t.Errorf("the drawing is %.2f mm wide, want %v", w, s.Width)
	}
	checkWidths(t, r, s, 0.05)
}

// A browser takes the CSS pixel for 1/96 in (CSS Values and Units 4, 6.2).
func TestSVGIsTrueToScaleInABrowser(t *testing.T) {
	if os.Getenv("FAIREDGE_SLOW") != "1" {
		t.Skip("set FAIREDGE_SLOW=1 to start a browser")
	}
	s := sheet.Whole(seatLabel(), seatPlate(t))
	svg := writeSVG(t, s)
	out := filepath.Join(t.TempDir(), "sheet.png")
	const zoom = 2
	w, h := int(s.Width.Points()*96/72)+40, int(s.Height.Points()*96/72)+40
	run(t, "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
		fmt.Sprintf("--force-device-scale-factor=%d", zoom), fmt.Sprintf("--window-size=%d,%d", w, h),
		"--screenshot="+out, "file://"+svg)
	checkWidths(t, readPNG(t, out, 96*zoom, s), s, 0.05)
}
