package shapefile_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fairedge/internal/problem"
	"fairedge/internal/shapefile"
)

func day(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }

// Whatever the schema refuses, and what it cannot see, is refused in one sentence.
func TestBadShapesAreRefused(t *testing.T) {
	files := spoiled(t)
	s, err := shapefile.Rectangle(400, 300, shapefile.Corners{})
	if err != nil {
		t.Fatal(err)
	}
	data, err := shapefile.Encode(s)
	if err != nil {
		t.Fatal(err)
	}
	sound := string(data)
	change := func(name, old, with string) {
		if !strings.Contains(sound, old) {
			t.Fatalf("%s: %q is not in the file:\n%s", name, old, sound)
		}
		files[name] = []byte(strings.Replace(sound, old, with, 1))
	}
	change("newer form", `"fairedge_shape": 1`, `"fairedge_shape": 2`)
	change("gap", `[[200,0],[-200,0]]`, `[[200,0],[-199,0]]`)
	change("crossing", `[[-200,0],[-200,-300]]}`, `[[-200,0],[300,-200]]},{"type":"line","points":[[300,-200],[-200,-300]]}`)
	change("no edges", `"edges": [`, `"ends": [`)
	change("edge beyond", `"first_piece": 3`, `"first_piece": 33`)
	change("edges overlap", `"first_piece": 1,"pieces": 1`, `"first_piece": 1,"pieces": 2`)
	change("two fronts", `"name": "left"`, `"name": "front"`)
	change("size", `"width": 400`, `"width": 401`)
	change("area", `"area_mm2": 120000`, `"area_mm2": 120100`)
	change("edge length", `"length": 300`, `"length": 299`)
	change("back edge", `"back": {"edge": 0`, `"back": {"edge": 1`)
	change("back beyond", `"back": {"edge": 0`, `"back": {"edge": 7`)
	change("turn", `"cos": 1`, `"cos": 1.1`)
	change("tick off the line", `"ticks": []`, `"ticks": [{"at":[0,-50],"from":[0,-50],"to":[0,-50],"edge":0}]`)
	change("tick's edge", `"ticks": []`, `"ticks": [{"at":[0,0],"from":[0,0],"to":[0,0],"edge":9}]`)
	change("huge number", `[200,0]`, `[1e999,0]`)
	change("null point", `[200,0]`, `null`)
	files["cut off"] = data[:len(data)/2]
	files["twice"] = append(append([]byte{}, data...), data...)
	files["empty"] = nil
	files["other JSON"] = []byte(`{"name": "seat"}`)
	files["a list"] = []byte(`[1, 2]`)
	files["moved"] = []byte(strings.NewReplacer(",0]", ",7]", ",-300]", ",-293]").Replace(sound))
	files["tiny"] = []byte(strings.NewReplacer("200", "2", "300", "3", `"size"`, `"sizes"`, `"length"`, `"lengths"`).Replace(sound))
	for name, data := range files {
		_, err := shapefile.Decode(data)
		if problem.KindOf(err) != problem.NotAShape || strings.Contains(fmt.Sprint(err), "\n") {
			t.Errorf("%s: error %v, want one sentence that it is no sound shape", name, err)
		}
	}
}

// Sizes and lengths may be left out, as by hand; they are worked out.
func TestShortFormIsEnough(t *testing.T) {
	s, err := shapefile.Decode([]byte(`{"fairedge_shape":1,"unit":"mm","more":{"later":true},
		"outline":[{"type":"line","points":[[200,0],[-200,0]]},{"type":"line","points":[[-200,0],[-200,-300]]},
		{"type":"line","points":[[-200,-300],[200,-300]]},{"type":"line","points":[[200,-300],[200,0]]}],
		"edges":[{"name":"back","first_piece":0,"pieces":1,"straight":true},{"first_piece":1,"pieces":3,"straight":false}],
		"back":{"edge":0},"ticks":[{"at":[100,0],"from":[100,-4],"to":[100,4],"edge":0}]}`))
	if err != nil {
		t.Fatal(err)
	}
	if s.Size.Width != 400 || s.Size.AreaMM2 != 120000 || s.Edges[1].Length != 1000 || s.Ticks[0].FromBackCentre != -100 {
		t.Errorf("worked out: %+v", s)
	}
}

// A line moved in another program contradicts the data; rewritten numbers do not.
func TestChangedDrawingIsNoticed(t *testing.T) {
	s, err := shapefile.Rectangle(400, 300, shapefile.AllCorners(40))
	if err != nil {
		t.Fatal(err)
	}
	data, err := shapefile.EncodeSVG(shapefile.Document{Shape: s, Name: "Alder"})
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	for name, changed := range map[string]string{
		"moved":       strings.Replace(text, `<path id="outline"`, `<path transform="translate(3 0)" id="outline"`, 1),
		"stretched":   strings.Replace(text, `width="420mm"`, `width="210mm"`, 1),
		"another end": strings.Replace(text, "M200 ", "M201 ", 1),
		"taken out":   strings.Replace(text, `id="outline"`, `id="path1"`, 1),
		"no data":     strings.Replace(text, "urn:fairedge", "urn:other", 1),
	} {
		if changed == text {
			t.Fatalf("%s: nothing was changed in\n%s", name, text)
		}
		if _, err := shapefile.DecodeSVG([]byte(changed)); problem.KindOf(err) != problem.NotAShape {
			t.Errorf("%s: %v", name, err)
		}
	}
	same := strings.Replace(text, `<path id="outline"`, `<g transform="translate(-3,0) scale(2)"/><path id="outline" transform="translate(1) translate(-1)"`, 1)
	if d, err := shapefile.DecodeSVG([]byte(same)); err != nil || d.Name != "Alder" {
		t.Errorf("unchanged line in a changed file: %v", err)
	}
}

func FuzzDecode(f *testing.F) {
	s, err := shapefile.Rectangle(400, 300, shapefile.Corners{})
	if err != nil {
		f.Fatal(err)
	}
	for _, encode := range []func(shapefile.Document) ([]byte, error){shapefile.EncodeDocument, shapefile.EncodeSVG} {
		data, err := encode(shapefile.Document{Shape: s})
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte(`{"format":1,"outlines":{"net":[]}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := shapefile.DecodeDocument(data)
		if err != nil {
			if k := problem.KindOf(err); k != problem.NotAShape {
				t.Errorf("error %v of kind %v", err, k)
			}
			return
		}
		if _, err := shapefile.EncodeDocument(d); err != nil {
			t.Errorf("what was read cannot be written: %v", err)
		}
	})
}

func FuzzImportSVG(f *testing.F) {
	f.Add([]byte(`<svg width="400mm" viewBox="0 0 400 300"><g transform="rotate(3)"><rect width="400" height="300" rx="4"/></g></svg>`))
	f.Add([]byte(`<svg><path d="M0 0h9v9h-9zm1 1a3 4 5 1 0 7 8q1 2 3 4t5 6c1 2 3 4 5 6s1 2 3 4"/><use href="#a"/><circle r="9"/></svg>`))
	f.Fuzz(fuzzImport)
}

func FuzzImportDXF(f *testing.F) {
	f.Add(dxf(4, "", rectangleDXF))
	f.Add(dxf(1, "0 BLOCK\n2 a\n0 SPLINE\n70 8\n71 3\n40 0\n40 0\n40 0\n40 0\n40 1\n40 1\n40 1\n40 1\n10 0\n20 0\n10 9\n20 9\n10 9\n20 0\n10 0\n20 0\n0 ENDBLK",
		"0 INSERT\n2 a\n41 2\n0 ARC\n40 9\n50 1\n51 200\n0 ELLIPSE\n11 9\n40 .5\n0 CIRCLE\n40 50"))
	f.Fuzz(fuzzImport)
}

func fuzzImport(t *testing.T, data []byte) {
	started := time.Now()
	for _, o := range []shapefile.ImportOptions{{}, {Unit: mm, Join: 5}} {
		got, err := shapefile.Import(data, o)
		if err != nil {
			if k := problem.KindOf(err); k != problem.NotAShape && k != problem.Usage {
				t.Errorf("error %v of kind %v", err, k)
			}
			continue
		}
		if _, err := shapefile.Encode(got.Shape); err != nil {
			t.Errorf("what was imported cannot be kept: %v", err)
		}
	}
	if took := time.Since(started); took > 20*time.Second {
		t.Errorf("took %v", took)
	}
}
