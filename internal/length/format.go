package length

import (
	"fmt"
	"math"
	"strconv"
)

// String returns the length in both units of the workshop: "475.3 mm (18 11/16 in)".
func (l Length) String() string { return l.Metric() + " (" + l.Imperial() + ")" }

// Metric returns the length in millimetres to a tenth: "475.3 mm".
func (l Length) Metric() string {
	return strconv.FormatFloat(round(l.Millimetres(), 0.1), 'f', 1, 64) + " mm"
}

// Imperial returns the length in inches to the nearest sixteenth, the fraction in
// its lowest terms: "18 11/16 in", "3/4 in", "2 in".
func (l Length) Imperial() string {
	sixteenths := int64(math.Round(math.Abs(l.Inches()) * 16))
	sign := ""
	if l < 0 && sixteenths > 0 {
		sign = "-"
	}
	whole, over, under := sixteenths/16, sixteenths%16, int64(16)
	for over > 0 && over%2 == 0 {
		over, under = over/2, under/2
	}
	switch {
	case over == 0:
		return fmt.Sprintf("%s%d in", sign, whole)
	case whole == 0:
		return fmt.Sprintf("%s%d/%d in", sign, over, under)
	}
	return fmt.Sprintf("%s%d %d/%d in", sign, whole, over, under)
}

// round returns x at the nearest multiple of step, with -0 turned into 0.
func round(x, step float64) float64 { return math.Round(x/step)*step + 0 }
