// Package edgesamples is the open form of the raw samples of a traced edge, as they
// were measured in a photo before the outline was faired: small JSON, kept with a job so
// that a better fit can be tried years later.
package edgesamples

import (
	"encoding/json"
	"fmt"
	"math"

	"fairedge/internal/problem"
)

// Sample is one raw sample of the traced edge, in the seat frame.
type Sample struct {
	X, Y      float64 // mm
	Sigma     float64 // standard uncertainty across the edge, mm
	Bridged   bool    // in a gap: not seen
	SheetEdge bool    // the sheet's own edge
}

// document is the form in which samples are kept.
type document struct {
	Format  int          `json:"format"`
	Unit    string       `json:"unit"`
	Frame   string       `json:"frame"`
	Samples [][4]float64 `json:"samples"` // x, y, sigma, flags
}

// Flags of a kept sample.
const (
	flagBridged   = 1
	flagSheetEdge = 2
)

// Encode returns the samples as a document.
// Numbers read back as the same float64.
func Encode(samples []Sample) ([]byte, error) {
	d := document{Format: 1, Unit: "mm", Frame: "seat", Samples: make([][4]float64, len(samples))}
	for i, s := range samples {
		flags := 0.0
		if s.Bridged {
			flags += flagBridged
		}
		if s.SheetEdge {
			flags += flagSheetEdge
		}
		d.Samples[i] = [4]float64{s.X, s.Y, s.Sigma, flags}
	}
	data, err := json.Marshal(d)
	if err != nil {
		return nil, fmt.Errorf("encoding the samples: %w", err) // NaN or infinite
	}
	return append(data, '\n'), nil
}

// Decode reads what Encode wrote.
func Decode(data []byte) ([]Sample, error) {
	var d document
	if err := json.Unmarshal(data, &d); err != nil || d.Format < 1 || d.Unit != "mm" || d.Frame != "seat" {
		return nil, problem.New(problem.Usage, "these are no samples of an edge", "measure the photo again").Because(err)
	}
	if d.Format > 1 {
		return nil, problem.Newf(problem.ArchiveNewer, "read them with that version", "the samples were written by a newer version of fairedge (format %d)", d.Format)
	}
	samples := make([]Sample, len(d.Samples))
	for i, s := range d.Samples {
		flags := int(math.Round(s[3]))
		samples[i] = Sample{X: s[0], Y: s[1], Sigma: s[2], Bridged: flags&flagBridged != 0, SheetEdge: flags&flagSheetEdge != 0}
	}
	return samples, nil
}
