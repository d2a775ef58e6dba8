package cli

import (
	"fmt"
	"math"
)

// nearlyTrue is how far from true a print may be without a mistake: printers and
// copiers are within 1 %, the worst office machines within 2.
const nearlyTrue = 0.015

// likelyCause names what made a print come out of scale, or returns "" when it is
// nearly true both ways. The factors are those that each mistake gives for A4 (210 x
// 297 mm, ISO 216) and US Letter (215.9 x 279.4 mm).
func likelyCause(along, across float64) string {
	if math.Abs(along-1) < nearlyTrue && math.Abs(across-1) < nearlyTrue {
		return ""
	}
	if math.Abs(along-across) > 0.006 {
		return "it is not stretched alike along and across, which no print setting does: read both bars again, from the first line to the last"
	}
	mean := (along + across) / 2
	best, cause := 0.004, `the print was scaled ("fit to page" is the usual cause)`
	for _, c := range []struct {
		factor float64
		cause  string
	}{
		{279.4 / 297, "an A4 page was shrunk to fit Letter paper"},
		{210 / 215.9, "a Letter page was shrunk to fit A4 paper"},
		{(210 - 2*4.2) / 210, `"fit to page" was on (a printer with margins of 4 mm)`},
		{(210 - 2*6.35) / 210, `"fit to page" was on (a printer with margins of 1/4 in)`},
		{0.9375, `"shrink to margins" was on`},
		{72.0 / 96, "72 dots to the inch were taken for 96"},
		{96.0 / 72, "96 dots to the inch were taken for 72"},
		{297 / 279.4, "a Letter page was enlarged to fill A4 paper"},
		{math.Sqrt2, "an A4 page was enlarged to A3"},
		{1 / math.Sqrt2, "an A3 page was shrunk to A4"},
	} {
		if off := math.Abs(mean - c.factor); off < best {
			best, cause = off, c.cause
		}
	}
	return cause
}

// withCause adds what may have made the readings what they are.
func withCause(err error, along, across float64) error {
	if cause := likelyCause(along, across); cause != "" {
		return fmt.Errorf("%w; perhaps %s", err, cause)
	}
	return err
}
