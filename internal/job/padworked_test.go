package job_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"fairedge/internal/job"
	"fairedge/internal/pad"
	"fairedge/internal/plane"
	"fairedge/internal/shape"
)

// The worked job of the README: from a photo whose truth is known to a pad. The pad of
// the measured seat is that of the true one within what the photo states, and the
// README says what the program says.
func TestWorkedJobFromPhotoToPad(t *testing.T) {
	m, err := job.ShapeFromPhoto(context.Background(), "../../samples/tapered-four-cards.jpg", reading(), job.Quiet{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := pad.Named("tie-on")
	if err != nil {
		t.Fatal(err)
	}
	made, err := job.PadFromShape(m.Shape, r, job.PadChoices{Pads: 1})
	if err != nil {
		t.Fatal(err)
	}
	truth := readTruth(t, "../../samples/tapered-four-cards.truth.json").path(t)
	// The scene lies with its back towards +y.
	seat, err := shape.FromOutline(truth, truth.Corners(0.5), nil, shape.BackHint{Said: plane.Vec{Y: 1}})
	if err != nil {
		t.Fatal(err)
	}
	want, err := pad.Cut(seat, r)
	if err != nil {
		t.Fatal(err)
	}
	got, within := made.Pad, m.Budget.Within
	for i, piece := range got.Pieces {
		gw, gd := piece.Sizes()
		ww, wd := want.Pieces[i].Sizes()
		if math.Abs((gw-ww).Millimetres()) > 2*within || math.Abs((gd-wd).Millimetres()) > 2*within {
			t.Errorf("%s is %v x %v, of the true seat %v x %v; the outline is stated within %.1f mm", piece.Name, gw, gd, ww, wd, within)
		}
	}
	// A line that is off by d everywhere is longer by 2 π d (Steiner).
	if d := math.Abs((got.SeamLength - want.SeamLength).Millimetres()); d > 2*math.Pi*within {
		t.Errorf("the seam is %v long, that of the true seat %v", got.SeamLength, want.SeamLength)
	}
	checkReadme(t, got, made.Seat)
}

// checkReadme looks for the job's numbers in the README.
func checkReadme(t *testing.T, p pad.Pad, seat shape.Size) {
	t.Helper()
	data, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(strings.Fields(string(data)), " ")
	w, d := p.Pieces[0].Sizes()
	for _, want := range []string{
		fmt.Sprintf("a seat of %.1f x %.1f mm", seat.Width.Millimetres(), seat.Depth.Millimetres()),
		fmt.Sprintf("both plates %.1f x %.1f mm, %s outside the template", w.Millimetres(), d.Millimetres(), p.CutOutside.Imperial()),
		fmt.Sprintf("once round the stitching %.1f mm", p.SeamLength.Millimetres()),
		fmt.Sprintf("two piping strips of %s, with %.0f mm over", p.Piping.StripLength.Imperial(), p.Piping.Left.Millimetres()),
		fmt.Sprintf("tails of %s on the ties", p.Ties.Tail.Imperial()),
	} {
		if !strings.Contains(all, want) {
			t.Errorf("the README does not say %q", want)
		}
	}
	if p.Piping.Strips != 2 {
		t.Errorf("%d piping strips, the README says two", p.Piping.Strips)
	}
}
