package render

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"fairedge/internal/sheet"
)

// Layers that a reader of the PDF can switch (optional content, ISO 32000-1, 8.11).
// Canvas knows none: each layer of a page is drawn as a page of its own, which
// afterwards becomes a form on the real page that belongs to the layer.

// pdfLayer is a layer of a page; noLayer is always in sight.
type pdfLayer int

const (
	layerCut pdfLayer = iota
	layerSeam
	layerMarks
	layerNotes
	layerCount
	noLayer pdfLayer = -1
)

func (l pdfLayer) String() string {
	return []string{"Cutting lines", "Stitching and folding lines", "Marks, bars and page joins", "Words"}[l]
}

func layerOf(item sheet.Item) pdfLayer {
	switch item := item.(type) {
	case sheet.Text:
		return layerNotes
	case sheet.Stroke:
		switch item.Role {
		case sheet.CutLine, sheet.FoamOutline:
			return layerCut
		case sheet.SeamLine, sheet.FoldLine:
			return layerSeam
		}
	}
	return layerMarks
}

// pdfPage is one page of the document: its parts, and the scale of its unit.
type pdfPage struct {
	parts []pdfPart
	unit  float64 // UserUnit: 1 up to largestPage
}

type pdfPart struct {
	layer pdfLayer
	sheet sheet.Sheet
}

// pageOf parts the sheet by layers, if it shows a pattern. Cards stay whole.
func pageOf(s sheet.Sheet) pdfPage {
	p := pdfPage{unit: math.Max(1, math.Ceil(math.Max(s.Width.Millimetres(), s.Height.Millimetres())/largestPage))}
	var items [layerCount][]sheet.Item
	for _, item := range s.Items {
		l := layerOf(item)
		items[l] = append(items[l], item)
	}
	if len(items[layerCut])+len(items[layerSeam]) == 0 {
		p.parts = []pdfPart{{noLayer, s}}
		return p
	}
	for l := range layerCount {
		if len(items[l]) > 0 {
			part := s
			part.Items = items[l]
			p.parts = append(p.parts, pdfPart{l, part})
		}
	}
	return p
}

// catalogNumber and pagesNumber are the objects of canvas's documents that hold the
// catalogue and the list of pages.
const (
	catalogNumber = 1
	pagesNumber   = 3
)

var (
	kidsList   = regexp.MustCompile(`/Kids\[([0-9 R]*)\]`)
	pageFields = regexp.MustCompile(`^<</Type/Page/Contents (\d+) 0 R/Group<<[^>]*>>/MediaBox\[0 0 ([0-9.]+) ([0-9.]+)\]/Parent 3 0 R/Resources(<<.*>>)>>$`)
)

// assembler turns the pages that canvas drew into the pages of the document.
type assembler struct {
	objects []pdfObject
	groups  [layerCount]int // numbers of the layers' objects; 0 for those not used
}

func (a *assembler) add(o pdfObject) (number int) {
	a.objects = append(a.objects, o)
	return len(a.objects)
}

func (a *assembler) assemble(pages []pdfPage) error {
	if len(a.objects) < pagesNumber {
		return errNotCanvas
	}
	m := kidsList.FindSubmatch(a.objects[pagesNumber-1].dict)
	if m == nil {
		return errNotCanvas
	}
	numbers := regexp.MustCompile(`(\d+) 0 R`).FindAllStringSubmatch(string(m[1]), -1)
	var kids []string
	for _, page := range pages {
		if len(numbers) < len(page.parts) {
			return errNotCanvas
		}
		var parts []int
		for _, n := range numbers[:len(page.parts)] {
			number, err := strconv.Atoi(n[1])
			if err != nil || number < 1 || number > len(a.objects) {
				return errNotCanvas
			}
			parts = append(parts, number)
		}
		numbers = numbers[len(page.parts):]
		if err := a.page(page, parts); err != nil {
			return err
		}
		kids = append(kids, fmt.Sprintf("%d 0 R", parts[0]))
	}
	a.objects[pagesNumber-1].dict = fmt.Appendf(nil, "<</Type/Pages/Count %d/Kids[%s]>>", len(kids), strings.Join(kids, " "))
	a.catalog()
	return nil
}

// drawnPage is what canvas says of a page.
type drawnPage struct {
	contents      int
	width, height float64 // points
	resources     string
}

func (a *assembler) drawn(number int) (drawnPage, error) {
	m := pageFields.FindSubmatch(a.objects[number-1].dict)
	if m == nil {
		return drawnPage{}, errNotCanvas
	}
	contents, err1 := strconv.Atoi(string(m[1]))
	w, err2 := strconv.ParseFloat(string(m[2]), 64)
	h, err3 := strconv.ParseFloat(string(m[3]), 64)
	if errors.Join(err1, err2, err3) != nil || contents < 1 || contents > len(a.objects) || !a.objects[contents-1].hasStream {
		return drawnPage{}, errNotCanvas
	}
	return drawnPage{contents, w, h, string(m[4])}, nil
}

// page makes the parts, drawn as pages of these numbers, one page under the number of
// the first. What is left over of the others becomes the null object.
func (a *assembler) page(page pdfPage, numbers []int) error {
	var content bytes.Buffer
	if page.unit != 1 {
		fmt.Fprintf(&content, "%.12f 0 0 %.12f 0 0 cm\n", 1/page.unit, 1/page.unit)
	}
	var forms strings.Builder
	var size drawnPage
	for i, part := range page.parts {
		d, err := a.drawn(numbers[i])
		if err != nil {
			return err
		}
		size = d
		form := fmt.Sprintf("/Type/XObject/Subtype/Form/BBox[0 0 %s %s]/Resources%s", points(d.width), points(d.height), d.resources)
		if part.layer != noLayer {
			form += fmt.Sprintf("/OC %d 0 R", a.group(part.layer))
		}
		a.objects[d.contents-1].extra = form
		fmt.Fprintf(&content, "/X%d Do\n", i)
		fmt.Fprintf(&forms, "/X%d %d 0 R", i, d.contents)
		a.objects[numbers[i]-1] = pdfObject{dict: []byte("null")}
	}
	contents := a.add(pdfObject{dict: []byte("<<>>"), stream: content.Bytes(), hasStream: true})
	unit := ""
	if page.unit != 1 {
		unit = fmt.Sprintf("/UserUnit %g", page.unit)
	}
	a.objects[numbers[0]-1].dict = fmt.Appendf(nil, "<</Type/Page/Contents %d 0 R/MediaBox[0 0 %s %s]%s/Parent %d 0 R/Resources<</XObject<<%s>>>>>>",
		contents, points(size.width/page.unit), points(size.height/page.unit), unit, pagesNumber, forms.String())
	return nil
}

func points(x float64) string { return strconv.FormatFloat(math.Round(x*1e5)/1e5, 'f', -1, 64) }

// group returns the number of the layer's object.
func (a *assembler) group(l pdfLayer) int {
	if a.groups[l] == 0 {
		a.groups[l] = a.add(pdfObject{dict: fmt.Appendf(nil, "<</Type/OCG/Name%s>>", pdfString(l.String()))})
	}
	return a.groups[l]
}

// catalog lists the layers, all in sight, and asks readers to print without scaling.
func (a *assembler) catalog() {
	var refs []string
	for _, n := range a.groups {
		if n > 0 {
			refs = append(refs, fmt.Sprintf("%d 0 R", n))
		}
	}
	layers := ""
	if len(refs) > 0 {
		all := strings.Join(refs, " ")
		layers = fmt.Sprintf("/OCProperties<</OCGs[%s]/D<</Name(Layers)/Order[%s]/ON[%s]>>>>", all, all, all)
	}
	a.objects[catalogNumber-1].dict = fmt.Appendf(nil,
		"<</Type/Catalog/Pages %d 0 R/Lang(en-GB)/ViewerPreferences<</PrintScaling/None/DisplayDocTitle true>>%s>>", pagesNumber, layers)
}
