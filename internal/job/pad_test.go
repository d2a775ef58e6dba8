package job_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairedge/internal/job"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"
)

const mm = length.Millimetre

func padSeat(t testing.TB) shape.Shape {
	t.Helper()
	s, err := shapefile.Trapezoid(380*mm, 450*mm, 400*mm, shapefile.AllCorners(40*mm))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func padLabel() job.Label {
	return job.Label{Name: "Alder, kitchen chair", Date: time.Date(2026, time.March, 4, 0, 0, 0, 0, time.UTC), Program: "fairedge 0.1"}
}

func padFiles(t testing.TB, recipe string, c job.PadChoices) job.PadResult {
	t.Helper()
	r, err := job.RecipeFrom(recipe, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	made, err := job.PadFromShape(padSeat(t), r, c)
	if err != nil {
		t.Fatal(err)
	}
	printing, err := job.PrintingOn("any", nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	result, err := job.PadFiles(made, padLabel(), printing)
	if err != nil {
		t.Fatal(err)
	}
	return result
}

func fileNamed(t *testing.T, r job.PadResult, name string) []byte {
	t.Helper()
	for _, f := range r.Files {
		if f.Name == name {
			return f.Data
		}
	}
	t.Fatalf("there is no file %s", name)
	return nil
}

// Same shape, recipe, choices, date and program: same bytes.
func TestPadFilesAreTheSameEachTime(t *testing.T) {
	c := job.PadChoices{Pads: 3, Spare: pad.DefaultSpare(), Half: true}
	a, b := padFiles(t, "boxed-zip", c), padFiles(t, "boxed-zip", c)
	if len(a.Files) != len(b.Files) || len(a.Files) < 15 {
		t.Fatalf("%d and %d files", len(a.Files), len(b.Files))
	}
	for i := range a.Files {
		if a.Files[i].Name != b.Files[i].Name || !bytes.Equal(a.Files[i].Data, b.Files[i].Data) {
			t.Errorf("%s differs from run to run", a.Files[i].Name)
		}
	}
}

// Every guide line names files that are there, every file is in the report, and no
// file name needs quoting.
func TestPadFilesAreNamed(t *testing.T) {
	r := padFiles(t, "waterfall", job.PadChoices{Pads: 1, Strips: true})
	if len(r.Files) != len(r.Report.Files) {
		t.Errorf("%d files, %d in the report", len(r.Files), len(r.Report.Files))
	}
	for i, f := range r.Files {
		if f.Name != r.Report.Files[i] || strings.Trim(f.Name, "abcdefghijklmnopqrstuvwxyz0123456789-.") != "" {
			t.Errorf("file %d is %q, in the report %q", i, f.Name, r.Report.Files[i])
		}
	}
	for _, g := range r.Guide {
		name, _, _ := strings.Cut(g.Name, ",")
		fileNamed(t, r, name)
	}
}

// The areas of the report's outlines, by GEOS, are those of the pieces: the take-off
// says the same to 0.01 %.
func TestPadReportHasTheAreas(t *testing.T) {
	r := padFiles(t, "tie-on", job.PadChoices{Pads: 1})
	path := filepath.Join(t.TempDir(), "pad.json")
	if err := os.WriteFile(path, fileNamed(t, r, "pad.json"), 0o600); err != nil {
		t.Fatal(err)
	}
	const script = `
import json, sys
from shapely.geometry import Polygon
pad = json.load(open(sys.argv[1]))
def ring(pieces):
    out = []
    for s in pieces:
        p = s["points"]
        if s["type"] == "line":
            out.append(p[0]); continue
        for i in range(200):
            t = i / 200; u = 1 - t
            out.append([u*u*u*a + 3*u*u*t*b + 3*u*t*t*c + t*t*t*d for a, b, c, d in zip(*p)])
    return Polygon(out)
print(json.dumps([[ring(p["cut"] or p["foam"]).area if "cut" in p else ring(p["foam"]).area, ring(p.get("cut") or p["foam"]).is_valid] for p in pad["pieces"]]))
`
	out, err := exec.Command("/usr/bin/python3", "-c", script, path).CombinedOutput()
	if err != nil {
		t.Fatalf("the areas cannot be checked without python3 and Shapely (make test-packages): %v\n%s", err, out)
	}
	var told [][2]any
	if err := json.Unmarshal(out, &told); err != nil {
		t.Fatal(err)
	}
	if len(told) != 3 {
		t.Fatalf("GEOS read %d pieces, want 3", len(told))
	}
	for i, need := range r.Report.TakeOff[:2] {
		if got := told[i][0].(float64); math.Abs(got/need.Area-1) > 1e-4 || told[i][1] != true {
			t.Errorf("%s: GEOS finds %.1f mm² (valid %v), the take-off says %.1f", need.Item, got, told[i][1], need.Area)
		}
	}
	if got := told[2][0].(float64); math.Abs(got/r.Report.Foam.Area-1) > 1e-4 {
		t.Errorf("foam: GEOS finds %.1f mm², the report says %.1f", got, r.Report.Foam.Area)
	}
}

// The take-off is a table that a spreadsheet reads: as many fields in each row; counts
// grow with the pads.
func TestTakeOffIsATable(t *testing.T) {
	counts := map[int]int{}
	for _, pads := range []int{1, 6} {
		r := padFiles(t, "boxed-zip", job.PadChoices{Pads: pads, Spare: pad.DefaultSpare()})
		rows, err := csv.NewReader(bytes.NewReader(fileNamed(t, r, "take-off.csv"))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if len(rows) != len(r.Report.TakeOff)+1 || rows[0][0] != "kind" {
			t.Fatalf("%d rows for %d needs", len(rows), len(r.Report.TakeOff))
		}
		for i, n := range r.Report.TakeOff {
			if l, _ := strconv.ParseFloat(rows[i+1][4], 64); math.Abs(l-n.Length) > 0.05 {
				t.Errorf("%s: the table says %s mm, the report %.3f", n.Item, rows[i+1][4], n.Length)
			}
			counts[pads] += n.Count
		}
	}
	if counts[6] != 6*counts[1] {
		t.Errorf("6 pads need %d pieces, one needs %d", counts[6], counts[1])
	}
}

func TestPadsThatMakeNoSense(t *testing.T) {
	r, err := job.RecipeFrom("tie-on", nil, []job.Change{{Key: "foam.thickness", Value: "2 in"}})
	if err != nil || r.Foam.Thickness != 2*length.Inch {
		t.Fatalf("foam is %v thick, %v", r.Foam.Thickness, err)
	}
	uneven, err := shapefile.Trapezoid(380*mm, 450*mm, 400*mm, shapefile.Corners{FrontLeft: 60 * mm})
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]job.PadChoices{
		"no pad":            {Pads: 0},
		"too many":          {Pads: 100000},
		"half of an uneven": {Pads: 1, Half: true},
		"halves of nothing": {Pads: 1, Halves: "both"},
	} {
		if _, err := job.PadFromShape(uneven, r, c); problem.KindOf(err) != problem.Usage {
			t.Errorf("%s: %v, want a usage error", name, err)
		}
	}
	made, err := job.PadFromShape(uneven, r, job.PadChoices{Pads: 1, Half: true, Halves: pad.LeftHalf})
	if err != nil {
		t.Fatal(err)
	}
	said := strings.Join(made.Choices.Said, " ")
	if !strings.Contains(said, "The halves differ by up to") || !strings.Contains(said, "made alike") {
		t.Errorf("nothing is said of the halves: %q", said)
	}
}

// A drawing says its size, or is asked for it; a shape of fairedge needs no unit.
func TestShapeFromWhatIsGiven(t *testing.T) {
	own, err := shapefile.EncodeDocument(shapefile.Document{Name: "Alder", Shape: padSeat(t), Uncertainty: 0.84 * mm})
	if err != nil {
		t.Fatal(err)
	}
	d, _, err := job.ShapeFrom(own, shapefile.ImportOptions{})
	if err != nil || d.Name != "Alder" || job.ShapeAccuracy(d) != "The outline is right within 0.9 mm all round (19 of 20)." {
		t.Errorf("%q, %q, %v", d.Name, job.ShapeAccuracy(d), err)
	}
	if _, _, err := job.ShapeFrom(own, shapefile.ImportOptions{Unit: mm}); problem.KindOf(err) != problem.Usage {
		t.Errorf("a unit for a shape: %v", err)
	}
	const square = `<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="500mm" viewBox="0 0 500 500"><path id="seat" d="M50 50H450V440H50Z"/><path d="M100 100H200V200Z"/></svg>`
	d, said, err := job.ShapeFrom([]byte(square), shapefile.ImportOptions{})
	if err != nil || math.Abs(d.Shape.Size.Width.Millimetres()-400) > 1e-6 || len(said) != 1 || !strings.Contains(said[0], `"seat" was taken`) {
		t.Errorf("width %v, said %q, %v", d.Shape.Size.Width, said, err)
	}
	if _, _, err := job.ShapeFrom([]byte("GIF89a"), shapefile.ImportOptions{}); problem.KindOf(err) != problem.NotAShape {
		t.Errorf("a picture: %v", err)
	}
}

// BenchmarkPad makes every file of a pad.
func BenchmarkPad(b *testing.B) {
	for b.Loop() {
		padFiles(b, "tie-on", job.PadChoices{Pads: 1, Spare: pad.DefaultSpare()})
	}
}
