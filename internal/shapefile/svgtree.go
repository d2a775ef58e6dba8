package shapefile

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"strings"
)

// element is an element of an SVG with what is needed of it.
type element struct {
	name     string
	attr     map[string]string // by local name
	children []*element
	viewport [2]float64 // width and height that percentages are of, user units; 0: unknown
}

// Limits on a drawing's tree: deeper or larger ones are no pattern.
const mostDepth, mostElements = 256, 200000

// readTree reads the elements of an SVG. Of the entities that a file declares only short
// plain ones are known, as Illustrator writes for its name spaces; they hold no other
// entity, so that a small file cannot grow.
func readTree(data []byte) (*element, error) {
	decoder := xml.NewDecoder(bytes.NewReader(data))
	decoder.CharsetReader = latinReader
	var root *element
	var open []*element
	count := 0
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, notXML(err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			if count++; count > mostElements || len(open) >= mostDepth {
				return nil, drawingf("leave only the outline in it", "it has more than %d objects, or more than %d inside each other", mostElements, mostDepth)
			}
			e := newElement(token)
			if len(open) > 0 {
				parent := open[len(open)-1]
				parent.children = append(parent.children, e)
			} else {
				root = e
			}
			open = append(open, e)
		case xml.Directive:
			decoder.Entity = plainEntities(string(token))
		case xml.EndElement:
			open = open[:len(open)-1]
		}
	}
	if root == nil || root.name != "svg" {
		return nil, drawingf("give an SVG or DXF file", "it is XML, but no SVG")
	}
	return root, nil
}

// plainEntity is a declaration of an entity without another one inside.
var plainEntity = regexp.MustCompile(`<!ENTITY\s+([A-Za-z_][\w.-]*)\s+(?:"([^"&%<]{0,200})"|'([^'&%<]{0,200})')\s*>`)

func plainEntities(documentType string) map[string]string {
	entities := map[string]string{}
	for _, m := range plainEntity.FindAllStringSubmatch(documentType, 100) {
		entities[m[1]] = m[2] + m[3]
	}
	return entities
}

// latinReader reads ISO 8859-1, which old programs write; other names are taken for
// UTF-8, whose ASCII part is all that geometry needs.
func latinReader(charset string, input io.Reader) (io.Reader, error) {
	if !strings.EqualFold(charset, "iso-8859-1") {
		return input, nil
	}
	data, err := io.ReadAll(input)
	if err != nil {
		return nil, err
	}
	var out strings.Builder
	for _, b := range data {
		out.WriteRune(rune(b))
	}
	return strings.NewReader(out.String()), nil
}

func newElement(token xml.StartElement) *element {
	e := &element{name: token.Name.Local, attr: map[string]string{}}
	for _, a := range token.Attr {
		if _, taken := e.attr[a.Name.Local]; !taken || a.Name.Space == "" {
			e.attr[a.Name.Local] = a.Value
		}
	}
	return e
}

// isHidden reports whether the object is switched off, as layers are.
func (e *element) isHidden() bool {
	return e.styled("display") == "none"
}

// styled returns a property from the style attribute or the attribute of its name.
func (e *element) styled(property string) string {
	for _, declaration := range strings.Split(e.attr["style"], ";") {
		name, value, _ := strings.Cut(declaration, ":")
		if strings.TrimSpace(name) == property {
			return strings.TrimSpace(value)
		}
	}
	return strings.TrimSpace(e.attr[property])
}
