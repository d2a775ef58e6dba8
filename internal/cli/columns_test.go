package cli

import (
	"strings"
	"testing"
)

func TestColumns(t *testing.T) {
	for text, want := range map[string]int{
		"": 0, "abc": 3, "é": 1, "e\u0301": 1, "田中": 4, "ｱ": 1, "Ａ": 2, "กิน": 2, "한글": 4, "a\u200fb": 2,
	} {
		if got := columnsOf(text); got != want {
			t.Errorf("%q takes %d columns, want %d", text, got, want)
		}
	}
	for _, text := range []string{"", "short", "a text that is longer than that", "田中田中田中田中田中", "x田中田中田中田中田中"} {
		if got := fitted(text, 12); columnsOf(got) != 12 {
			t.Errorf("%q becomes %q of %d columns", text, got, columnsOf(got))
		}
	}
	if got := fitted("two\nlines", 12); got != "two lines   " {
		t.Errorf("lines become %q", got)
	}
}

func TestListsFitATerminal(t *testing.T) {
	long := strings.Repeat("田x", 60)
	out := listing(jobColumns(), [][]string{{"123456", "2026-01-31", long, long, "1234x1234"}})
	for _, line := range strings.Split(out, "\n") {
		if columnsOf(line) > 80 {
			t.Errorf("%d columns: %s", columnsOf(line), line)
		}
	}
	out = listing(historyColumns(), [][]string{{"123", "2026-01-31 12:00", "restored from 12", long}})
	for _, line := range strings.Split(out, "\n") {
		if columnsOf(line) > 80 {
			t.Errorf("%d columns: %s", columnsOf(line), line)
		}
	}
}
