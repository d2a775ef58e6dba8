package printlog_test

import (
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fairedge/internal/printlog"
	"fairedge/internal/problem"
)

func TestPrintersAreKeptByName(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new")
	day := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	for _, p := range []printlog.Printer{{"studio", 0.998, 1.001, day}, {"office", 1.002, 1, day}, {"studio", 0.997, 1.002, day}} {
		if err := printlog.KeepPrinter(dir, p); err != nil {
			t.Fatal(err)
		}
	}
	got, err := printlog.PrinterNamed(dir, "studio")
	if err != nil || got.Along != 0.997 || got.Across != 1.002 {
		t.Errorf("studio = %+v, %v; want the last one kept", got, err)
	}
	if all, err := printlog.Printers(dir); err != nil || len(all) != 2 {
		t.Errorf("%d printers, %v; want 2", len(all), err)
	}
	if _, err := printlog.PrinterNamed(dir, "attic"); problem.KindOf(err) != problem.Usage {
		t.Errorf("an unknown printer gives %v", err)
	}
}

// Letter shrunk to A4 gives 0.9727 (210 mm over 215.9): a setting, not a printer.
func TestPrintersFarFromTrueAreRefused(t *testing.T) {
	for name, p := range map[string]printlog.Printer{
		"shrunk": {"a", 210 / 215.9, 210 / 215.9, time.Time{}}, "large": {"a", 1, 1.03, time.Time{}},
		"nothing": {"a", 0, 1, time.Time{}}, "not a number": {"a", math.NaN(), 1, time.Time{}}, "no name": {" ", 1, 1, time.Time{}},
	} {
		dir := t.TempDir()
		if err := printlog.KeepPrinter(dir, p); problem.KindOf(err) != problem.Usage {
			t.Errorf("%s: error %v, want kind %v", name, err, problem.Usage)
		}
		if files, _ := os.ReadDir(dir); len(files) != 0 {
			t.Errorf("%s: a file was written", name)
		}
	}
}

func TestDamagedPrintersAreNamedAndKept(t *testing.T) {
	for _, text := range []string{`{"format":1,"printers":[{"name":"x"`, `{"format":9}`, `{"format":1,"printers":[{"name":"x"}]}`} {
		dir := t.TempDir()
		path := filepath.Join(dir, printlog.PrintersFileName)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := printlog.KeepPrinter(dir, printlog.Printer{Name: "studio", Along: 1, Across: 1}); problem.KindOf(err) != problem.FileAccess {
			t.Errorf("%s: error %v, want kind %v", text, err, problem.FileAccess)
		}
		if kept, _ := os.ReadFile(path); string(kept) != text {
			t.Errorf("%s: the file was changed", text)
		}
	}
}
