package cli

import (
	"strings"
	"testing"
)

// Sizes of paper: ISO 216 and US Letter. 210/215.9 is the well-known "97 %".
func TestLikelyCauseNamesTheMistake(t *testing.T) {
	for _, c := range []struct {
		along, across float64
		want          string // part of the cause; "" for none
	}{
		{1, 1, ""}, {0.998, 1.011, ""},
		{97.3 / 100, 97.2 / 100, "Letter page was shrunk to fit A4"},
		{94.1 / 100, 94.0 / 100, "A4 page was shrunk to fit Letter"},
		{96.0 / 100, 96.0 / 100, "fit to page"},
		{75.0 / 100, 75.0 / 100, "72 dots"},
		{0.90, 0.90, "scaled"},
		{0.97, 1.0, "read both bars again"},
	} {
		got := likelyCause(c.along, c.across)
		if (c.want == "") != (got == "") || !strings.Contains(got, c.want) {
			t.Errorf("%.3f along, %.3f across: %q, want %q in it", c.along, c.across, got, c.want)
		}
	}
}
