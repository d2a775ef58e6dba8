package render

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// dxfTold is what testdata/read_dxf.py tells of a file.
type dxfTold struct {
	Version string
	Units   int
	Errors  []string
	Layers  []string
	Inserts [][]any
	Blocks  map[string]struct {
		Lines []struct {
			Layer         string
			Closed, Valid bool
			Area          float64
			Points        [][2]float64
		}
		Words [][2]string
	}
}

func seatPieces(t testing.TB) []sheet.Piece {
	plate := seatPlate(t)
	second := sheet.Plate{Fabric: plate.Fabric.Mirrored(plane.Point{}, plane.Vec{Y: 1}), Mirrored: true}
	return sheet.Pieces(seatLabel(), plate, second)
}

// An independent reader (ezdxf, with its audit) finds one block for each piece, on
// the layers of ASTM D6673, within the tolerance of the curves, with their areas.
func TestDXFIsReadByAnIndependentReader(t *testing.T) {
	var out bytes.Buffer
	if err := DXF(&out, seatPieces(t)); err != nil {
		t.Fatal(err)
	}
	var told dxfTold
	// The system's own python3, because ezdxf and Shapely come as system packages.
	if err := json.Unmarshal([]byte(run(t, "/usr/bin/python3", "testdata/read_dxf.py", writeFile(t, "pieces.dxf", out.Bytes()))), &told); err != nil {
		t.Fatal(err)
	}
	if told.Version != "AC1009" || told.Units != 4 || len(told.Errors) > 0 || len(told.Inserts) != 3 {
		t.Errorf("version %s, units %d, errors %v, %d inserts; want AC1009, 4 (mm), none, 3", told.Version, told.Units, told.Errors, len(told.Inserts))
	}
	for _, layer := range []string{"1", "4", "6", "7", "8", "14", "15"} {
		if !slices.Contains(told.Layers, layer) {
			t.Errorf("there is no layer %s: %v", layer, told.Layers)
		}
	}
	plate := seatPlate(t)
	for name, want := range map[string]struct {
		path    curve.Path
		notches int
	}{
		"FOAM": {plate.Foam, 1}, "FABRIC": {plate.Fabric, 4},
		"SECOND-PLATE": {plate.Fabric.Mirrored(plane.Point{}, plane.Vec{Y: 1}), 4},
	} {
		boundaries, notches := 0, 0
		for _, line := range told.Blocks[name].Lines {
			switch line.Layer {
			case "4":
				notches++
			case "1":
				boundaries++
				checkDXFOutline(t, name, line.Points, line.Area, want.path)
				if !line.Closed || !line.Valid {
					t.Errorf("%s: closed %v, valid for GEOS %v", name, line.Closed, line.Valid)
				}
			}
		}
		if boundaries != 1 || notches != want.notches {
			t.Errorf("%s has %d boundaries and %d notches, want 1 and %d", name, boundaries, notches, want.notches)
		}
	}
	if !slices.Contains(told.Blocks["FABRIC"].Words, [2]string{"15", seatLabel().Job}) {
		t.Errorf("the job's name is not on layer 15: %v", told.Blocks["FABRIC"].Words)
	}
}

func checkDXFOutline(t *testing.T, name string, points [][2]float64, area float64, path curve.Path) {
	t.Helper()
	var ring []plane.Point
	for _, p := range points {
		ring = append(ring, plane.Point{X: p[0], Y: p[1]})
	}
	polygon := curve.Polygon(ring...)
	worst := 0.0
	for _, q := range path.Flatten(0.0005) {
		_, d := polygon.Nearest(q)
		worst = math.Max(worst, d)
	}
	if worst > DXFTolerance {
		t.Errorf("%s: the polyline is %.4f mm off, want at most %v", name, worst, DXFTolerance)
	}
	if want := math.Abs(path.SignedArea()); math.Abs(area-want) > DXFTolerance*path.ArcLength(0.01) {
		t.Errorf("%s: GEOS finds %.1f mm², want %.1f", name, area, want)
	}
	t.Logf("%s: %d points, within %.4f mm, area off by %.2f mm²", name, len(points), worst, area-math.Abs(path.SignedArea()))
}

func TestDXFOfNothingIsAnError(t *testing.T) {
	if err := DXF(&bytes.Buffer{}, nil); err == nil {
		t.Error("no pieces: no error")
	}
	bad := []sheet.Piece{{Name: "X", Items: []sheet.Item{sheet.Text{Words: "x", Size: 3, At: plane.Point{Y: math.Inf(1)}}}}}
	if err := DXF(&bytes.Buffer{}, bad); err == nil {
		t.Error("a place that is not a number: no error")
	}
}
