package length

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Parse reads a length as people write it. A unit may follow with or without a
// space; a number without a unit is in millimetres.
//
//	19.05  19,05mm  1.9 cm  0.4 m        millimetres, centimetres, metres
//	3/4in  1 3/8"  1-3/8 inch  0.75 in   inches, whole, decimal or fractions
//	2ft  1' 6"                           feet, feet and inches
//
// The result is exact to the last bit of the decimal conversion. The error names
// the text and what to write instead. Signs are read; callers judge the range.
func Parse(text string) (Length, error) {
	s := strings.ToLower(strings.TrimSpace(text))
	s = strings.NewReplacer("″", `"`, "”", `"`, "′", "'", "’", "'", "−", "-").Replace(s)
	if m := feetAndInches.FindStringSubmatch(s); m != nil {
		return parseFeetAndInches(text, m)
	}
	m := numberAndUnit.FindStringSubmatch(s)
	if m == nil {
		return 0, unreadable(text)
	}
	unit, known := unitByName(m[3])
	if !known {
		return 0, unreadable(text)
	}
	value, err := parseNumber(m[2])
	if err != nil {
		return 0, unreadable(text)
	}
	if m[1] == "-" {
		value = -value
	}
	return Length(value) * unit, nil
}

var (
	numberAndUnit = regexp.MustCompile(`^([+-]?)\s*([0-9][0-9 ./,-]*|[.,][0-9]+)\s*([a-z"']*)$`)
	feetAndInches = regexp.MustCompile(`^([+-]?)\s*([0-9]+)\s*(?:'|ft)\s*([0-9][0-9 ./-]*)\s*(?:"|in|inch|inches)$`)
	wholeAndPart  = regexp.MustCompile(`^(?:([0-9]+)(?:\s+|-))?([0-9]+)\s*/\s*([0-9]+)$`)
)

func unitByName(name string) (Length, bool) {
	switch name {
	case "", "mm", "millimetre", "millimetres", "millimeter", "millimeters":
		return Millimetre, true
	case "cm", "centimetre", "centimetres", "centimeter", "centimeters":
		return Centimetre, true
	case "m", "metre", "metres", "meter", "meters":
		return Metre, true
	case `"`, "in", "inch", "inches", "''":
		return Inch, true
	case "'", "ft", "foot", "feet":
		return Foot, true
	case "yd", "yard", "yards":
		return Yard, true
	}
	return 0, false
}

func parseFeetAndInches(text string, m []string) (Length, error) {
	feet, err1 := strconv.ParseFloat(m[2], 64)
	inches, err2 := parseNumber(m[3])
	if err1 != nil || err2 != nil {
		return 0, unreadable(text)
	}
	l := Length(feet)*Foot + Length(inches)*Inch
	if m[1] == "-" {
		l = -l
	}
	return l, nil
}

// parseNumber reads "19.05", "19,05", "3/4", "1 3/8" and "1-3/8".
func parseNumber(s string) (float64, error) {
	s = strings.TrimSpace(s)
	if m := wholeAndPart.FindStringSubmatch(s); m != nil {
		whole := 0.0
		if m[1] != "" {
			whole, _ = strconv.ParseFloat(m[1], 64)
		}
		over, _ := strconv.ParseFloat(m[2], 64)
		under, _ := strconv.ParseFloat(m[3], 64)
		if under == 0 {
			return 0, strconv.ErrRange
		}
		return whole + over/under, nil
	}
	value, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err == nil && math.IsInf(value, 0) {
		return 0, strconv.ErrRange
	}
	return value, err
}

func unreadable(text string) error {
	return fmt.Errorf(`%q is not a length: write it like 19.05mm, 1.9cm, 3/4in or 1 3/8"`, text)
}
