package job

import "fairedge/internal/measure"

// TapeReport is what a tape said beside the photo.
type TapeReport struct {
	Used     bool              `json:"used"` // false: they disagree, and the photo's own result stands
	Sizes    []TapedSizeReport `json:"sizes"`
	Suspects []SuspectReport   `json:"suspects"`
}

// TapedSizeReport is one taped size. They agree when neither En is beyond ±1.
type TapedSizeReport struct {
	Size     string  `json:"size"`
	Taped    float64 `json:"taped"`
	Bound    float64 `json:"right_to"`
	Photo    float64 `json:"photo"`
	PhotoU   float64 `json:"photo_U"`
	En       float64 `json:"normalised_error"`
	EnOthers float64 `json:"normalised_error_given_other_tapes"`
}

// SuspectReport is a mistake that would make tape and photo agree.
type SuspectReport struct {
	Cause  string  `json:"cause"` // print, height or tape
	Amount float64 `json:"amount"`
	Words  string  `json:"words"`
}

// AdviceReport is one change that would make the photo better.
type AdviceReport struct {
	Do     string  `json:"do"`
	Words  string  `json:"words"`
	Gain   float64 `json:"gain"`
	Within float64 `json:"within"`
}

func tapeReport(m *Measured) *TapeReport {
	if m.Tape == nil {
		return nil
	}
	r := &TapeReport{Used: m.Tape.Used, Suspects: []SuspectReport{}}
	for i, c := range m.Tape.Checks {
		r.Sizes = append(r.Sizes, TapedSizeReport{
			Size: c.Size.String(), Taped: round3(c.Value), Bound: round3(m.Tape.Bounds[i].Millimetres()),
			Photo: round3(c.Seen), PhotoU: round3(2 * c.SeenSigma), En: round3(c.En), EnOthers: round3(c.EnOthers),
		})
	}
	for _, s := range m.Tape.Suspects {
		r.Suspects = append(r.Suspects, SuspectReport{suspectName(s.Cause), round6(s.Amount), m.suspectWords(s)})
	}
	return r
}

// suspectName returns a cause's stable name.
func suspectName(c measure.Cause) string { return [...]string{"print", "height", "tape"}[c] }

func adviceReports(m *Measured) []AdviceReport {
	out := []AdviceReport{}
	for _, a := range m.Advice {
		out = append(out, AdviceReport{adviceName(a.Kind), adviceWords(a), round3(a.Gain), round3(a.Within)})
	}
	return out
}
