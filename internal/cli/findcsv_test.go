package cli

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"strings"
	"testing"

	"fairedge/internal/archive"

	"github.com/google/go-cmp/cmp"
)

// awkward are names that break lists which are not quoted.
func awkward() []string {
	return []string{"plain", `Smith, "Bob"`, "two\nlines", `""`, "; ' |", "田中 椅子店", "עברית", " spaced ", "'quoted"}
}

// TestCSVIsReadBackByPython reads a list with Python's csv module, an independent reader.
func TestCSVIsReadBackByPython(t *testing.T) {
	width := 412.345
	rows := [][]string{csvHeads()}
	for i, name := range awkward() {
		r := archive.Revision{Saved: archive.Saved{Job: i + 1, Revision: 2}, Words: archive.Words{Customer: name, Chair: name}}
		r.Width = &width
		rows = append(rows, csvRow(r))
	}
	var list bytes.Buffer
	if err := writeCSV(&list, rows); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(list.String(), "\n"); n != strings.Count(list.String(), "\r\n") {
		t.Error("a line does not end in CR LF")
	}
	read := exec.Command("/usr/bin/python3", "-c", `
import csv, io, json, sys
text = io.TextIOWrapper(sys.stdin.buffer, "utf-8", newline="")
print(json.dumps(list(csv.reader(text, strict=True))))`)
	read.Stdin = &list
	out, err := read.Output()
	if err != nil {
		t.Fatalf("python3 is needed (make test installs it): %v", err)
	}
	var got [][]string
	if err := json.Unmarshal(bytes.ReplaceAll(out, []byte(`\r\n`), []byte(`\n`)), &got); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(rows, got); diff != "" {
		t.Error(diff)
	}
}

func TestCSVTextIsNoFormula(t *testing.T) {
	for text, want := range map[string]string{
		"=1+1": "'=1+1", "+44 20": "'+44 20", "-": "'-", "@sum": "'@sum", "\tx": "'\tx", "\n=x": "'\n=x", " =x": "' =x", "＝x": "'＝x",
		"": "", "a=b": "a=b", "Smith-Jones": "Smith-Jones", "'=x": "'=x", "  ": "  ",
	} {
		if got := csvText(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}
