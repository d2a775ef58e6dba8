package render

import (
	"testing"
	"time"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// seat returns an outline that is its own mirror image in no direction: straight
// back, tapering sides, one front corner rounder than the other.
func seat() curve.Path {
	p := func(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }
	return curve.ClosedPath(
		curve.Line(p(180, 0), p(-180, 0)),
		curve.Cubic(p(-180, 0), p(-190, -100), p(-215, -250), p(-225, -360)),
		curve.Cubic(p(-225, -360), p(-228, -390), p(-210, -405), p(-180, -408)),
		curve.Cubic(p(-180, -408), p(-60, -425), p(60, -425), p(160, -410)),
		curve.Cubic(p(160, -410), p(205, -404), p(231, -380), p(225, -340)),
		curve.Cubic(p(225, -340), p(215, -250), p(190, -100), p(180, 0)),
	)
}

// seatPlate returns the seat with a fabric line 3/4 in outside it.
func seatPlate(t testing.TB) sheet.Plate {
	t.Helper()
	border, err := seat().OffsetOutline(curve.Uniform(19.05), 0.01)
	if err != nil {
		t.Fatal(err)
	}
	return sheet.Plate{Foam: seat(), Fabric: border.Path}
}

func seatLabel() sheet.Label {
	return sheet.Label{
		Job: "Ålder & sons <kitchen>, chair 2 of 4", Program: "fairedge 0.1",
		Date:     time.Date(2026, time.March, 4, 0, 0, 0, 0, time.UTC),
		Accuracy: "Each size is right to about ± 1.0 mm (95 %), print included.",
		Notes:    []string{"Fabric 19.05 mm (3/4 in) beyond the foam all round."},
	}
}

// item returns the stroke of that name.
func stroke(t testing.TB, s sheet.Sheet, id string) sheet.Stroke {
	t.Helper()
	for _, item := range s.Items {
		if stroke, ok := item.(sheet.Stroke); ok && stroke.ID == id {
			return stroke
		}
	}
	t.Fatalf("sheet %q has no stroke %q", s.Title, id)
	return sheet.Stroke{}
}
