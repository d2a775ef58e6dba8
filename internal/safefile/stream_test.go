package safefile_test

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"fairedge/internal/problem"
	"fairedge/internal/safefile"

	"github.com/google/go-cmp/cmp"
)

func saying(text string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}
}

func TestStreamKeepsToTheRules(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new")
	path := filepath.Join(dir, "a.json")
	broken := errors.New("broken off")
	err := safefile.Stream(path, safefile.Refuse, func(w io.Writer) error { return errors.Join(saying("half")(w), broken) })
	if !errors.Is(err, broken) {
		t.Errorf("error %v, want the writer's own", err)
	}
	if _, err := os.Stat(dir); err == nil {
		t.Error("a failed stream leaves its folder behind")
	}
	for _, c := range []struct {
		text     string
		existing safefile.Existing
		kind     problem.Kind
		want     string
	}{
		{"first", safefile.Refuse, 0, "first"},
		{"second", safefile.Refuse, problem.FileExists, "first"},
		{"third", safefile.Replace, 0, "third"},
	} {
		err := safefile.Stream(path, c.existing, saying(c.text))
		if (err != nil) != (c.kind != 0) || err != nil && problem.KindOf(err) != c.kind {
			t.Errorf("%s: %v", c.text, err)
		}
		if got := string(read(t, path)); got != c.want {
			t.Errorf("after %s the file holds %q", c.text, got)
		}
	}
	if diff := cmp.Diff([]string{"a.json"}, names(t, dir)); diff != "" {
		t.Errorf("names in folder (-want +got):\n%s", diff)
	}
	if err := safefile.Stream(dir, safefile.Replace, saying("x")); problem.KindOf(err) != problem.Usage {
		t.Errorf("a folder's name: %v", err)
	}
}
