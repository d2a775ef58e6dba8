package cli

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"fairedge/internal/archive"
)

// csvHeads are the columns of a list; unit in the name.
func csvHeads() []string {
	return []string{"number", "revision", "saved_at", "measured_on", "title", "customer", "place", "chair", "set_of", "which",
		"width_mm", "depth_mm", "perimeter_mm", "area_mm2", "within_mm"}
}

func csvRow(r archive.Revision) []string {
	return []string{
		strconv.Itoa(r.Job), strconv.Itoa(r.Saved.Revision), r.SavedAt, r.MadeOn,
		csvText(r.Title), csvText(r.Customer), csvText(r.Place), csvText(r.Chair), csvCount(r.SetOf), csvCount(r.Which),
		csvNumber(r.Width), csvNumber(r.Depth), csvNumber(r.Perimeter), csvNumber(r.Area), csvNumber(r.Within),
	}
}

// csvText keeps a spreadsheet from taking text for a formula, which could run programs:
// what begins like one gets an apostrophe before it (OWASP, "CSV Injection"; full-width
// signs count in East Asian spreadsheets).
func csvText(text string) string {
	begin := strings.TrimLeft(text, " \u00a0\u3000\ufeff")
	if begin != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", []rune(begin)[0]) {
		return "'" + text
	}
	return text
}

// csvCount leaves out what was not said.
func csvCount(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func csvNumber(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'f', -1, 64)
}

// writeCSV writes a list by RFC 4180: lines end in CR LF, also inside quoted text.
func writeCSV(w io.Writer, rows [][]string) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.WriteAll(rows); err != nil {
		return fmt.Errorf("writing the list: %w", err)
	}
	return nil
}
