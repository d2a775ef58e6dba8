package likeness_test

import (
	"math"
	"strings"
	"testing"

	"fairedge/internal/curve"
	"fairedge/internal/likeness"
	"fairedge/internal/plane"
	"fairedge/internal/shape"
)

func seatShape(t *testing.T, p curve.Path) shape.Shape {
	t.Helper()
	s, err := shape.FromOutline(p, p.Corners(0.3), nil, shape.BackHint{Said: plane.Vec{Y: 1}})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A rectangle 4 mm deeper than another lies 4 mm outside at the front as laid by the back,
// and 2 mm outside at both when laid best.
func TestComparisonOfRectangles(t *testing.T) {
	first, second := seatShape(t, rectangle(400, 300)), seatShape(t, rectangle(400, 304))
	c, err := likeness.Compare(first, second, likeness.Options{Flip: true})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.AsLaid.Max-4) > 1e-6 || !c.AsLaid.MaxOutside || likeness.Place(first.Net, c.AsLaid.MaxAt)[:5] != "front" {
		t.Errorf("as laid: %.4f mm at %v, want 4 at the front", c.AsLaid.Max, c.AsLaid.MaxAt)
	}
	if math.Abs(c.BestFit.Max-2) > 0.03 || !c.BestFit.MaxOutside {
		t.Errorf("best fit: %.4f mm, want 2", c.BestFit.Max)
	}
	for _, d := range c.AsLaid.Differences {
		want := 0.0
		switch {
		case d.At.Y < -299.999 && math.Abs(d.At.X) < 195:
			want = 4
		case d.At.Y < -290 || math.Abs(d.At.X) > 195:
			continue
		}
		if math.Abs(d.Signed-want) > 1e-3 {
			t.Errorf("at %v the difference is %.4f mm, want %g", d.At, d.Signed, want)
		}
	}
	text := c.AsLaid.Sentence(first.Net)
	if !strings.HasPrefix(text, "4.0 mm apart at most, at the front") || !strings.Contains(text, "second is larger") {
		t.Errorf("said: %s", text)
	}
	same, err := likeness.Compare(first, first, likeness.Options{})
	if err != nil || same.AsLaid.Sentence(first.Net) != "the same within 0.05 mm" {
		t.Errorf("with itself: %s, %v", same.AsLaid.Sentence(first.Net), err)
	}
}

func TestPlacesInWords(t *testing.T) {
	net := rectangle(300, 300)
	for want, p := range map[string]plane.Point{
		"back left": pt(-140, -10), "back": pt(10, 0), "back right": pt(150, 0), "left": pt(-150, -150), "right": pt(150, -150),
		"front left": pt(-149, -299), "front": pt(0, -300), "front right": pt(149, -280), "middle": pt(1, -151),
	} {
		if got := likeness.Place(net, p); got != want {
			t.Errorf("%v is at the %q, want %q", p, got, want)
		}
	}
}

func TestBadOutlinesAreRefused(t *testing.T) {
	for name, p := range map[string]curve.Path{
		"empty": {}, "open": curve.OpenPath(curve.Line(pt(0, 0), pt(9, 9))), "clockwise": rectangle(3, 4).Reversed(),
		"not a number": curve.Polygon(pt(0, 0), pt(math.NaN(), 0), pt(3, 3)),
	} {
		if _, err := likeness.SignatureOf(p); err == nil {
			t.Errorf("%s: signed", name)
		}
		if _, err := likeness.Register(p, rectangle(3, 4), likeness.Options{}); err == nil {
			t.Errorf("%s: registered", name)
		}
	}
}
