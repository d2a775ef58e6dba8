// Package printlog keeps what rulers read off printed scale cards: one small JSON
// file, to which records are only ever added.
package printlog

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"time"

	"fairedge/internal/card"
	"fairedge/internal/length"
	"fairedge/internal/problem"
	"fairedge/internal/safefile"
)

// FileName is the name of the file inside the data folder.
const FileName = "prints.json"

// format is the version of the file. A reader refuses a higher one and reads every
// lower one.
const format = 1

// Bar is the nominal length of the two bars printed on every sheet of cards.
const Bar = 180 * length.Millimetre

// Record is one ruler reading of one print, as stored.
type Record struct {
	Name     string    `json:"name,omitempty"` // given by the person: a printer, a stack of cards
	Paper    string    `json:"paper"`          // "A4" or "Letter"
	Sheet    string    `json:"sheet"`          // "loose" or "frame"
	BarMM    float64   `json:"bar_mm"`         // nominal length of the bars
	AlongMM  float64   `json:"along_mm"`       // what the ruler read along the sheet
	AcrossMM float64   `json:"across_mm"`      // and across it
	ReadToMM float64   `json:"read_to_mm"`     // each reading is right to ± this
	Measured time.Time `json:"measured"`
}

type file struct {
	Format int      `json:"format"`
	Prints []Record `json:"prints"`
}

// The limits of a reading that can be true: beyond 15 % the sheet was scaled on
// purpose or the ruler was read in the wrong unit. The largest scaling that
// printing by accident brings is 0.75 to 1.33 (a mix-up of 72 and 96 dots per
// inch), which is a mistake to mend, not to record.
const (
	leastRatio    = 0.85
	greatestRatio = 1.15
)

// Check returns a sentence of what is wrong with the record, or nil.
func (r Record) Check() error {
	for _, reading := range []struct {
		name string
		mm   float64
	}{{"along", r.AlongMM}, {"across", r.AcrossMM}} {
		if ratio := reading.mm / r.BarMM; !(ratio >= leastRatio && ratio <= greatestRatio) {
			return problem.Newf(problem.Usage,
				"read the bar from its first to its last line, in mm or inches, and print again at 100 % if it is true",
				"the %s bar cannot read %.1f mm when it should read %.0f mm", reading.name, reading.mm, r.BarMM)
		}
	}
	if !(r.ReadToMM >= 0.02 && r.ReadToMM <= 2) {
		return problem.Newf(problem.Usage, "give it between 0.02 and 2 mm: half a millimetre division is 0.25mm",
			"a ruler cannot be read to %.3g mm", r.ReadToMM)
	}
	return nil
}

// Print returns the record in the form that measuring uses.
func (r Record) Print() (card.Print, error) {
	p := card.Print{IsFrame: r.Sheet == "frame", Measured: r.Measured}
	switch r.Paper {
	case card.A4.String():
		p.Paper = card.A4
	case card.Letter.String():
		p.Paper = card.Letter
	default:
		return card.Print{}, fmt.Errorf("unknown paper %q", r.Paper)
	}
	p.Along = card.RatioFromRuler(r.AlongMM, r.BarMM, r.ReadToMM)
	p.Across = card.RatioFromRuler(r.AcrossMM, r.BarMM, r.ReadToMM)
	return p, nil
}

// Read returns the records in the data folder, oldest first. A missing file holds
// none.
func Read(dataFolder string) ([]Record, error) {
	path := filepath.Join(dataFolder, FileName)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, problem.New(problem.FileAccess, fmt.Sprintf("could not read %s", path),
			"check its permissions").Because(err)
	}
	return parse(data, path)
}

func parse(data []byte, path string) ([]Record, error) {
	damaged := func(cause error) error {
		return problem.New(problem.FileAccess, fmt.Sprintf("the print records in %s cannot be understood (%v)", path, cause),
			"move the file away, then measure the print again").Because(cause)
	}
	var f file
	if err := json.Unmarshal(data, &f); err != nil {
		return nil, damaged(err)
	}
	if f.Format > format {
		return nil, problem.Newf(problem.FileAccess, "use that version to read it",
			"%s was written by a newer version of fairedge (format %d)", path, f.Format)
	}
	for i, r := range f.Prints {
		if math.IsNaN(r.BarMM) || r.BarMM <= 0 {
			return nil, damaged(fmt.Errorf("record %d has no bar length", i+1))
		}
		if err := r.Check(); err != nil {
			return nil, damaged(fmt.Errorf("record %d: %w", i+1, err))
		}
		if _, err := r.Print(); err != nil {
			return nil, damaged(fmt.Errorf("record %d: %w", i+1, err))
		}
	}
	return f.Prints, nil
}

// Add appends a record to those in the data folder. The old file stays whole until
// the new one is complete.
func Add(dataFolder string, r Record) error {
	if err := r.Check(); err != nil {
		return err
	}
	records, err := Read(dataFolder)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetIndent("", "  ")
	if err := encoder.Encode(file{format, append(records, r)}); err != nil {
		return fmt.Errorf("encoding the print records: %w", err)
	}
	return safefile.WriteFile(filepath.Join(dataFolder, FileName), out.Bytes(), safefile.Replace)
}

// Latest returns the newest print of each sheet among the records, in the order
// A4 loose, A4 frame, Letter loose, Letter frame. When name is not empty only
// records of that name count, and an unknown name is an error.
func Latest(records []Record, name string) ([]card.Print, error) {
	var prints []card.Print
	known := false
	for _, paper := range []card.Paper{card.A4, card.Letter} {
		for _, sheet := range []string{"loose", "frame"} {
			newest := -1
			for i, r := range records {
				if name != "" && r.Name != name {
					continue
				}
				known = true
				if r.Paper == paper.String() && r.Sheet == sheet && (newest < 0 || !r.Measured.Before(records[newest].Measured)) {
					newest = i
				}
			}
			if newest < 0 {
				continue
			}
			p, err := records[newest].Print()
			if err != nil {
				return nil, err
			}
			prints = append(prints, p)
		}
	}
	if name != "" && !known {
		return nil, problem.Newf(problem.Usage, `record it first: fairedge print-check --name "`+name+`" ...`,
			"there is no print record named %q", name)
	}
	return prints, nil
}
