package job

import (
	"fmt"
	"math"

	"fairedge/internal/length"
	"fairedge/internal/measure"
	"fairedge/internal/uncertainty"
)

// TapedLength is a size of the template as somebody read it off a tape: right to
// plus or minus Bound.
type TapedLength struct {
	Size  measure.TapedSize
	Value length.Length
	Bound length.Length
}

// Tape is the taped sizes beside the photo's.
type Tape struct {
	Checks   []measure.TapeCheck
	Bounds   []length.Length   // of each tape, as told
	Used     bool              // they agree, and the outline follows both
	Suspects []measure.Suspect // when they do not: what would explain it
}

// compareTape lets the tape into the measurement when it agrees with the photo;
// otherwise the photo's own result stays, with what may be wrong.
func (m *Measured) compareTape(reading Reading) error {
	outline := m.budgetOutline()
	taped := make([]measure.Taped, len(reading.Taped))
	tape := &Tape{}
	for i, t := range reading.Taped {
		seen := []length.Length{m.Shape.Size.Width, m.Shape.Size.Depth}[t.Size]
		taped[i] = measure.Taped{Size: t.Size, Value: t.Value.Millimetres(),
			Sigma: uncertainty.Rectangular(t.Bound.Millimetres()), Seen: seen.Millimetres()}
		tape.Bounds = append(tape.Bounds, t.Bound)
	}
	var err error
	if tape.Checks, err = m.Calibration.CheckTaped(outline, taped); err != nil {
		return err
	}
	m.Tape = tape
	tape.Used = true
	for _, check := range tape.Checks {
		tape.Used = tape.Used && check.Agrees()
	}
	if !tape.Used {
		tape.Suspects, err = m.Calibration.Suspects(outline, taped)
		return err
	}
	if m.Calibration, err = m.Calibration.WithTaped(outline, taped); err != nil {
		return err
	}
	m.Traced = m.Calibration.Trace(m.Edge, reading.Side)
	return m.fairOutline(reading)
}

// sizeIsChecked reports whether a tape has confirmed the size.
func (m *Measured) sizeIsChecked() bool { return m.Tape != nil && m.Tape.Used }

// tapeWords says in one sentence each what came of the tape, when it was used.
func (m *Measured) tapeWords() []string {
	if !m.sizeIsChecked() {
		return nil
	}
	var words []string
	for _, c := range m.Tape.Checks {
		words = append(words, fmt.Sprintf("Tape: the %s of %.1f mm agrees with the photo's %.1f mm (±%.1f mm); the outline follows both.",
			c.Size, c.Value, c.Seen, up(2*c.SeenSigma)))
	}
	return words
}

// tapeWarnings says what disagrees, and what would explain it.
func (m *Measured) tapeWarnings() []string {
	if m.Tape == nil || m.Tape.Used {
		return nil
	}
	what := "tape and photo disagree: "
	for i, c := range m.Tape.Checks {
		if i > 0 {
			what += ", "
		}
		what += fmt.Sprintf("%s %.1f mm by tape, %.1f mm (±%.1f mm) by photo", c.Size, c.Value, c.Seen, up(2*c.SeenSigma))
	}
	what += "; the photo's own size was kept, so find out which is wrong before cutting"
	if len(m.Tape.Suspects) == 0 {
		return []string{what + ". No single mistake explains it: measure again"}
	}
	warnings := []string{what}
	for i, s := range m.Tape.Suspects {
		lead := "it would fit if "
		if i > 0 {
			lead = "or if "
		}
		warnings = append(warnings, lead+m.suspectWords(s))
	}
	return warnings
}

// suspectWords says what a mistake is and how to find out, after "if".
func (m *Measured) suspectWords(s measure.Suspect) string {
	switch s.Cause {
	case measure.WrongPrint:
		way, amount := "larger", 100*s.Amount
		if amount < 0 {
			way, amount = "smaller", -amount
		}
		words := fmt.Sprintf("the cards are printed %.1f %% %s than the program believes", amount, way)
		if s.Measured {
			return words + ", although a ruler was laid on that print: are these the cards that were measured?"
		}
		return words + ": lay a ruler on the bars and run fairedge print-check"
	case measure.WrongHeight:
		way := "higher over the cards"
		if s.Amount < 0 {
			way = "lower under the cards"
		}
		told := m.TemplateHeight.Millimetres() + s.Amount
		return fmt.Sprintf("the template lies %.0f mm %s than you said: if so, add --template-height %.0fmm", math.Abs(s.Amount), way, told)
	}
	check := m.Tape.Checks[s.Tape]
	if s.SeenOther {
		return fmt.Sprintf("width and depth are mixed up: %.1f mm is the other size (the width runs along the back)", check.Value)
	}
	way := "much"
	if s.Amount < 0 {
		way = "little"
	}
	return fmt.Sprintf("the tape for the %s was not laid between the farthest points, along or square to the back, or was misread: it says %.1f mm too %s",
		check.Size, math.Abs(s.Amount), way)
}
