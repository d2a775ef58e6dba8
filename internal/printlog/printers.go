package printlog

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fairedge/internal/problem"
	"fairedge/internal/recordfile"
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

func printers() recordfile.Kind[Printer] {
	return recordfile.Kind[Printer]{
		FileName: PrintersFileName, List: "printers", Says: "the printers", Again: "measure the printer again",
		Check: Printer.Check,
	}
}

// Printers returns the printers on record as they were last measured, in the order in
// which they were first recorded. A missing file holds none.
func Printers(dataFolder string) ([]Printer, error) {
	measured, err := printers().Read(dataFolder)
	if err != nil {
		return nil, err
	}
	var latest []Printer
	for _, p := range measured {
		same := func(q Printer) bool { return q.Name == p.Name }
		if i := slices.IndexFunc(latest, same); i >= 0 {
			latest[i] = p
		} else {
			latest = append(latest, p)
		}
	}
	return latest, nil
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

// KeepPrinter puts a measurement of a printer on record. Earlier ones of its name stay
// in the file; the last one counts.
func KeepPrinter(dataFolder string, p Printer) error {
	if err := p.Check(); err != nil {
		return err
	}
	return printers().Add(dataFolder, p)
}
