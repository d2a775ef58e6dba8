package shapefile_test

import (
	"bytes"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"
)

func pt(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

// randomSeat is a trapezoid with a bowed front, corners rounded or sharp, ticks, turned
// and shifted anyhow: the plane frame of some photo.
func randomSeat(t *testing.T, rng *rand.Rand) shape.Shape {
	t.Helper()
	w, f, h := 300+200*rng.Float64(), 350+200*rng.Float64(), 300+200*rng.Float64()
	bow := 40 * rng.Float64()
	a, b, c, d := pt(w/2, 0), pt(-w/2, 0), pt(-f/2, -h), pt(f/2, -h)
	segments := []curve.Segment{
		curve.Line(a, b), curve.Line(b, c),
		curve.Cubic(c, pt(-f/6, -h-bow), pt(f/6, -h-bow), d), curve.Line(d, a),
	}
	planeFromSeat := plane.RigidFromAngle(2*math.Pi*rng.Float64(), plane.Vec{X: 1000 * (rng.Float64() - 0.5), Y: 1000 * (rng.Float64() - 0.5)})
	var ticks []shape.PlaneTick
	if rng.IntN(2) == 0 {
		p := planeFromSeat.Apply(b.Lerp(c, 0.2+0.5*rng.Float64()))
		ticks = append(ticks, shape.PlaneTick{At: p, From: p.Add(plane.Vec{X: -4, Y: 1}), To: p.Add(plane.Vec{X: 5, Y: rng.Float64()})})
	}
	s, err := shape.FromOutline(curve.ClosedPath(segments...).Transform(planeFromSeat), []int{0, 1, 2, 3}, ticks,
		shape.BackHint{Said: planeFromSeat.ApplyVec(plane.Vec{Y: 1})})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestShapesComeBackBitForBit(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range 200 {
		d := shapefile.Document{
			Name: "Zoë & 椅子 <\"]]>", Date: time.Date(2026, 2, 28, 0, 0, 0, 0, time.UTC), Provenance: "measured in a photo",
			Program: "fairedge 0.1.0", Uncertainty: length.Length(rng.Float64()), Shape: randomSeat(t, rng),
		}
		for form, encode := range map[string]func(shapefile.Document) ([]byte, error){"JSON": shapefile.EncodeDocument, "SVG": shapefile.EncodeSVG} {
			data, err := encode(d)
			if err != nil {
				t.Fatal(err)
			}
			got, err := shapefile.DecodeDocument(data)
			if err != nil {
				t.Fatalf("seat %d as %s: %v", i, form, err)
			}
			if !reflect.DeepEqual(got, d) {
				t.Fatalf("seat %d as %s came back different:\n%+v\n%+v", i, form, got, d)
			}
			again, err := encode(got)
			if err != nil || !bytes.Equal(again, data) {
				t.Fatalf("seat %d as %s is written differently the second time (%v)", i, form, err)
			}
		}
	}
}

func TestShapeAloneComesBack(t *testing.T) {
	s := randomSeat(t, rand.New(rand.NewPCG(7, 7)))
	data, err := shapefile.Encode(s)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := shapefile.Decode(data); err != nil || !reflect.DeepEqual(got, s) {
		t.Errorf("Decode(Encode(s)) = %+v, %v, want %+v", got, err, s)
	}
}
