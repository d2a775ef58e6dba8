package shapefile

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"

	"fairedge/internal/problem"
)

// maxFile bounds what is read, bytes: a shape has some ten thousand.
const maxFile = 32 << 20

// DecodeDocument reads what EncodeDocument or EncodeSVG wrote, or the report of a
// measured photo. What it does not know it passes over; what contradicts itself it
// refuses, in one sentence.
func DecodeDocument(data []byte) (Document, error) {
	if len(data) > maxFile {
		return Document{}, problem.Newf(problem.NotAShape, "give one shape", "the file has %d MB, more than %d MB", len(data)>>20, maxFile>>20)
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if isXML(data) {
		return DecodeSVG(data)
	}
	var kind struct {
		Shape   json.RawMessage `json:"fairedge_shape"`
		Format  json.RawMessage `json:"format"`
		Outline json.RawMessage `json:"outlines"`
	}
	if err := unmarshal(data, &kind); err != nil {
		return Document{}, err
	}
	switch {
	case kind.Shape != nil:
		return decodeForm(data)
	case kind.Format != nil && kind.Outline != nil:
		return decodeReport(data)
	}
	return Document{}, problem.New(problem.NotAShape, "the file is JSON, but neither a shape nor a measurement.json", "give one that fairedge wrote")
}

func isXML(data []byte) bool { return bytes.HasPrefix(bytes.TrimSpace(data), []byte("<")) }

func decodeForm(data []byte) (Document, error) {
	var version struct {
		Format int `json:"fairedge_shape"`
	}
	if err := unmarshal(data, &version); err != nil {
		return Document{}, err
	}
	if version.Format > formVersion {
		return Document{}, problem.Newf(problem.NotAShape, "read it with a newer fairedge",
			"the file is a shape of form %d, and this program knows up to %d", version.Format, formVersion)
	}
	if version.Format < 1 {
		return Document{}, refusef("fairedge_shape is %d", version.Format)
	}
	var f form
	if err := unmarshal(data, &f); err != nil {
		return Document{}, err
	}
	return f.document()
}

// unmarshal reads one JSON value and nothing after it.
func unmarshal(data []byte, into any) error {
	decoder := json.NewDecoder(bytes.NewReader(data))
	if err := decoder.Decode(into); err != nil {
		return unreadable(err, decoder.InputOffset())
	}
	if _, err := decoder.Token(); !errors.Is(err, io.EOF) {
		return refusef("something follows its end at byte %d", decoder.InputOffset())
	}
	return nil
}

func unreadable(err error, at int64) error {
	var wrong *json.UnmarshalTypeError
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &wrong):
		return refusef("at byte %d, %q has a %s where another kind of value belongs", wrong.Offset, wrong.Field, wrong.Value).Because(err)
	case errors.As(err, &syntax):
		return refusef("it is no JSON at byte %d (%v)", syntax.Offset, err).Because(err)
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		return refusef("it ends too early, at byte %d", at).Because(err)
	}
	return refusef("%v", err).Because(err)
}
