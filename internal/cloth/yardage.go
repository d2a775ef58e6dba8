package cloth

import "fairedge/internal/length"

// SameArea returns the length of cloth of one width that has the area of a length of
// another width: the first estimate when a cloth is had in another width than planned.
func SameArea(l, width, other length.Length) length.Length { return l * width / other }

// RepeatSurcharge returns the share of plain cloth that a pattern asks for in addition, as
// the trade estimates it from the sum of both repeats on cloth about 54 in wide; cloth of
// 50 to 52 in takes a tenth more in each class. It is an estimate to set a lay against, not
// part of one. ok is false beyond the chart: repeats above 54 in together.
func RepeatSurcharge(width, along, across length.Length) (share float64, ok bool) {
	const inch = length.Inch
	chart := []struct {
		upTo  length.Length
		share float64
	}{{0, 0}, {14 * inch, 0.10}, {19 * inch, 0.15}, {27 * inch, 0.20}, {36 * inch, 0.25}, {45 * inch, 0.30}, {54 * inch, 0.35}}
	sum := along + across
	for _, class := range chart {
		if sum > class.upTo+length.Millimetre/100 {
			continue
		}
		if class.share > 0 && width <= 52*inch {
			class.share += 0.10
		}
		return class.share, true
	}
	return 0, false
}
