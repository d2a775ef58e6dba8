package job_test

import (
	"context"
	"reflect"
	"testing"
	"time"

	"fairedge/internal/curve"
	"fairedge/internal/job"
	"fairedge/internal/length"
	"fairedge/internal/likeness"
	"fairedge/internal/plane"
	"fairedge/internal/shapefile"
	"fairedge/internal/testscene"
)

// measurement.json holds the shape bit for bit, also when the foam to cut is larger.
func TestReportReadsBackAsTheShape(t *testing.T) {
	scene := testscene.Workbench()
	scene.Camera.Width, scene.Camera.Height, scene.Camera.F = scene.Camera.Width/2, scene.Camera.Height/2, scene.Camera.F/2
	picture, _ := scene.Photograph()
	m, err := job.ShapeFromPicture(context.Background(), &picture, reading(), job.Quiet{})
	if err != nil {
		t.Fatal(err)
	}
	pattern := job.Pattern{Oversize: 5 * length.Millimetre, Allowance: 20 * length.Millimetre, Corner: curve.JoinMitre}
	outlines, err := job.OutlinesFromShape(m.Shape, pattern)
	if err != nil {
		t.Fatal(err)
	}
	label := job.Label{Name: "Alder", Date: time.Date(2026, 1, 1, 13, 0, 0, 0, time.UTC), Program: "fairedge test"}
	result, err := job.FilesOf(m, outlines, pattern, label, job.Printing{})
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{}
	for _, f := range result.Files {
		files[f.Name] = f.Data
	}
	d, err := shapefile.DecodeDocument(files["measurement.json"])
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(d.Shape, m.Shape) {
		t.Errorf("measurement.json holds another shape:\n%+v\n%+v", d.Shape, m.Shape)
	}
	if d.Name != "Alder" || d.Date.Day() != 1 || d.Uncertainty <= 0 {
		t.Errorf("the document says %q, %v, within %v", d.Name, d.Date, d.Uncertainty)
	}
	// The drawings come back as outlines too: the SVG exact to its six decimals, the DXF
	// within the tolerance that it states.
	for _, c := range []struct {
		name, line string
		tolerance  float64
	}{{"foam-outline.svg", "", 1e-4}, {"outlines.dxf", "3", 0.012}} { // in the DXF the foam follows two plates of fabric
		drawn, err := shapefile.Import(files[c.name], shapefile.ImportOptions{Line: c.line, Back: plane.Vec{Y: 1}})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		r, err := likeness.Register(drawn.Shape.Net, outlines.Foam, likeness.Options{})
		if err != nil || r.Max > c.tolerance+0.01 { // 0.01 is what the comparison may be off
			t.Errorf("%s: its line lies %.4f mm off the foam, %v", c.name, r.Max, err)
		}
	}
}
