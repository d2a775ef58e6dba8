package render

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"
)

// Settling turns the PDF that canvas writes into one that is the same for the same
// input: it reads the objects back, parts the pages into layers, gives fonts a fixed
// date, writes its own description (Info), compresses the streams and lists the objects anew. The
// structure it relies on is canvas's: one cross-reference table (ISO 32000-1,
// 7.5.4), every stream with a direct Length, the Info dictionary as object 2.

// infoNumber is the number of the Info dictionary in canvas's documents.
const infoNumber = 2

// pdfObject is one indirect object: its dictionary, and its stream if it has one.
type pdfObject struct {
	dict      []byte
	stream    []byte
	hasStream bool
	extra     string // entries for the stream's dictionary
}

var errNotCanvas = errors.New("the PDF is not laid out as expected")

func settle(raw []byte, meta Meta, pages []pdfPage) ([]byte, error) {
	objects, err := readObjects(raw)
	if err != nil {
		return nil, err
	}
	if len(objects) < infoNumber {
		return nil, errNotCanvas
	}
	objects[infoNumber-1] = pdfObject{dict: []byte(infoDict(meta))}
	a := assembler{objects: objects}
	if err := a.assemble(pages); err != nil {
		return nil, err
	}
	objects = a.objects
	fonts := fontStreams(objects)
	var pack packer
	for i := range objects {
		if objects[i].hasStream {
			if err := objects[i].settle(slices.Contains(fonts, i+1), &pack); err != nil {
				return nil, err
			}
		}
	}
	return writeObjects(objects), nil
}

var (
	startOfTable = regexp.MustCompile(`startxref\n(\d+)\n%%EOF\n$`)
	streamLength = regexp.MustCompile(`/Length (\d+)`)
	fontFile     = regexp.MustCompile(`/FontFile2 (\d+) 0 R`)
)

// readObjects returns the objects in order of their numbers, from 1.
func readObjects(raw []byte) ([]pdfObject, error) {
	m := startOfTable.FindSubmatch(raw)
	if m == nil {
		return nil, errNotCanvas
	}
	table, err := strconv.Atoi(string(m[1]))
	if err != nil || table >= len(raw) {
		return nil, errNotCanvas
	}
	lines := strings.Split(string(raw[table:]), "\n")
	if len(lines) < 2 || lines[0] != "xref" {
		return nil, errNotCanvas
	}
	count, err := strconv.Atoi(strings.TrimPrefix(lines[1], "0 "))
	if err != nil || count < 1 || len(lines)-2 < count {
		return nil, errNotCanvas
	}
	objects := make([]pdfObject, count-1)
	for i := range objects {
		entry, _, _ := strings.Cut(lines[i+3], " ")
		offset, err := strconv.Atoi(entry)
		if err != nil || offset < 0 || offset > len(raw) {
			return nil, errNotCanvas
		}
		if objects[i], err = readObject(raw[offset:], i+1); err != nil {
			return nil, err
		}
	}
	return objects, nil
}

// readObject reads "7 0 obj\n<<...>>stream\n...\nendstream\n\nendobj".
func readObject(raw []byte, number int) (pdfObject, error) {
	body, ok := bytes.CutPrefix(raw, fmt.Appendf(nil, "%d 0 obj\n", number))
	if !ok {
		return pdfObject{}, errNotCanvas
	}
	end := bytes.Index(body, []byte("\nendobj\n"))
	start := bytes.Index(body, []byte(">>stream\n"))
	switch {
	case end < 0:
		return pdfObject{}, errNotCanvas
	case start < 0 || start > end:
		return pdfObject{dict: body[:end]}, nil
	}
	dict, rest := body[:start+2], body[start+len(">>stream\n"):]
	m := streamLength.FindSubmatch(dict)
	if m == nil {
		return pdfObject{}, errNotCanvas
	}
	n, err := strconv.Atoi(string(m[1]))
	if err != nil || n > len(rest) {
		return pdfObject{}, errNotCanvas
	}
	return pdfObject{dict: dict, stream: rest[:n], hasStream: true}, nil
}

// fontStreams returns the numbers of the objects that hold font programs.
func fontStreams(objects []pdfObject) []int {
	var numbers []int
	for _, o := range objects {
		for _, m := range fontFile.FindAllSubmatch(o.dict, -1) {
			if n, err := strconv.Atoi(string(m[1])); err == nil {
				numbers = append(numbers, n)
			}
		}
	}
	return numbers
}

// settle compresses the stream and, in a font, fixes the date. It adds Length1 to a
// font, which ISO 32000-1, table 127, requires and canvas leaves out.
func (o *pdfObject) settle(isFont bool, p *packer) error {
	plain := o.stream
	if bytes.Contains(o.dict, []byte("/FlateDecode")) {
		var err error
		if plain, err = inflate(o.stream); err != nil {
			return err
		}
	}
	extra := o.extra
	if isFont {
		var err error
		if plain, err = withoutDate(plain); err != nil {
			return err
		}
		extra = fmt.Sprintf("/Length1 %d", len(plain))
	}
	var err error
	if o.stream, err = p.deflate(plain); err != nil {
		return err
	}
	o.dict = fmt.Appendf(nil, "<</Filter/FlateDecode/Length %d%s>>", len(o.stream), extra)
	return nil
}

func inflate(packed []byte) ([]byte, error) {
	r, err := zlib.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(r)
}

// packer deflates one stream after another; its tables are made once.
type packer struct{ writer *zlib.Writer }

func (p *packer) deflate(plain []byte) ([]byte, error) {
	var out bytes.Buffer
	if p.writer == nil {
		w, err := zlib.NewWriterLevel(&out, zlib.DefaultCompression)
		if err != nil {
			return nil, err
		}
		p.writer = w
	} else {
		p.writer.Reset(&out)
	}
	if _, err := p.writer.Write(plain); err != nil {
		return nil, err
	}
	if err := p.writer.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

func writeObjects(objects []pdfObject) []byte {
	var out bytes.Buffer
	out.WriteString("%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")
	offsets := make([]int, len(objects))
	for i, o := range objects {
		offsets[i] = out.Len()
		fmt.Fprintf(&out, "%d 0 obj\n%s", i+1, o.dict)
		if o.hasStream {
			fmt.Fprintf(&out, "\nstream\n%s\nendstream", o.stream)
		}
		out.WriteString("\nendobj\n")
	}
	id := sha256.Sum256(out.Bytes())
	table := out.Len()
	fmt.Fprintf(&out, "xref\n0 %d\n0000000000 65535 f \n", len(objects)+1)
	for _, offset := range offsets {
		fmt.Fprintf(&out, "%010d 00000 n \n", offset)
	}
	fmt.Fprintf(&out, "trailer\n<</Root 1 0 R/Info %d 0 R/Size %d/ID[<%x><%x>]>>\nstartxref\n%d\n%%%%EOF\n",
		infoNumber, len(objects)+1, id[:16], id[:16], table)
	return out.Bytes()
}

func infoDict(meta Meta) string {
	var b strings.Builder
	b.WriteString("<<")
	if !meta.Date.IsZero() {
		fmt.Fprintf(&b, "/CreationDate(D:%s)", meta.Date.Format("20060102"))
	}
	if meta.Creator != "" {
		fmt.Fprintf(&b, "/Creator%s", pdfString(meta.Creator))
	}
	if meta.Title != "" {
		fmt.Fprintf(&b, "/Title%s", pdfString(meta.Title))
	}
	b.WriteString(">>")
	return b.String()
}

// pdfString returns the text as UTF-16 in hexadecimal (ISO 32000-1, 7.9.2.2).
func pdfString(s string) string {
	var b strings.Builder
	b.WriteString("<FEFF")
	for _, u := range utf16.Encode([]rune(s)) {
		fmt.Fprintf(&b, "%04X", u)
	}
	b.WriteString(">")
	return b.String()
}
