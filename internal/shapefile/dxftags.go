package shapefile

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

// dxfTag is one pair of a DXF file: a group code and its value.
type dxfTag struct {
	code  int
	value string
}

// dxfTags reads an ASCII DXF file into its pairs ("DXF Reference", Autodesk, 2011,
// chapter 2). The binary form is refused.
func dxfTags(data []byte) ([]dxfTag, error) {
	if bytes.HasPrefix(data, []byte("AutoCAD Binary DXF")) {
		return nil, drawingf("save it as an ASCII DXF", "it is a binary DXF")
	}
	lines := strings.Split(strings.ReplaceAll(string(data), "\r\n", "\n"), "\n")
	var tags []dxfTag
	for i := 0; i+1 < len(lines); i += 2 {
		code, err := strconv.Atoi(strings.TrimSpace(lines[i]))
		if err != nil {
			return nil, drawingf("save it anew from its program", "line %d of the DXF is %s, no group code", i+1, quoted(lines[i]))
		}
		tag := dxfTag{code, strings.TrimSpace(lines[i+1])}
		tags = append(tags, tag)
		if tag == (dxfTag{0, "EOF"}) {
			break
		}
	}
	return tags, nil
}

// looksLikeDXF reports whether the file starts with a group code: a number alone in its
// line, then the word that belongs to it.
func looksLikeDXF(data []byte) bool {
	if bytes.HasPrefix(data, []byte("AutoCAD Binary DXF")) {
		return true
	}
	first, rest, found := strings.Cut(string(data[:min(len(data), 4096)]), "\n")
	second, _, _ := strings.Cut(rest, "\n")
	code, err := strconv.Atoi(strings.TrimSpace(first))
	return found && err == nil && (code == 999 || code == 0 && strings.TrimSpace(second) == "SECTION")
}

// dxfEntity is an object of a DXF: its kind and its pairs; a POLYLINE has its vertices
// in parts.
type dxfEntity struct {
	kind  string
	tags  []dxfTag
	parts []dxfEntity
}

// text returns the first value under the code, or "".
func (e dxfEntity) text(code int) string {
	for _, t := range e.tags {
		if t.code == code {
			return t.value
		}
	}
	return ""
}

// number returns the first value under the code; the second if it is missing, NaN if it
// is unreadable, which the check of the finished lines finds.
func (e dxfEntity) number(code int, missing float64) float64 {
	for _, t := range e.tags {
		if t.code == code {
			return t.number()
		}
	}
	return missing
}

func (t dxfTag) number() float64 {
	x, err := strconv.ParseFloat(t.value, 64)
	if err != nil {
		return math.NaN()
	}
	return x
}

// numbers returns all values under the code.
func (e dxfEntity) numbers(code int) []float64 {
	var out []float64
	for _, t := range e.tags {
		if t.code == code {
			out = append(out, t.number())
		}
	}
	return out
}

// flags returns the bits under the code.
func (e dxfEntity) flags(code int) int {
	n, err := strconv.Atoi(e.text(code))
	if err != nil {
		return 0
	}
	return n
}

// dxfBlock is a drawing inside the drawing, which INSERT places.
type dxfBlock struct {
	base     [2]float64
	entities []dxfEntity
}

// dxfDrawing is what is read of a DXF file.
type dxfDrawing struct {
	unit     string // of $INSUNITS
	off      map[string]bool
	blocks   map[string]dxfBlock
	entities []dxfEntity
}

// readDXF sorts the pairs of a file into its objects.
func readDXF(data []byte) (dxfDrawing, error) {
	d := dxfDrawing{off: map[string]bool{}, blocks: map[string]dxfBlock{}}
	tags, err := dxfTags(data)
	if err != nil {
		return d, err
	}
	objects := dxfObjects(tags)
	section, found := "", false
	for i := 0; i < len(objects); i++ {
		e := objects[i]
		switch {
		case e.kind == "SECTION":
			section = e.text(2)
			if section == "HEADER" {
				d.unit = headerValue(e.tags, "$INSUNITS")
			}
			found = found || section == "ENTITIES"
		case e.kind == "ENDSEC":
			section = ""
		case section == "TABLES" && e.kind == "LAYER":
			d.off[e.text(2)] = e.number(62, 7) < 0 || e.flags(70)&1 != 0
		case section == "BLOCKS" && e.kind == "BLOCK":
			block := dxfBlock{base: [2]float64{e.number(10, 0), e.number(20, 0)}}
			for i++; i < len(objects) && objects[i].kind != "ENDBLK"; i++ {
				block.entities = append(block.entities, objects[i])
			}
			d.blocks[e.text(2)] = block
		case section == "ENTITIES":
			d.entities = append(d.entities, e)
		}
	}
	if !found {
		return d, drawingf("save it anew from its program", "the DXF has no section of entities")
	}
	return d, nil
}

// dxfObjects cuts the pairs at every code 0, and puts the vertices of a POLYLINE into it.
func dxfObjects(tags []dxfTag) []dxfEntity {
	var objects []dxfEntity
	open := -1 // the POLYLINE that vertices belong to
	for i := 0; i < len(tags); {
		e := dxfEntity{kind: tags[i].value}
		start := i + 1
		for i++; i < len(tags) && tags[i].code != 0; i++ {
		}
		e.tags = tags[start:i]
		switch {
		case e.kind == "VERTEX" && open >= 0:
			objects[open].parts = append(objects[open].parts, e)
			continue
		case e.kind == "SEQEND":
			open = -1
			continue
		}
		objects = append(objects, e)
		if open = -1; e.kind == "POLYLINE" {
			open = len(objects) - 1
		}
	}
	return objects
}

// headerValue returns the value of a variable of the header.
func headerValue(tags []dxfTag, name string) string {
	for i := 0; i+1 < len(tags); i++ {
		if tags[i] == (dxfTag{9, name}) {
			return tags[i+1].value
		}
	}
	return ""
}

// dxfUnit returns the mm of a unit of the drawing by $INSUNITS; false if it says
// nothing, or no unit that a seat is drawn in.
func (d dxfDrawing) dxfUnit() (mm float64, stated bool) {
	switch d.unit {
	case "1":
		return 25.4, true
	case "2":
		return 304.8, true
	case "4":
		return 1, true
	case "5":
		return 10, true
	case "6":
		return 1000, true
	case "8":
		return 25.4e-6, true // microinches
	case "9":
		return 0.0254, true // mils
	case "10":
		return 914.4, true
	case "14":
		return 100, true // decimetres
	}
	return 0, false
}
