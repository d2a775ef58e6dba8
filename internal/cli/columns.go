package cli

import (
	"strings"
	"unicode"

	"golang.org/x/text/width"
)

// columnsOf is how many columns of a terminal a text takes: two for wide letters
// (Unicode Standard Annex 11), none for marks that stand on others.
func columnsOf(text string) int {
	n := 0
	for _, r := range text {
		n += columnsOfRune(r)
	}
	return n
}

func columnsOfRune(r rune) int {
	if unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf) {
		return 0
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 2
	}
	return 1
}

// fitted cuts or fills a text to so many columns; what was cut ends in an ellipsis.
// Line ends become spaces.
func fitted(text string, columns int) string {
	text = strings.Join(strings.Fields(text), " ")
	if columnsOf(text) > columns {
		var out strings.Builder
		used := 0
		for _, r := range text {
			if used += columnsOfRune(r); used > columns-1 {
				break
			}
			out.WriteRune(r)
		}
		text = out.String() + "…"
	}
	return text + strings.Repeat(" ", columns-columnsOf(text))
}

// column is one column of a list.
type column struct {
	head    string
	columns int
	right   bool // numbers
}

// listing writes rows that fit a terminal of 80 columns.
func listing(columns []column, rows [][]string) string {
	var out strings.Builder
	line := func(cells []string) {
		var text strings.Builder
		for i, c := range columns {
			cell := fitted(cells[i], c.columns)
			if c.right {
				trimmed := strings.TrimRight(cell, " ")
				cell = strings.Repeat(" ", c.columns-columnsOf(trimmed)) + trimmed
			}
			if i > 0 {
				text.WriteString("  ")
			}
			text.WriteString(cell)
		}
		out.WriteString(strings.TrimRight(text.String(), " ") + "\n")
	}
	heads := make([]string, len(columns))
	for i, c := range columns {
		heads[i] = c.head
	}
	line(heads)
	for _, r := range rows {
		line(r)
	}
	return out.String()
}
