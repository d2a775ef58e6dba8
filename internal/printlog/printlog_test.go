package printlog_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairedge/internal/card"
	"fairedge/internal/printlog"
	"fairedge/internal/problem"

	"github.com/google/go-cmp/cmp"
)

func record(along, across float64, day int) printlog.Record {
	return printlog.Record{
		Paper: "A4", Sheet: "loose", BarMM: 180, AlongMM: along, AcrossMM: across, ReadToMM: 0.25,
		Measured: time.Date(2026, 3, day, 9, 0, 0, 0, time.UTC),
	}
}

func TestRecordsComeBackAsTheyWereAdded(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "not", "there", "yet")
	want := []printlog.Record{record(179.6, 179.8, 1), record(180.2, 180.1, 2)}
	for _, r := range want {
		if err := printlog.Add(dir, r); err != nil {
			t.Fatal(err)
		}
	}
	got, err := printlog.Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("records (-want +got):\n%s", diff)
	}
}

func TestLatestTakesTheNewestWhateverTheOrder(t *testing.T) {
	records := []printlog.Record{record(179, 179, 5), record(180, 180, 9), record(178, 178, 1)}
	got, err := printlog.Latest(records, "")
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 1 || got[0].Along.Value != 1 || !got[0].IsMeasured() || !got[0].Covers(card.ID{Edition: 1, Paper: card.A4, Number: 3}) {
		t.Errorf("Latest = %+v, want the A4 loose print read on the 9th (180 of 180 mm)", got)
	}
}

// A reading right to ±a, evenly probable, has the standard uncertainty a/√3
// (JCGM 100:2008, 4.3.7): 0.25 mm on 180 mm gives 0.0008019.
func TestUncertaintyOfAReading(t *testing.T) {
	p, err := record(179.1, 180, 1).Print()
	if err != nil {
		t.Fatal(err)
	}
	if want := 179.1 / 180; math.Abs(p.Along.Value-want) > 1e-12 {
		t.Errorf("along = %v, want %v", p.Along.Value, want)
	}
	if want := 0.25 / 180 / math.Sqrt(3); math.Abs(p.Across.Uncertainty-want) > 1e-12 {
		t.Errorf("uncertainty = %v, want %v", p.Across.Uncertainty, want)
	}
}

func TestReadingsThatCannotBeTrueAreRefused(t *testing.T) {
	for name, r := range map[string]printlog.Record{
		"inches typed as mm": record(7.09, 7.09, 1),
		"dpi mix-up":         record(135, 135, 1), // 72/96 of 180
		"nothing":            record(0, 180, 1),
		"not a number":       record(math.NaN(), 180, 1),
	} {
		err := printlog.Add(t.TempDir(), r)
		if problem.KindOf(err) != problem.Usage {
			t.Errorf("%s: error = %v, want kind %v", name, err, problem.Usage)
		}
	}
}

func TestDamagedFileIsNamedAndKept(t *testing.T) {
	for name, text := range map[string]string{
		"cut off":      `{"format":1,"prints":[{"paper":"A4"`,
		"newer":        `{"format":99,"prints":[]}`,
		"no bar":       `{"format":1,"prints":[{"paper":"A4","sheet":"loose"}]}`,
		"no paper":     `{"format":1,"prints":[{"bar_mm":180,"along_mm":180,"across_mm":180,"read_to_mm":0.2}]}`,
		"not our file": `hello`,
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, printlog.FileName)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		err := printlog.Add(dir, record(180, 180, 1))
		if problem.KindOf(err) != problem.FileAccess || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: error = %v, want one that names %s", name, err, path)
		}
		if kept, _ := os.ReadFile(path); string(kept) != text {
			t.Errorf("%s: the file was changed", name)
		}
	}
}

func TestUnknownNameIsAnError(t *testing.T) {
	_, err := printlog.Latest([]printlog.Record{record(180, 180, 1)}, "blue stack")
	if problem.KindOf(err) != problem.Usage {
		t.Errorf("error = %v, want kind %v", err, problem.Usage)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(`{"format":1,"prints":[{"paper":"A4","sheet":"loose","bar_mm":180,"along_mm":180,"across_mm":180,"read_to_mm":0.2}]}`))
	f.Add([]byte(`{"format":1}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, printlog.FileName), data, 0o600); err != nil {
			t.Fatal(err)
		}
		records, err := printlog.Read(dir)
		if err != nil {
			return
		}
		if _, err := printlog.Latest(records, ""); err != nil {
			t.Errorf("records that were read cannot be used: %v", err)
		}
	})
}
