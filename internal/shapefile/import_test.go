package shapefile_test

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"
)

const mm = length.Millimetre

func svg(head, body string) []byte {
	return []byte(`<svg xmlns="http://www.w3.org/2000/svg" ` + head + `>` + body + `</svg>`)
}

const inMM = `width="1000mm" height="1000mm" viewBox="0 0 1000 1000"`

func imported(t *testing.T, data []byte, o shapefile.ImportOptions) shapefile.Imported {
	t.Helper()
	got, err := shapefile.Import(data, o)
	if err != nil {
		t.Fatalf("%.300s: %v", data, err)
	}
	return got
}

// The sizes of the drawn shapes are closed forms: sides, π r², Minkowski sums of a
// rectangle and a quarter ellipse.
func TestSVGShapesHaveTheirSizes(t *testing.T) {
	const circle = math.Pi * 150 * 150
	for name, c := range map[string]struct {
		body                string
		width, height, area float64
	}{
		"rect":               {`<rect x="10" y="20" width="400" height="300"/>`, 400, 300, 120000},
		"rounded rect":       {`<rect width="400" height="300" rx="50"/>`, 400, 300, 120000 - (4-math.Pi)*2500},
		"rect, two radii":    {`<rect width="400" height="300" rx="50" ry="20"/>`, 400, 300, 120000 - (4-math.Pi)*1000},
		"radius past middle": {`<rect width="400" height="300" rx="900" ry="150"/>`, 400, 300, math.Pi * 200 * 150},
		"circle":             {`<circle cx="500" cy="400" r="150"/>`, 300, 300, circle},
		"ellipse":            {`<ellipse cx="500" cy="400" rx="200" ry="120"/>`, 400, 240, math.Pi * 200 * 120},
		"polygon":            {`<polygon points="0,0 400,0,400 300 0,300"/>`, 400, 300, 120000},
		"path":               {`<path d="M10 10H410V310H10Z"/>`, 400, 300, 120000},
		"relative path":      {`<path d="m10,10h400v300h-400z"/>`, 400, 300, 120000},
		"pairs after m":      {`<path d="m10 10 400 0 0 300-400 0z"/>`, 400, 300, 120000},
		"dots and signs":     {`<path d="M.5.5L400.5.5.4005e3+300.5.5,300.5z"/>`, 400, 300, 120000},
		"two half arcs":      {`<path d="M100 200A150 150 0 0 0 400 200A150 150 0 0 0 100 200"/>`, 300, 300, circle},
		"packed flags":       {`<path d="M100 200a150 150 0 10300 0 150 150 0 10-300 0z"/>`, 300, 300, circle},
		"large arc":          {`<path d="M250 50A150 150 0 1 1 100 200L250 200Z"/>`, 300, 300, circle * 3 / 4},
		"arc too small":      {`<path d="M100 200A1 1 0 0 0 400 200A1 1 0 0 0 100 200"/>`, 300, 300, circle},
		// Area under the parabola through (0,0), (200,-c/2), (400,0): 2/3 of chord times height.
		"quadratic":        {`<path d="M0 0Q200-300 400 0V100H0Z"/>`, 400, 250, 400*150*2/3 + 40000},
		"smooth quadratic": {`<path d="M0 0Q100-300 200 0T400 0V500H0Z"/>`, 400, 650, 200000},
		"smooth cubic":     {`<path d="M0 0C50-100 150-100 200 0S350 100 400 0V500H0Z"/>`, 400, 575, 200000},
		"scaled":           {`<g transform="scale(2 3)"><rect width="200" height="100"/></g>`, 400, 300, 120000},
		"turned":           {`<rect transform="rotate(90, 30 30)" width="300" height="400"/>`, 400, 300, 120000},
		"order":            {`<g transform="translate(5) scale(2)"><g transform="matrix(0 1 -1 0 7 8)"><rect width="150" height="200"/></g></g>`, 400, 300, 120000},
		"skewed":           {`<rect transform="skewX(45)" width="200" height="100"/>`, 300, 100, 20000},
		"clone":            {`<defs><rect id="a" width="400" height="300"/></defs><use href="#a" x="30"/>`, 400, 300, 120000},
		"symbol":           {`<symbol id="s"><circle r="150"/></symbol><use xlink:href="#s" xmlns:xlink="http://www.w3.org/1999/xlink"/>`, 300, 300, circle},
		"lines":            {`<line x1="0" y1="0" x2="400" y2="0"/><line x1="400" y1="300" x2="400" y2="0"/><polyline points="400 300 0 300 0 0"/>`, 400, 300, 120000},
		"mm in numbers":    {`<rect width="100mm" height="1in"/>`, 9600 / 25.4, 96, 9600 / 25.4 * 96},
		"percent":          {`<rect width="40%" height="30%"/>`, 400, 300, 120000},
		"percent inside":   {`<svg viewBox="0 0 800 600"><rect width="50%" height="50%"/></svg>`, 400, 300, 120000},
		"inner drawing":    {`<svg x="10" y="10" width="400" height="300" viewBox="0 0 4 3"><rect width="4" height="3"/></svg>`, 400, 300, 120000},
	} {
		got := imported(t, svg(inMM, c.body), shapefile.ImportOptions{Back: plane.Vec{Y: 1}})
		l := got.Lines[0]
		if math.Abs(l.Width.Millimetres()-c.width) > 1e-3 || math.Abs(l.Height.Millimetres()-c.height) > 1e-3 {
			t.Errorf("%s: %v by %v, want %g mm by %g mm", name, l.Width, l.Height, c.width, c.height)
		}
		// An arc off by 1e-4 mm all round is off in area by that times its length.
		if math.Abs(got.Shape.Size.AreaMM2-c.area) > 0.2 {
			t.Errorf("%s: area %.2f mm2, want %.2f", name, got.Shape.Size.AreaMM2, c.area)
		}
	}
}

func TestArcsLieWithinATenthOfAMicrometre(t *testing.T) {
	for _, r := range []float64{20, 150, 900, 4000} {
		got := imported(t, svg(inMM, fmt.Sprintf(`<circle cx="1" cy="2" r="%g"/>`, r)), shapefile.ImportOptions{})
		centre := got.Shape.Net.Bounds().Centre()
		worst := 0.0
		for _, s := range got.Shape.Net.Segments() {
			for k := range 64 {
				worst = math.Max(worst, math.Abs(s.At(float64(k)/64).DistanceTo(centre)-r))
			}
		}
		if worst > 1.01e-4 {
			t.Errorf("the circle of radius %g mm is off by %.2g mm, want 1e-4", r, worst)
		}
	}
}

// Illustrator declares its name spaces as entities.
func TestPlainEntitiesAreKnown(t *testing.T) {
	data := "<?xml version=\"1.0\"?><!DOCTYPE svg PUBLIC \"-//W3C//DTD SVG 1.1//EN\" \"svg11.dtd\" [\n\t<!ENTITY ns_svg \"http://www.w3.org/2000/svg\">\n]>" +
		`<svg xmlns="&ns_svg;" width="20in" height="20in" viewBox="0 0 1440 1440"><rect width="1152" height="864"/></svg>`
	got := imported(t, []byte(data), shapefile.ImportOptions{})
	if math.Abs(got.Lines[0].Width.Inches()-16) > 1e-9 {
		t.Errorf("%v wide, want 16 in", got.Lines[0].Width)
	}
}

// y runs down in SVG: the front of this seat, which has its corner cut on the left, is at
// the bottom.
func TestSVGIsNotMirrored(t *testing.T) {
	got := imported(t, svg(inMM, `<path d="M0 0H400V300H100L0 200Z"/>`), shapefile.ImportOptions{Back: plane.Vec{Y: 1}})
	if got.Shape.Net.Contains(pt(-195, -295)) || !got.Shape.Net.Contains(pt(195, -295)) {
		t.Error("the cut corner at the front left is not there")
	}
	if b := got.Shape.Edges[got.Shape.Back.Edge]; math.Abs(b.Length.Millimetres()-400) > 1e-6 {
		t.Errorf("the back is %v long, want 400 mm", b.Length)
	}
}

func TestUnitsOfAnSVG(t *testing.T) {
	rect := `<rect width="16" height="12"/>`
	for head, width := range map[string]float64{
		`width="160mm" viewBox="0 0 16 16"`:                                           160,
		`width="16in" height="16in" viewBox="0 0 16 16"`:                              16 * 25.4,
		`width="160cm" height="99cm"`:                                                 16 * 25.4 / 96, // no viewBox: user units are px
		`height="1152pt" viewBox="0 0 16 16"`:                                         16 * 25.4,
		`width="160mm" height="320mm" viewBox="0 0 16 16"`:                            160,
		`width="160mm" height="320mm" viewBox="0 0 16 16" preserveAspectRatio="none"`: 160,
	} {
		o := shapefile.ImportOptions{}
		got, err := shapefile.Import(svg(head, rect), o)
		if width < 20 {
			if problem.KindOf(err) != problem.Usage || !strings.Contains(err.Error(), "--unit") {
				t.Errorf("%s: error %v, want a question for the unit", head, err)
			}
			continue
		}
		if err != nil || math.Abs(got.Lines[0].Width.Millimetres()-width) > 1e-9 {
			t.Errorf("%s: %+v, %v, want a width of %g mm", head, got.Lines, err, width)
		}
	}
	for _, head := range []string{``, `width="16" height="12"`, `width="16px"`, `width="100%" viewBox="0 0 16 16"`} {
		_, err := shapefile.Import(svg(head, rect), shapefile.ImportOptions{})
		if problem.KindOf(err) != problem.Usage || !strings.Contains(err.Error(), "16 by 12") || !strings.Contains(err.Error(), "--unit mm") {
			t.Errorf("%q: error %v, want the unit asked for, with the size", head, err)
		}
		got := imported(t, svg(head, rect), shapefile.ImportOptions{Unit: length.Inch})
		if math.Abs(got.Lines[0].Width.Inches()-16) > 1e-9 {
			t.Errorf("%q in inches: %v", head, got.Lines[0].Width)
		}
	}
	got := imported(t, svg(`width="1920" height="1920" viewBox="0 0 16 16"`, rect), shapefile.ImportOptions{PX: true})
	if math.Abs(got.Lines[0].Width.Inches()-20) > 1e-9 {
		t.Errorf("1920 px are %v, want 20 in (CSS: 96 px to the inch)", got.Lines[0].Width)
	}
}

func TestWhichLine(t *testing.T) {
	body := `<rect id="small" width="100" height="90"/><g id="layer"><rect id="seat" x="10" width="400" height="300"/></g><circle cx="200" cy="150" r="5" id="hole"/>` +
		`<g style="display:none"><rect id="page" width="1000" height="1000"/></g><path id="centre" d="M200 0V300"/>`
	got := imported(t, svg(inMM, body), shapefile.ImportOptions{})
	if len(got.Lines) != 3 || got.Lines[0].Name != "seat" || got.Taken != 0 || got.Loose != 1 {
		t.Errorf("lines %+v, taken %d, loose %d", got.Lines, got.Taken, got.Loose)
	}
	for _, word := range []string{"small", "2"} {
		got = imported(t, svg(inMM, body), shapefile.ImportOptions{Line: word})
		if math.Abs(got.Shape.Size.AreaMM2-9000) > 1e-6 {
			t.Errorf("line %s has an area of %g mm2, want 9000", word, got.Shape.Size.AreaMM2)
		}
	}
	if _, err := shapefile.Import(svg(inMM, body), shapefile.ImportOptions{Line: "4"}); problem.KindOf(err) != problem.Usage {
		t.Errorf("line 4 of 3: %v", err)
	}
	if _, err := shapefile.Import(svg(inMM, body), shapefile.ImportOptions{Line: "hole"}); err == nil || !strings.Contains(err.Error(), "--unit") {
		t.Errorf("a seat of 10 mm: %v", err)
	}
}

// Loose pieces in any order and direction close to the one outline; spurs, repeats and a
// line across do not disturb it; a gap is named.
func TestLoosePiecesClose(t *testing.T) {
	pieces := []string{"M0 0 400 0", "M400 300 400.04 0", "M0 300 400 300", "M0.03 0A150 150 0 0 0 0.03 300"}
	more := []string{"M400 300 450 350", "M0 0 400 0", "M200 0 200 300", "M200 0 300 150"}
	for name, all := range map[string][]string{"as they are": pieces, "with others": append(append([]string{}, pieces...), more...)} {
		body := ""
		for _, p := range all {
			body += `<path d="` + p + `"/>`
		}
		got := imported(t, svg(inMM, body), shapefile.ImportOptions{})
		want := 120000 + math.Pi*150*150/2
		if math.Abs(got.Shape.Size.AreaMM2-want) > 10 { // ends are moved by up to 0.02 mm over 400
			t.Errorf("%s: area %.1f mm2, want %.1f", name, got.Shape.Size.AreaMM2, want)
		}
	}
	body := `<path d="M0 0 400 0M400 300 400 1M0 300 400 300M0 0 0 300"/>`
	_, err := shapefile.Import(svg(inMM, body), shapefile.ImportOptions{})
	if problem.KindOf(err) != problem.NotAShape || !strings.Contains(err.Error(), "1.00 mm") || !strings.Contains(err.Error(), "--join 1.1mm") {
		t.Errorf("a gap of 1 mm: %v", err)
	}
	got := imported(t, svg(inMM, body), shapefile.ImportOptions{Join: 1.1 * mm})
	if math.Abs(got.Shape.Size.AreaMM2-120000) > 1e-6 {
		t.Errorf("joined over 1 mm: %g mm2", got.Shape.Size.AreaMM2)
	}
	// A line from corner to corner parts the outline in two; the outer border is the larger.
	got = imported(t, svg(inMM, `<path d="M0 0 400 0"/><path d="M400 0 400 300 0 300"/><path d="M0 300 0 0"/><path d="M0 300 400 0"/>`), shapefile.ImportOptions{})
	if math.Abs(got.Shape.Size.AreaMM2-120000) > 1e-6 || len(got.Lines) != 3 {
		t.Errorf("parted rectangle: %g mm2 of %d lines", got.Shape.Size.AreaMM2, len(got.Lines))
	}
}

// Points on a straight side are no corners: the back is one edge, its middle the origin.
func TestStraightSidesBecomeOneEdge(t *testing.T) {
	got := imported(t, svg(inMM, `<path d="M100 0H150H300V0H400V300H0V0Z"/>`), shapefile.ImportOptions{Back: plane.Vec{Y: 1}})
	if got.Shape.Net.Len() != 4 || len(got.Shape.Edges) != 4 {
		t.Errorf("%d pieces, %d edges, want 4 and 4", got.Shape.Net.Len(), len(got.Shape.Edges))
	}
	if e, _ := got.Shape.EdgeNamed(shape.BackEdge); math.Abs(e.Length.Millimetres()-400) > 1e-9 {
		t.Errorf("the back is %v long", e.Length)
	}
}

func TestFilletsAreEdgesOfTheirOwn(t *testing.T) {
	got := imported(t, svg(inMM, `<path d="M0 0H400V270A30 30 0 0 1 370 300Q200 330 30 300A30 30 0 0 1 0 270Z"/>`), shapefile.ImportOptions{Back: plane.Vec{Y: 1}})
	if len(got.Shape.Edges) != 6 {
		t.Errorf("%d edges, want back, two sides, front, two fillets", len(got.Shape.Edges))
	}
	front, _ := got.Shape.EdgeNamed(shape.FrontEdge)
	if l := front.Length.Millimetres(); l < 340 || l > 350 {
		t.Errorf("the front is %.1f mm long, want its 340 mm chord and a little", l)
	}
}

func TestBadDrawings(t *testing.T) {
	for name, data := range map[string][]byte{
		"empty":            {},
		"words":            []byte("a seat of 400 by 410"),
		"other XML":        []byte("<html><body/></html>"),
		"cut off":          []byte(`<svg width="9mm"><path d="M0 0`),
		"unclosed element": []byte(`<svg width="9mm"><g></svg>`),
		"no lines":         svg(inMM, `<text>seat</text>`),
		"crossing":         svg(inMM, `<path d="M0 0 400 300 400 0 0 200Z"/>`),
		"bad path":         svg(inMM, `<path d="M0 0 L 100 x"/>`),
		"path from L":      svg(inMM, `<path d="L 100 0"/>`),
		"bad flag":         svg(inMM, `<path d="M0 0A5 5 0 2 0 9 9"/>`),
		"bad transform":    svg(inMM, `<g transform="scale(2"><rect width="400" height="300"/></g>`),
		"font size":        svg(inMM, `<rect width="50em" height="300"/>`),
		"percent of what":  svg(`width="100%"`, `<rect width="50%" height="300"/>`),
		"entity in entity": []byte(`<!DOCTYPE svg [<!ENTITY a "b"><!ENTITY c "&a;&a;">]><svg><g id="&c;"/></svg>`),
		"huge":             svg(inMM, `<rect width="1e300" height="1e300"/>`),
		"overflow":         svg(inMM, `<path transform="scale(1e200)" d="M0 0H1e200V1e200Z"/>`),
		"too large":        svg(inMM, `<rect width="99999" height="300"/>`),
		"entity":           []byte(`<!DOCTYPE svg [<!ENTITY a "bb">]><svg>&a;</svg>`),
		"deep":             svg(inMM, strings.Repeat("<g>", 400)+strings.Repeat("</g>", 400)),
		"clones of clones": svg(inMM, cloneBomb()),
		"binary DXF":       []byte("AutoCAD Binary DXF\r\n\x1a\x00"),
		"DXF cut off":      []byte("0\nSECTION\n2\nHEADER\n"),
		"DXF bad code":     []byte("0\nSECTION\nx\ny\n"),
	} {
		_, err := shapefile.Import(data, shapefile.ImportOptions{Unit: mm})
		if k := problem.KindOf(err); err == nil || k != problem.NotAShape && k != problem.Usage {
			t.Errorf("%s: error %v, want a sentence for a person", name, err)
		} else if strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: the sentence has more than one line: %v", name, err)
		}
	}
}

// cloneBomb doubles a line twenty times.
func cloneBomb() string {
	var b strings.Builder
	b.WriteString(`<path id="c0" d="M0 0 9 9"/>`)
	for i := range 20 {
		fmt.Fprintf(&b, `<g id="c%d"><use href="#c%d"/><use href="#c%d"/></g>`, i+1, i, i)
	}
	return b.String()
}

func TestOldReportReadsAsAShape(t *testing.T) {
	data, err := os.ReadFile("testdata/measurement-without-shape.json")
	if err != nil {
		t.Fatal(err)
	}
	d, err := shapefile.DecodeDocument(data)
	if err != nil {
		t.Fatal(err)
	}
	// The sizes are those that stand in the same file.
	if d.Name != "Lamp chair" || len(d.Shape.Ticks) != 1 || d.Shape.Size.Width <= 0 {
		t.Errorf("read as %q, %d ticks, %v wide", d.Name, len(d.Shape.Ticks), d.Shape.Size.Width)
	}
	if !strings.Contains(string(data), fmt.Sprintf(`"width": %.3f`, d.Shape.Size.Width.Millimetres())) {
		t.Errorf("width %.3f mm is not the report's", d.Shape.Size.Width.Millimetres())
	}
	larger := strings.Replace(string(data), `"first_piece": 3`, `"first_piece": 4`, 1)
	if _, err := shapefile.Decode([]byte(larger)); problem.KindOf(err) != problem.NotAShape {
		t.Errorf("edges that do not fit the outline: %v", err)
	}
}
