package printlog

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fairedge/internal/problem"
	"fairedge/internal/safefile"
)

// PrintersFileName is the name of the file of printers inside the data folder.
const PrintersFileName = "printers.json"

// Printer is what a printer does to lengths: true over nominal, along and across the
// upright paper.
type Printer struct {
	Name     string    `json:"name"`
	Along    float64   `json:"along_over_nominal"`
	Across   float64   `json:"across_over_nominal"`
	Measured time.Time `json:"measured"`
}

// mostCorrection is the greatest fault of a printer that is corrected. Office printers
// and copiers are within 1 %, the worst within 2; more is a print setting, and
// correcting that would go wrong on the day when it is put right.
const mostCorrection = 0.02

// Check returns a sentence of what is wrong with the printer's record, or nil.
func (p Printer) Check() error {
	if name := strings.TrimSpace(p.Name); name == "" || len(name) > 60 || strings.ContainsAny(name, "\n\r\t") {
		return problem.New(problem.Usage, "a printer needs a name", "use a word or two, like studio")
	}
	for _, reading := range []struct {
		name  string
		ratio float64
	}{{"along", p.Along}, {"across", p.Across}} {
		if off := reading.ratio - 1; !(off >= -mostCorrection && off <= mostCorrection) {
			return problem.Newf(problem.Usage, "print again at 100 % and read both bars from their first to their last line",
				"a print that is %+.1f %% off %s is not the printer's own fault and is not corrected", 100*off, reading.name)
		}
	}
	return nil
}

type printersFile struct {
	Format   int       `json:"format"`
	Printers []Printer `json:"printers"`
}

// Printers returns the printers on record, in the order in which they were first
// recorded. A missing file holds none.
func Printers(dataFolder string) ([]Printer, error) {
	path := filepath.Join(dataFolder, PrintersFileName)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, problem.New(problem.FileAccess, "could not read "+path, "check its permissions").Because(err)
	}
	var f printersFile
	if err := json.Unmarshal(data, &f); err != nil {
		return nil, problem.Newf(problem.FileAccess, "move the file away, then measure the printer again",
			"the printers in %s cannot be understood", path).Because(err)
	}
	if f.Format > format {
		return nil, problem.Newf(problem.FileAccess, "use that version to read it",
			"%s was written by a newer version of fairedge (format %d)", path, f.Format)
	}
	for i, p := range f.Printers {
		if err := p.Check(); err != nil {
			return nil, problem.Newf(problem.FileAccess, "move the file away, then measure the printer again",
				"printer %d in %s cannot be used", i+1, path).Because(err)
		}
	}
	return f.Printers, nil
}

// PrinterNamed returns the printer of that name.
func PrinterNamed(dataFolder, name string) (Printer, error) {
	printers, err := Printers(dataFolder)
	if err != nil {
		return Printer{}, err
	}
	for _, p := range printers {
		if p.Name == name {
			return p, nil
		}
	}
	return Printer{}, problem.Newf(problem.Usage, fmt.Sprintf("record it first: fairedge printer %q --along READING --across READING", name),
		"there is no printer named %q", name)
}

// KeepPrinter puts a printer on record, in place of an older one of its name. The old
// file stays whole until the new one is complete.
func KeepPrinter(dataFolder string, p Printer) error {
	if err := p.Check(); err != nil {
		return err
	}
	printers, err := Printers(dataFolder)
	if err != nil {
		return err
	}
	replaced := false
	for i := range printers {
		if printers[i].Name == p.Name {
			printers[i], replaced = p, true
		}
	}
	if !replaced {
		printers = append(printers, p)
	}
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetIndent("", "  ")
	if err := encoder.Encode(printersFile{format, printers}); err != nil {
		return fmt.Errorf("encoding the printers: %w", err)
	}
	return safefile.WriteFile(filepath.Join(dataFolder, PrintersFileName), out.Bytes(), safefile.Replace)
}
