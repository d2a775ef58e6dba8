// Package printlog keeps what rulers read off printed scale cards: one small JSON
// file, to which records are only ever added.
package printlog

import (
	"errors"
	"fmt"
	"math"
	"time"

	"fairedge/internal/card"
	"fairedge/internal/length"
	"fairedge/internal/problem"
	"fairedge/internal/recordfile"
)

// FileName is the name of the file inside the data folder.
const FileName = "prints.json"

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

func kind() recordfile.Kind[Record] {
	return recordfile.Kind[Record]{
		FileName: FileName, List: "prints", Says: "the print records", Again: "measure the print again",
		Check: Record.checkStored,
	}
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

func (r Record) checkStored() error {
	if math.IsNaN(r.BarMM) || r.BarMM <= 0 {
		return errors.New("has no bar length")
	}
	if err := r.Check(); err != nil {
		return err
	}
	_, err := r.Print()
	return err
}

// Read returns the records in the data folder, oldest first. A missing file holds
// none.
func Read(dataFolder string) ([]Record, error) { return kind().Read(dataFolder) }

// Add appends a record to those in the data folder. The old file stays whole until
// the new one is complete.
func Add(dataFolder string, r Record) error {
	if err := r.Check(); err != nil {
		return err
	}
	return kind().Add(dataFolder, r)
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
