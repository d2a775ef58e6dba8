package shapefile_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shapefile"
)

// dxf returns a drawing with the entities, each pair written "code value", one a line.
func dxf(unit int, blocks, entities string) []byte {
	var out strings.Builder
	write := func(text string) {
		for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
			code, value, _ := strings.Cut(strings.TrimSpace(line), " ")
			fmt.Fprintf(&out, "%3s\r\n%s\r\n", code, value)
		}
	}
	write("0 SECTION\n2 HEADER\n9 $ACADVER\n1 AC1015")
	if unit >= 0 {
		write(fmt.Sprintf("9 $INSUNITS\n70 %d", unit))
	}
	write("0 ENDSEC\n0 SECTION\n2 TABLES\n0 TABLE\n2 LAYER\n0 LAYER\n2 off\n70 0\n62 -3\n0 ENDTAB\n0 ENDSEC\n0 SECTION\n2 BLOCKS")
	if blocks != "" {
		write(blocks)
	}
	write("0 ENDSEC\n0 SECTION\n2 ENTITIES")
	write(entities)
	write("0 ENDSEC\n0 EOF")
	return []byte(out.String())
}

const rectangleDXF = "0 LWPOLYLINE\n8 seat\n90 4\n70 1\n10 0\n20 0\n10 400\n20 0\n10 400\n20 300\n10 0\n20 300"

// Sizes are closed forms: sides, π r², segments of circles.
func TestDXFEntitiesHaveTheirSizes(t *testing.T) {
	const circle = math.Pi * 150 * 150
	for name, c := range map[string]struct {
		blocks, entities    string
		width, height, area float64
	}{
		"lwpolyline": {"", rectangleDXF, 400, 300, 120000},
		"polyline": {"", "0 POLYLINE\n8 0\n66 1\n70 1\n0 VERTEX\n10 0\n20 0\n0 VERTEX\n10 400\n20 0\n0 VERTEX\n10 400\n20 300\n0 VERTEX\n10 0\n20 300\n0 SEQEND",
			400, 300, 120000},
		"half-circle bulges": {"", "0 LWPOLYLINE\n70 1\n10 0\n20 0\n42 1\n10 300\n20 0\n42 1", 300, 300, circle},
		// Bulge tan(90°/4): a quarter circle over the chord 400, radius 400/√2.
		"bulge outward": {"", "0 LWPOLYLINE\n70 1\n10 0\n20 0\n42 0.41421356237309503\n10 400\n20 0\n10 400\n20 300\n10 0\n20 300", 400, 300 + 200*(math.Sqrt2-1),
			120000 + 80000*(math.Pi/4-0.5)},
		"bulge inward": {"", "0 LWPOLYLINE\n70 1\n10 0\n20 0\n42 -0.41421356237309503\n10 400\n20 0\n10 400\n20 300\n10 0\n20 300", 400, 300, 120000 - 80000*(math.Pi/4-0.5)},
		"circle":       {"", "0 CIRCLE\n10 5\n20 6\n40 150", 300, 300, circle},
		"ellipse":      {"", "0 ELLIPSE\n10 5\n20 6\n11 0\n21 200\n40 0.6\n41 0\n42 6.283185307179586", 240, 400, math.Pi * 200 * 120},
		"arc and line": {"", "0 ARC\n10 0\n20 0\n40 150\n50 270\n51 90\n0 LINE\n10 0\n20 150\n11 0\n21 -150", 150, 300, circle / 2},
		"from below":   {"", "0 ARC\n10 0\n20 0\n40 150\n50 270\n51 90\n230 -1\n0 LINE\n10 0\n20 150\n11 0\n21 -150", 150, 300, circle / 2},
		"half an ellipse": {"", "0 ELLIPSE\n10 0\n20 0\n11 200\n21 0\n40 0.5\n41 0\n42 3.141592653589793\n0 LINE\n10 -200\n20 0\n11 200\n21 0",
			400, 100, math.Pi * 200 * 100 / 2},
		"block": {"0 BLOCK\n2 pad\n10 10\n20 20\n" + rectangleDXF + "\n0 ENDBLK", "0 INSERT\n8 0\n2 pad\n10 7\n20 8\n41 2\n42 0.5\n50 90", 150, 800, 120000},
		"block in a block": {"0 BLOCK\n2 pad\n" + rectangleDXF + "\n0 ENDBLK\n0 BLOCK\n2 outer\n0 INSERT\n2 pad\n50 90\n0 ENDBLK", "0 INSERT\n2 outer\n10 7\n41 2",
			600, 400, 240000},
		// A uniform quadratic B-spline with one span is a parabola: here over the chord 400, 100 high.
		"quadratic spline": {"", "0 SPLINE\n70 8\n71 2\n40 0\n40 0\n40 0\n40 1\n40 1\n40 1\n10 0\n20 0\n10 200\n20 200\n10 400\n20 0\n0 LINE\n10 0\n20 0\n11 400\n21 0",
			400, 100, 400 * 100 * 2 / 3.0},
		// The rational quadratic of weights 1, √½, 1 is a quarter circle (Piegl and Tiller, "The NURBS Book", 7.3).
		"rational spline": {"", "0 SPLINE\n70 12\n71 2\n40 0\n40 0\n40 0\n40 1\n40 1\n40 1\n41 1\n41 0.7071067811865476\n41 1\n10 300\n20 0\n10 300\n20 300\n10 0\n20 300\n" +
			"0 LINE\n10 0\n20 0\n11 300\n21 0\n0 LINE\n10 0\n20 0\n11 0\n21 300", 300, 300, circle},
	} {
		got, err := shapefile.Import(dxf(4, c.blocks, c.entities), shapefile.ImportOptions{Back: plane.Vec{Y: 1}})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		l := got.Lines[0]
		if math.Abs(l.Width.Millimetres()-c.width) > 1e-3 || math.Abs(l.Height.Millimetres()-c.height) > 1e-3 || math.Abs(l.AreaMM2-c.area) > 0.2 {
			t.Errorf("%s: %v by %v, %.2f mm2, want %g mm by %g mm, %.2f mm2", name, l.Width, l.Height, l.AreaMM2, c.width, c.height, c.area)
		}
	}
}

// $INSUNITS of the DXF Reference: 1 inches, 2 feet, 4 mm, 5 cm, 6 m.
func TestUnitsOfADXF(t *testing.T) {
	for unit, want := range map[int]float64{1: 25.4, 2: 304.8, 4: 1, 5: 10, 6: 1000} {
		small := strings.NewReplacer("400", "4", "300", "3")
		if unit == 4 {
			small = strings.NewReplacer()
			want = 100
		}
		got := imported(t, dxf(unit, "", small.Replace(rectangleDXF)), shapefile.ImportOptions{})
		if w := got.Lines[0].Width.Millimetres(); math.Abs(w-4*want) > 1e-9 || !got.Stated {
			t.Errorf("unit %d: %g mm wide, want %g", unit, w, 4*want)
		}
	}
	for _, unit := range []int{-1, 0, 3, 99} {
		_, err := shapefile.Import(dxf(unit, "", rectangleDXF), shapefile.ImportOptions{})
		if problem.KindOf(err) != problem.Usage || !strings.Contains(err.Error(), "400 by 300") || !strings.Contains(err.Error(), "--unit") {
			t.Errorf("unit %d: error %v, want the unit asked for", unit, err)
		}
	}
	got := imported(t, dxf(0, "", strings.ReplaceAll(rectangleDXF, "00", "")), shapefile.ImportOptions{Unit: 10 * length.Inch})
	if math.Abs(got.Lines[0].Width.Inches()-40) > 1e-9 {
		t.Errorf("4 units of 10 in are %v", got.Lines[0].Width)
	}
}

func TestHiddenLayersOfADXFAreLeftOut(t *testing.T) {
	frame := strings.NewReplacer("8 seat", "8 off", "400", "900").Replace(rectangleDXF)
	page := strings.NewReplacer("8 seat", "8 seat\n67 1", "400", "900").Replace(rectangleDXF)
	got := imported(t, dxf(4, "", frame+"\n"+page+"\n"+rectangleDXF), shapefile.ImportOptions{})
	if len(got.Lines) != 1 || got.Lines[0].Name != "seat" {
		t.Errorf("lines %+v, want only the seat", got.Lines)
	}
}

// ezdxf, an independent library, writes drawings of every release with every kind of
// line, and says by its own flattening where they run.
func TestAgainstEzdxf(t *testing.T) {
	script, err := filepath.Abs("testdata/ezdxf_drawings.py")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	command := exec.Command("/usr/bin/python3", script, dir)
	if out, err := command.CombinedOutput(); err != nil {
		t.Fatalf("python3 with ezdxf and shapely is needed (make test installs it): %v\n%s", err, out)
	}
	files, err := filepath.Glob(filepath.Join(dir, "*.dxf"))
	if err != nil || len(files) < 12 {
		t.Fatalf("%d drawings, %v", len(files), err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		truth, err := os.ReadFile(strings.TrimSuffix(name, ".dxf") + ".txt")
		if err != nil {
			t.Fatal(err)
		}
		o := shapefile.ImportOptions{Back: plane.Vec{Y: 1}}
		if strings.Contains(name, "R12") {
			o.Unit = mm // release 12 has no units
		}
		got, err := shapefile.Import(data, o)
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(name), err)
			continue
		}
		compareWithPoints(t, filepath.Base(name), got, truth)
	}
}

// compareWithPoints holds an outline against points on the true one, moved as the shape
// says it was.
func compareWithPoints(t *testing.T, name string, got shapefile.Imported, truth []byte) {
	t.Helper()
	var worst float64
	var points []plane.Point
	for _, line := range bytes.Split(bytes.TrimSpace(truth), []byte("\n")) {
		var p plane.Point
		if _, err := fmt.Sscan(string(line), &p.X, &p.Y); err != nil {
			t.Fatal(err)
		}
		p = got.Shape.SeatFromPlane.Apply(p)
		points = append(points, p)
		_, d := got.Shape.Net.Nearest(p)
		worst = math.Max(worst, d)
	}
	if len(points) < 20 || worst > 2e-4 {
		t.Errorf("%s: %d points of the true line lie up to %.2g mm off, want 2e-4", name, len(points), worst)
	}
	around := 0.0
	for i, p := range points {
		around += p.DistanceTo(points[(i+1)%len(points)])
	}
	if share := got.Shape.Size.Perimeter.Millimetres() / around; math.Abs(share-1) > 1e-3 {
		t.Errorf("%s: %.2f mm round, the points %.2f", name, got.Shape.Size.Perimeter.Millimetres(), around)
	}
}
