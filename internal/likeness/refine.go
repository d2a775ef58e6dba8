package likeness

import (
	"fmt"
	"math"

	"fairedge/internal/curve"
)

// Found is an outline among many, laid on the one looked for and measured.
type Found struct {
	ID int64
	Registration
}

// Refine lays the outlines of the matches on the query, measures them, and returns them by
// their RMS, least first; Registration's fixed outline is the query. net returns the
// outline of a number.
func Refine(query curve.Path, matches []Match, net func(id int64) (curve.Path, error), o Options) ([]Found, error) {
	found := make([]Found, 0, len(matches))
	for _, m := range matches {
		p, err := net(m.ID)
		if err != nil {
			return nil, fmt.Errorf("reading outline %d: %w", m.ID, err)
		}
		r, err := Register(p, query, o)
		if err != nil {
			return nil, err
		}
		found = append(found, Found{m.ID, r})
	}
	sortBy(found, func(f Found) float64 { return math.Round(f.RMS*1e6) / 1e6 })
	return found, nil
}
