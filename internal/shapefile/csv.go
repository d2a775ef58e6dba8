package shapefile

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"

	"fairedge/internal/length"
)

// CSV returns a list of shapes for a spreadsheet: a head, then a shape a row; commas
// between, dots in numbers (RFC 4180). Lengths are in the unit that the head says, mm to
// a hundredth, or inches to a thousandth if inches is set.
func CSV(documents []Document, inches bool) ([]byte, error) {
	unit, digits := "mm", 2
	value := length.Length.Millimetres
	if inches {
		unit, digits, value = "in", 3, length.Length.Inches
	}
	number := func(l length.Length) string { return strconv.FormatFloat(value(l)+0, 'f', digits, 64) }
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	head := []string{"name", "date", "made by"}
	for _, h := range []string{"width", "depth", "round", "right within"} {
		head = append(head, h+" "+unit)
	}
	rows := [][]string{append(head, "area "+unit+"2", "pieces", "marks")}
	for _, d := range documents {
		s := d.Shape
		row := []string{plainCell(d.Name), "", plainCell(d.Provenance), number(s.Size.Width), number(s.Size.Depth), number(s.Size.Perimeter), ""}
		if !d.Date.IsZero() {
			row[1] = d.Date.Format(dayLayout)
		}
		if d.Uncertainty > 0 {
			row[6] = number(d.Uncertainty)
		}
		square := value(length.Millimetre)
		area := strconv.FormatFloat(s.Size.AreaMM2*square*square, 'f', digits, 64)
		rows = append(rows, append(row, area, strconv.Itoa(s.Net.Len()), strconv.Itoa(len(s.Ticks))))
	}
	if err := w.WriteAll(rows); err != nil {
		return nil, fmt.Errorf("writing the list: %w", err)
	}
	return out.Bytes(), nil
}

// plainCell keeps a spreadsheet from taking words for a formula: what starts like one
// gets an apostrophe, which spreadsheets hide (OWASP, "CSV Injection").
func plainCell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}
