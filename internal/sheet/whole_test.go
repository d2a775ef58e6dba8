package sheet_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

func pt(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

// seat is an outline without a mirror axis.
func seat() curve.Path {
	return curve.ClosedPath(
		curve.Line(pt(180, 0), pt(-180, 0)),
		curve.Cubic(pt(-180, 0), pt(-190, -100), pt(-215, -250), pt(-225, -360)),
		curve.Cubic(pt(-225, -360), pt(-228, -390), pt(-210, -405), pt(-180, -408)),
		curve.Cubic(pt(-180, -408), pt(-60, -425), pt(60, -425), pt(160, -410)),
		curve.Cubic(pt(160, -410), pt(205, -404), pt(231, -380), pt(225, -340)),
		curve.Cubic(pt(225, -340), pt(215, -250), pt(190, -100), pt(180, 0)),
	)
}

func plate(t *testing.T, net curve.Path) sheet.Plate {
	t.Helper()
	border, err := net.OffsetOutline(curve.Uniform(19.05), 0.01)
	if err != nil {
		t.Fatal(err)
	}
	return sheet.Plate{Foam: net, Fabric: border.Path}
}

func label() sheet.Label {
	return sheet.Label{
		Job: "Alder, kitchen chair 2 of 4", Program: "fairedge 0.1",
		Date:     time.Date(2026, time.March, 4, 0, 0, 0, 0, time.UTC),
		Accuracy: "Each size is right to about ± 1.0 mm (95 %).",
		Notes:    []string{"Fabric 19.05 mm beyond the foam."},
	}
}

func strokeNamed(t *testing.T, s sheet.Sheet, id string) sheet.Stroke {
	t.Helper()
	for _, item := range s.Items {
		if stroke, ok := item.(sheet.Stroke); ok && stroke.ID == id {
			return stroke
		}
	}
	t.Fatalf("%s has no stroke %q", s.Title, id)
	return sheet.Stroke{}
}

func wordsOf(s sheet.Sheet) string {
	var all strings.Builder
	for _, item := range s.Items {
		if text, ok := item.(sheet.Text); ok {
			all.WriteString(text.Words + "\n")
		}
	}
	return all.String()
}

// mirrored returns the second plate of the seat.
func mirrored(p sheet.Plate) sheet.Plate {
	return sheet.Plate{Fabric: p.Fabric.Mirrored(plane.Point{}, plane.Vec{Y: 1}), Mirrored: true}
}

func TestWholeKeepsTheOutlines(t *testing.T) {
	p := plate(t, seat())
	s := sheet.Whole(label(), p, mirrored(p))
	for id, want := range map[string]curve.Path{"net": p.Foam, "fabric": p.Fabric, "fabric-2": mirrored(p).Fabric} {
		got := strokeNamed(t, s, id).Path
		shift := got.Bounds().Min.Sub(want.Bounds().Min)
		for i := range want.Len() {
			if d := got.Segment(i).P1.DistanceTo(want.Segment(i).P1.Add(shift)); d > 1e-9 {
				t.Fatalf("%s: piece %d has moved by %g mm against the others", id, i, d)
			}
		}
		b := got.Bounds()
		if free := s.Bounds().Grow(-10); !free.Contains(b.Min) || !free.Contains(b.Max) {
			t.Errorf("%s comes nearer than 10 mm to the paper's border: %v", id, b)
		}
	}
	// Foam and fabric stay where they are to one another.
	net, fabric := strokeNamed(t, s, "net").Path, strokeNamed(t, s, "fabric").Path
	if d := net.Segment(0).P0.Sub(p.Foam.Segment(0).P0).Sub(fabric.Segment(0).P0.Sub(p.Fabric.Segment(0).P0)).Length(); d > 1e-9 {
		t.Errorf("fabric has moved by %g mm against the foam", d)
	}
}

func TestWholeSaysWhatItMust(t *testing.T) {
	p := plate(t, seat())
	all := wordsOf(sheet.Whole(label(), p))
	b := p.Foam.Bounds()
	for _, want := range []string{
		"Alder, kitchen chair 2 of 4", "4 March 2026", "fairedge 0.1", "TOP, this side up", "BACK", "FRONT", "LEFT", "RIGHT", "grain",
		fmt.Sprintf("Foam %.1f x %.1f mm (", b.Width(), b.Height()), "17 15/16 in", // 455.6 / 25.4 = 17.94
		"± 1.0 mm", "cut the fabric here", "cut the foam here", "100.0 mm", "Print at 100 %", "blade moving away",
	} {
		if want == "17 15/16 in" {
			want = fmt.Sprintf("%d %d/16 in", int(b.Width()/25.4), int(math.Round(b.Width()/25.4*16))%16)
			if int(math.Round(b.Width()/25.4*16))%2 == 0 {
				continue // the fraction is printed in its lowest terms
			}
		}
		if !strings.Contains(all, want) {
			t.Errorf("the sheet does not say %q:\n%s", want, all)
		}
	}
}

// The single notch lies left of the back's middle on the first plate, the pair right
// of it; on the mirrored plate the other way round, so that right sides together
// they meet.
func TestNotchesTellAFlippedPlate(t *testing.T) {
	p := plate(t, seat())
	side := func(s sheet.Sheet, id string) float64 {
		middle := strokeNamed(t, s, "notch-back-centre").Path.Segment(0).P0.X
		return strokeNamed(t, s, id).Path.Segment(0).P0.X - middle
	}
	first, second := sheet.Whole(label(), p), sheet.Whole(label(), mirrored(p))
	for _, id := range []string{"notch-left", "notch-right-1", "notch-right-2"} {
		a, b := side(first, id), side(second, id)
		if math.Abs(a+b) > 0.05 || math.Abs(a) < 30 {
			t.Errorf("%s lies %.2f mm from the middle on the first plate, %.2f on the second", id, a, b)
		}
	}
	if side(first, "notch-left") > 0 || side(first, "notch-right-1") < 0 {
		t.Error("the first plate's notches are on the wrong sides")
	}
	if all := wordsOf(second); !strings.Contains(all, "SECOND PLATE, mirrored") || strings.Contains(all, "TOP, this") {
		t.Errorf("the second plate does not say so:\n%s", all)
	}
	// Notches are cut inward, at most half the allowance.
	n := strokeNamed(t, first, "notch-left").Path.Segment(0)
	fabric := strokeNamed(t, first, "fabric").Path
	if !fabric.Contains(n.P3) || n.P0.DistanceTo(n.P3) > 19.05/2 {
		t.Errorf("a notch runs from %v to %v", n.P0, n.P3)
	}
}

// scaled returns the seat made smaller or larger.
func scaled(k float64) curve.Path { return seat().Scaled(k, plane.Point{}) }

func TestWholeWritingKeepsClearAtAllSizes(t *testing.T) {
	for _, k := range []float64{0.3, 0.6, 1, 2.5} {
		p := plate(t, scaled(k))
		for _, s := range []sheet.Sheet{sheet.Whole(label(), p), sheet.Whole(label(), mirrored(p)), sheet.Whole(label(), p, mirrored(p))} {
			disjoint(t, s, nil)
			checkInsidePlate(t, s)
		}
	}
}

// checkInsidePlate fails for words that the outline runs through.
func checkInsidePlate(t *testing.T, s sheet.Sheet) {
	t.Helper()
	var outlines []curve.Path
	for _, item := range s.Items {
		if stroke, ok := item.(sheet.Stroke); ok && stroke.ID != "" && stroke.Role != sheet.ScaleLine {
			outlines = append(outlines, stroke.Path)
		}
	}
	for _, item := range s.Items {
		text, ok := item.(sheet.Text)
		if !ok {
			continue
		}
		for _, path := range outlines {
			for _, q := range path.Flatten(0.1) {
				if text.Bounds().Contains(q) {
					t.Fatalf("%s: an outline or a notch runs through %q", s.Title, text.Words)
				}
			}
		}
	}
}

// Lines differ in weight or dashes, not in colour alone.
func TestLinesDifferWithoutColour(t *testing.T) {
	roles := []sheet.Role{sheet.CutLine, sheet.FoamOutline, sheet.SeamLine, sheet.FoldLine, sheet.CentreLine}
	for i, a := range roles {
		for _, b := range roles[i+1:] {
			x, y := a.Style(), b.Style()
			if fmt.Sprint(x.Dash) == fmt.Sprint(y.Dash) && math.Max(x.Width/y.Width, y.Width/x.Width) < 2 {
				t.Errorf("%q and %q look alike in black", a, b)
			}
		}
	}
}
