package shapefile

import (
	"time"

	"fairedge/internal/length"
	"fairedge/internal/shape"
)

// Document is one shape with what a person wants to know of it years later. Only
// Shape must be there.
type Document struct {
	Name        string
	Date        time.Time     // the day of the measurement; zero: not known
	Provenance  string        // how the shape came about, in words: "measured in a photo"
	Program     string        // what wrote the file: "fairedge 0.1.0"
	Uncertainty length.Length // the outline is right within this (95 %); 0: not known
	Shape       shape.Shape
}

// Encode returns the shape as JSON. A shape that Decode would refuse is refused here
// with the same sentence.
func Encode(s shape.Shape) ([]byte, error) { return EncodeDocument(Document{Shape: s}) }

// Decode reads a shape from what Encode, EncodeDocument or EncodeSVG wrote, or from a
// measurement.json. The shape is the one that was encoded, bit for bit.
func Decode(data []byte) (shape.Shape, error) {
	d, err := DecodeDocument(data)
	return d.Shape, err
}

// EncodeDocument returns the shape and what is known of it as JSON, one piece, edge or
// tick a line. Same document, same bytes.
func EncodeDocument(d Document) ([]byte, error) {
	if err := check(d.Shape); err != nil {
		return nil, err
	}
	form, err := formOf(d)
	if err != nil {
		return nil, err
	}
	return form.bytes()
}
