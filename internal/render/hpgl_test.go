package render

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// drawnLine is a line that a plotter drew.
type drawnLine struct{ from, to plane.Point }

// plotted has an independent program (hp2xx) plot the file, and returns its lines in mm.
func plotted(t *testing.T, hpgl []byte) []drawnLine {
	t.Helper()
	out := filepath.Join(t.TempDir(), "plot.dxf")
	run(t, "hp2xx", "-q", "-m", "dxf", "-t", "-f", out, writeFile(t, "pieces.plt", hpgl))
	data, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	var lines []drawnLine
	tags := strings.Split(string(data), "\n")
	for i := 0; i+1 < len(tags); i += 2 {
		code, text := strings.TrimSpace(tags[i]), strings.TrimSpace(tags[i+1])
		if code == "0" && text == "LINE" {
			lines = append(lines, drawnLine{})
		}
		value, err := strconv.ParseFloat(text, 64)
		if len(lines) == 0 || err != nil {
			continue
		}
		l := &lines[len(lines)-1]
		switch code {
		case "10":
			l.from.X = value
		case "20":
			l.from.Y = value
		case "11":
			l.to.X = value
		case "21":
			l.to.Y = value
		}
	}
	return lines
}

// An independent reader finds every cut line where it belongs, in true size, with pen 4,
// and as long as it is.
func TestHPGLIsPlottedInTrueSize(t *testing.T) {
	pieces := seatPieces(t)
	var out bytes.Buffer
	if err := HPGL(&out, pieces); err != nil {
		t.Fatal(err)
	}
	var cuts []sheet.Stroke
	want, box := 0.0, plane.EmptyRect()
	for _, p := range pieces {
		for _, item := range p.Items {
			if s, isStroke := item.(sheet.Stroke); isStroke && hpglPen(s.Role) == penCut {
				s.Path = s.Path.Map(func(q plane.Point) plane.Point { return q.Add(p.Place) })
				cuts, want, box = append(cuts, s), want+s.Path.ArcLength(1e-4), box.Union(s.Path.Bounds())
			}
		}
	}
	var drawn []drawnLine
	got, gotBox := 0.0, plane.EmptyRect()
	// The reader forgets the pens, so it is given the cut lines alone: all after SP4.
	_, withPen4, _ := strings.Cut(out.String(), "SP4;")
	for _, l := range plotted(t, []byte("IN;SP4;"+withPen4)) {
		drawn, got, gotBox = append(drawn, l), got+l.from.DistanceTo(l.to), gotBox.Include(l.from).Include(l.to)
	}
	// The reader writes hundredths of a millimetre.
	const rounding = 0.01
	if len(cuts) != 3 || math.Abs(got-want) > 1 || math.Abs(gotBox.Width()-box.Width()) > 2*(HPGLTolerance+rounding) || math.Abs(gotBox.Height()-box.Height()) > 2*(HPGLTolerance+rounding) {
		t.Errorf("%d cut lines, %.3f mm plotted of %.3f, %.3f x %.3f mm instead of %.3f x %.3f",
			len(cuts), got, want, gotBox.Width(), gotBox.Height(), box.Width(), box.Height())
	}
	shift := plane.Vec{X: box.Centre().X - gotBox.Centre().X, Y: box.Centre().Y - gotBox.Centre().Y}
	for _, l := range drawn {
		nearest := math.Inf(1)
		for _, c := range cuts {
			_, off := c.Path.Nearest(l.from.Add(shift))
			nearest = math.Min(nearest, off)
		}
		if nearest > 2*HPGLTolerance+rounding {
			t.Errorf("a cut at %v lies %.3f mm off", l.from, nearest)
		}
	}
}

func TestHPGLKeepsToPlainLettersAndRefusesNothing(t *testing.T) {
	piece := sheet.Piece{Name: "A", Items: []sheet.Item{
		sheet.Stroke{Role: sheet.CutLine, Path: seatPlate(t).Foam}, sheet.Text{Words: "Zoë\x03 450 × 430 ±½\n", Size: 5},
	}}
	var out bytes.Buffer
	if err := HPGL(&out, []sheet.Piece{piece}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out.String(), "LBZo?  450 x 430 ~? \x03;") {
		t.Errorf("the words came out as %q", out.String()[strings.Index(out.String(), "LB"):][:40])
	}
	if err := HPGL(&out, nil); err == nil {
		t.Error("no piece at all gives no error")
	}
}
