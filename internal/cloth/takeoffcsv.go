package cloth

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strconv"

	"fairedge/internal/length"
	"fairedge/internal/problem"
)

// CSV writes the list with a heading, lengths in millimetres to a tenth (RFC 4180).
func CSV(lines []Line) ([]byte, error) {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	rows := [][]string{{"kind", "item", "count", "width_mm", "length_mm", "thickness_mm", "mass_kg", "spare_count", "spare_length_mm", "note"}}
	for _, l := range lines {
		rows = append(rows, []string{l.Kind, harmless(l.Item), number(float64(l.Count), 0), tenths(l.Width), tenths(l.Length), tenths(l.Thick),
			number(l.MassKg, 3), number(float64(l.SpareCount), 0), tenths(l.SpareLength), harmless(l.Note)})
	}
	if err := w.WriteAll(rows); err != nil {
		return nil, problem.New(problem.Internal, "the list could not be written", "please report this").Because(err)
	}
	return out.Bytes(), nil
}

// harmless keeps a spreadsheet from taking a name for a formula.
func harmless(s string) string {
	if s != "" && (s[0] == '=' || s[0] == '+' || s[0] == '-' || s[0] == '@') {
		return "'" + s
	}
	return s
}

func tenths(l length.Length) string { return number(l.Millimetres(), 1) }

// number leaves zero empty: it does not apply.
func number(v float64, digits int) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'f', digits, 64)
}

// lineForm is a line as JSON.
type lineForm struct {
	Kind        string  `json:"kind"`
	Item        string  `json:"item"`
	Count       int     `json:"count,omitempty"`
	Width       float64 `json:"width_mm,omitempty"`
	Length      float64 `json:"length_mm,omitempty"`
	Thick       float64 `json:"thickness_mm,omitempty"`
	MassKg      float64 `json:"mass_kg,omitempty"`
	SpareCount  int     `json:"spare_count,omitempty"`
	SpareLength float64 `json:"spare_length_mm,omitempty"`
	Note        string  `json:"note,omitempty"`
}

func formsOf(lines []Line) []lineForm {
	forms := make([]lineForm, 0, len(lines))
	for _, l := range lines {
		forms = append(forms, lineForm{l.Kind, l.Item, l.Count, l.Width.Millimetres(), l.Length.Millimetres(), l.Thick.Millimetres(),
			l.MassKg, l.SpareCount, l.SpareLength.Millimetres(), l.Note})
	}
	return forms
}

// JSON writes the list, lengths in millimetres.
func JSON(lines []Line) ([]byte, error) { return indented(formsOf(lines)) }

func indented(v any) ([]byte, error) {
	data, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return nil, problem.New(problem.Internal, "the list could not be written", "please report this").Because(err)
	}
	return append(data, '\n'), nil
}
