package shapefile

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"

	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
)

// ImportOptions say how to read a drawing. The zero value takes the largest closed line
// of a drawing that states its unit.
type ImportOptions struct {
	Unit length.Length // one unit of the drawing's numbers; 0: as the drawing states
	PX   bool          // the numbers are px of the screen, 96 to the inch; SVG only
	Join length.Length // ends of lines this near belong together; 0: DefaultJoin
	Line string        // which closed line: its place by size ("1": the largest) or its name
	Back plane.Vec     // which way the back faces in the drawing, y up; zero: found
}

// DefaultJoin is what ends of lines that belong together may miss each other by: more
// than any rounding, less than any gap that is meant. Smaller: hand-made drawings do not
// close; larger: notches close.
const DefaultJoin = 0.1 * length.Millimetre

// Line is a closed line of a drawing.
type Line struct {
	Name          string // the id of its SVG object, or its DXF layer
	Width, Height length.Length
	AreaMM2       float64
}

// Imported is what became of a drawing.
type Imported struct {
	Shape  shape.Shape
	Unit   length.Length // what one unit of the drawing's numbers was taken for
	Stated bool          // the drawing states its unit
	Lines  []Line        // its closed lines, the largest first
	Taken  int           // which of them is the shape
	Loose  int           // lines that belong to none
}

// cornerTurn is the turn in radians from which a joint of a drawn line is a corner. What
// programs make of a curve, chords of a few degrees, stays below; corners of seats turn
// by 30 degrees and more.
const cornerTurn = 20 * math.Pi / 180

// Import reads a closed outline out of an SVG or an ASCII DXF that another program wrote.
func Import(data []byte, o ImportOptions) (Imported, error) {
	if len(data) > maxFile {
		return Imported{}, drawingf("leave only the outline in it", "it has %d MB, more than %d MB", len(data)>>20, maxFile>>20)
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	d, err := openDrawing(data)
	if err != nil {
		return Imported{}, err
	}
	out := Imported{Stated: d.stated}
	scale, err := d.scaleFor(o)
	if err != nil {
		return out, err
	}
	out.Unit = mm(scale[0])
	strokes, err := d.strokes(scale)
	if err != nil {
		return out, err
	}
	return out, out.choose(strokes, o)
}

// drawing is an opened SVG or DXF.
type drawing struct {
	stated  bool
	perUnit [2]float64 // mm, if stated
	px      float64    // px of the screen to one unit; 0: it has none
	strokes func(mmPerUnit [2]float64) ([]stroke, error)
}

func openDrawing(data []byte) (drawing, error) {
	switch {
	case isXML(data):
		root, err := readTree(data)
		if err != nil {
			return drawing{}, err
		}
		x, y, stated := root.rootScale()
		return drawing{stated, [2]float64{x, y}, root.pxScale(), func(k [2]float64) ([]stroke, error) { return svgStrokes(root, k) }}, nil
	case looksLikeDXF(data):
		d, err := readDXF(data)
		if err != nil {
			return drawing{}, err
		}
		unit, stated := d.dxfUnit()
		return drawing{stated, [2]float64{unit, unit}, 0, func(k [2]float64) ([]stroke, error) { return dxfStrokes(d, k[0]) }}, nil
	}
	return drawing{}, drawingf("give an SVG or DXF file", "it is neither SVG nor ASCII DXF")
}

// scaleFor returns the mm of a unit of the drawing; a person's word goes before the
// drawing's.
func (d drawing) scaleFor(o ImportOptions) ([2]float64, error) {
	switch {
	case o.PX && d.px == 0:
		return [2]float64{}, problem.New(problem.Usage, "a DXF has no px", "say --unit mm, cm, m, in or ft")
	case o.PX:
		k := d.px * 25.4 / 96
		return [2]float64{k, k}, nil
	case o.Unit < 0 || math.IsNaN(float64(o.Unit)) || math.IsInf(float64(o.Unit), 0):
		return [2]float64{}, problem.New(problem.Usage, "the unit of a drawing must be a length above 0", "say --unit mm, cm, m, in or ft")
	case o.Unit > 0:
		return [2]float64{o.Unit.Millimetres(), o.Unit.Millimetres()}, nil
	case d.stated:
		return d.perUnit, nil
	}
	return [2]float64{}, d.askUnit(o)
}

// askUnit returns the question for the unit, with the size in numbers that lets a person
// answer it.
func (d drawing) askUnit(o ImportOptions) error {
	remedy := "say it with --unit mm, cm, m, in or ft"
	if d.px > 0 {
		remedy = "say it with --unit mm, cm, in or px"
	}
	strokes, err := d.strokes([2]float64{1, 1})
	if err != nil {
		return err
	}
	var lines []outline
	if len(strokes) <= mostStrokes {
		lines, _ = closedLines(strokes, o.reach())
	}
	if len(lines) == 0 {
		return problem.New(problem.Usage, "the drawing does not say its unit", remedy)
	}
	b := lines[0].path.Bounds()
	return problem.Newf(problem.Usage, remedy, "the drawing does not say its unit; its largest closed line is %.5g by %.5g", b.Width(), b.Height())
}

func (o ImportOptions) reach() float64 {
	if o.Join > 0 {
		return o.Join.Millimetres()
	}
	return DefaultJoin.Millimetres()
}

// choose makes the shape of the line that is wanted.
func (out *Imported) choose(strokes []stroke, o ImportOptions) error {
	if len(strokes) > mostStrokes {
		return drawingf("leave only the outline in it", "it has %d lines, more than %d", len(strokes), mostStrokes)
	}
	lines, loose := closedLines(strokes, o.reach())
	out.Loose = loose
	if len(lines) == 0 {
		return notClosed(strokes, o.reach())
	}
	for _, l := range lines {
		b := l.path.Bounds()
		out.Lines = append(out.Lines, Line{l.name, mm(b.Width()), mm(b.Height()), l.path.SignedArea()})
	}
	taken, err := out.lineCalled(o.Line)
	if err != nil {
		return err
	}
	out.Taken = taken
	out.Shape, err = shapeFromLine(lines[taken], o.Back)
	return err
}

// mostStrokes bounds the lines of a drawing, for joining them may take their square.
const mostStrokes = 20000

// lineCalled returns the line of a number by size, from 1, or of a name. Numbers go first,
// for layers of a DXF often are called by numbers.
func (out *Imported) lineCalled(name string) (int, error) {
	if name == "" {
		return 0, nil
	}
	if n, err := strconv.Atoi(name); err == nil && n >= 1 && n <= len(out.Lines) {
		return n - 1, nil
	}
	for i, l := range out.Lines {
		if l.Name == name {
			return i, nil
		}
	}
	return 0, problem.Newf(problem.Usage, "give the number or the name of one of "+out.lineList(), "the drawing has no closed line %s", quoted(name))
}

// lineList names the largest closed lines.
func (out *Imported) lineList() string {
	var all []string
	for i, l := range out.Lines[:min(len(out.Lines), 6)] {
		name := ""
		if l.Name != "" {
			name = " " + quoted(l.Name)
		}
		all = append(all, fmt.Sprintf("%d%s (%.0f x %.0f mm)", i+1, name, l.Width.Millimetres(), l.Height.Millimetres()))
	}
	if len(out.Lines) > len(all) {
		all = append(all, fmt.Sprintf("%d smaller ones", len(out.Lines)-len(all)))
	}
	return strings.Join(all, ", ")
}

func shapeFromLine(l outline, back plane.Vec) (shape.Shape, error) {
	b := l.path.Bounds()
	if least, most := math.Min(b.Width(), b.Height()), math.Max(b.Width(), b.Height()); least < leastExtent || most > greatestExtent {
		return shape.Shape{}, problem.Newf(problem.Usage, "say the unit of its numbers with --unit, or another line with --line",
			"the outline would be %.4g mm by %.4g mm", b.Width(), b.Height())
	}
	if n := l.path.Len(); n > maxPieces {
		return shape.Shape{}, drawingf("make it of fewer points there", "its line has %d pieces, more than %d", n, maxPieces)
	}
	if crossings := l.path.SelfCrossings(); len(crossings) > 0 {
		return shape.Shape{}, drawingf("draw it anew there", "its line crosses itself at (%.1f mm, %.1f mm) from its lower left",
			crossings[0].X-b.Min.X, crossings[0].Y-b.Min.Y)
	}
	starts := append(l.path.Corners(cornerTurn), tightBends(l.path)...)
	s, err := shape.FromOutline(l.path, starts, nil, shape.BackHint{Said: back})
	if err != nil {
		return s, drawingf("save it anew from its program", "%v", err)
	}
	return s, check(s)
}

// tightBends returns where fillets start and end: runs of curved pieces of a mean radius up
// to 100 mm that together turn by 30 degrees or more, which is what package shape calls a
// rounded corner when it is one piece. Drawn arcs have several.
func tightBends(p curve.Path) []int {
	const radius, turn = 100.0, math.Pi / 6
	tight := func(i int) (by float64, is bool) {
		s := p.Segment((i + p.Len()) % p.Len())
		by = s.Turn()
		return by, !s.Straight && s.ArcLength(arcTolerance) <= radius*math.Abs(by)
	}
	var starts []int
	for i := range p.Len() {
		if _, is := tight(i - 1); is {
			continue // not the first of its run
		}
		k, sum := i, 0.0
		for by, is := tight(k); is && k < i+p.Len(); by, is = tight(k) {
			sum += by
			k++
		}
		if math.Abs(sum) >= turn {
			starts = append(starts, i, k%p.Len())
		}
	}
	return starts
}

// notClosed says that nothing closes, and how wide the narrowest gap is.
func notClosed(strokes []stroke, reach float64) error {
	if len(strokes) == 0 {
		return drawingf("turn text and pictures into lines first", "it has no lines")
	}
	gap := math.Inf(1)
	var ends []plane.Point
	for _, s := range strokes {
		if len(ends) < 2000 { // enough for a hint
			ends = append(ends, s.start(), s.end())
		}
	}
	for i := range ends {
		for k := range i {
			if d := ends[i].DistanceTo(ends[k]); d > reach {
				gap = math.Min(gap, d)
			}
		}
	}
	if math.IsInf(gap, 1) {
		return drawingf("draw the outline as one closed line", "no line in it is closed")
	}
	return drawingf(fmt.Sprintf("join the ends in the drawing, or say --join %.2gmm", math.Ceil(gap*11)/10),
		"no line in it is closed; the narrowest gap is %.2f mm", gap)
}
