package job

import (
	"fmt"
	"math"
	"slices"

	"fairedge/internal/length"
	"fairedge/internal/measure"
	"fairedge/internal/problem"
)

// mostAdvice is how many pieces of advice a person is given at once.
const mostAdvice = 3

// coach works out what would make the photo better.
func (m *Measured) coach() (err error) {
	m.Advice, err = m.Calibration.Advise(m.budgetOutline(), m.Budget, measure.DefaultAdviceParams())
	if m.Tape != nil { // who has a tape that disagrees needs no second one
		m.Advice = slices.DeleteFunc(m.Advice, func(a measure.Advice) bool { return a.Kind == measure.TapeSize })
	}
	if class := measure.ClassOf(m.Photo.Lens); class == measure.CroppedPicture || class == measure.PhoneZoomed {
		// A profile is of whole pictures without zoom.
		m.Advice = slices.DeleteFunc(m.Advice, func(a measure.Advice) bool { return a.Kind == measure.TeachLens })
	}
	return err
}

// adviceLines are what a person reads: at most three, the greatest gain first.
func adviceLines(m *Measured) []string {
	var lines []string
	for i, a := range m.Advice {
		if i == mostAdvice {
			break
		}
		lines = append(lines, fmt.Sprintf("To do better: %s (%swithin %.1f mm instead of %.1f).", adviceWords(a), m.adviceIsAbout(), up(a.Within), up(m.withinAlone())))
	}
	return lines
}

// adviceIsAbout says, when there are several photos, which one the numbers are of: advice
// is worked out for one photo.
func (m *Measured) adviceIsAbout() string {
	if m.Several == nil {
		return ""
	}
	return fmt.Sprintf("photo %d by itself: ", m.Several.Best)
}

// withinAlone is how exactly the photo that the advice is about shows the outline.
func (m *Measured) withinAlone() float64 {
	if m.Several == nil {
		return m.Budget.Within
	}
	return m.Several.Photos[m.Several.Best-1].Within
}

// adviceWords says what to do.
func adviceWords(a measure.Advice) string {
	switch a.Kind {
	case measure.StandBack:
		return fmt.Sprintf("stand back, %.1f m from the template instead of %.1f, and do not zoom", a.To/1000, a.From/1000)
	case measure.HoldLevel:
		return fmt.Sprintf("hold the phone level over the middle; it was tilted by %.0f°", a.From*180/math.Pi)
	case measure.AddCard:
		return "lay another card opposite " + a.Card + ", on the other side of the template"
	case measure.CardInside:
		return "lay a card inside the outline"
	case measure.FlattenCards:
		return fmt.Sprintf("tape the cards down flat; %s rises or dips by about %.1f mm", a.Card, a.From)
	case measure.WeightTemplate:
		return "weight the template down so that its edge lies flat"
	case measure.TeachLens:
		return "teach the program your phone's lens, once, with 6 to 15 photos of the cards (fairedge lens)"
	case measure.MeasurePrint:
		return "lay a ruler on the bars of the cards' sheet and run fairedge print-check"
	}
	return fmt.Sprintf("measure the template's %s with a tape and add --taped %s=...mm", a.Size, a.Size)
}

// adviceName returns the stable name of a kind of advice in the JSON document.
func adviceName(kind measure.Advised) string {
	return [...]string{"stand-back", "hold-level", "add-card", "card-inside", "flatten-cards",
		"weight-template", "measure-print", "tape-size", "teach-lens"}[kind]
}

// Reaches returns nil when the outline is as accurate as was asked for, all round
// 19 times out of 20, and otherwise an error that says what would help.
func Reaches(m *Measured, asked length.Length) error {
	if asked == 0 || m.Budget.Within <= asked.Millimetres() {
		return nil
	}
	remedy := "take it again with more cards, all flat"
	if len(m.Advice) > 0 {
		best := m.Advice[0]
		remedy = fmt.Sprintf("%s (%sthen within %.1f mm)", adviceWords(best), m.adviceIsAbout(), up(best.Within))
		if best.Within > asked.Millimetres() {
			remedy += "; that alone does not reach it"
		}
	}
	return problem.Newf(problem.NotAccurateEnough, remedy,
		"the outline is within %.1f mm all round, not the %.1f mm asked for (the files are written all the same)",
		up(m.Budget.Within), asked.Millimetres())
}
