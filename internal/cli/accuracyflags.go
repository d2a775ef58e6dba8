package cli

import (
	"fmt"
	"strings"

	"fairedge/internal/job"
	"fairedge/internal/length"
	"fairedge/internal/measure"
	"fairedge/internal/problem"

	"github.com/spf13/cobra"
)

// accuracyFlags are the flags of "fairedge cut" about how sure the outline is.
type accuracyFlags struct {
	budget bool
	taped  tapedFlag
	ask    lengthFlag
}

func (f *accuracyFlags) add(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&f.budget, "budget", false, "say where the uncertainty comes from, and draw the 95 % band in the pictures")
	cmd.Flags().Var(&f.taped, "taped", "a size that you taped: width=415mm or depth=16.5in+-1mm; may be repeated")
	cmd.Flags().Var(&f.ask, "ask", "the accuracy you need all round; exit code 41 when the photo does not reach it")
}

// The range of what is believed of a tape: a seat is 50 mm to 3 m, and a tape that
// is right to worse than 20 mm says nothing.
const (
	leastTaped       = 50 * length.Millimetre
	greatestTaped    = 3 * length.Metre
	greatestTapeSlip = 20 * length.Millimetre
	usualTapeSlip    = 0.5 * length.Millimetre
)

// into adds what was asked and taped to the reading.
func (f accuracyFlags) into(r *job.Reading) error {
	if f.ask.Given && !(f.ask.Length > 0) {
		return problem.Newf(problem.Usage, "ask for a length above nought, say 1mm", "--ask cannot be %s", f.ask.Length)
	}
	r.Ask, r.Taped = f.ask.Length, f.taped
	return nil
}

// tapedFlag is a flag that reads taped sizes, one at a time.
type tapedFlag []job.TapedLength

// Set reads one more size.
func (f *tapedFlag) Set(text string) error {
	t, err := tapedLength(text)
	if err == nil {
		*f = append(*f, t)
	}
	return err
}

// String is the flag's default for the help text: none.
func (f *tapedFlag) String() string { return "" }

// Type names the flag's value in the help text.
func (f *tapedFlag) Type() string { return "size=length" }

// tapedLength reads "width=415mm", "depth=16 1/2in+-1mm".
func tapedLength(text string) (job.TapedLength, error) {
	unreadable := func(why string) error {
		return fmt.Errorf("it %s; write it like width=415mm or depth=410mm+-1mm", why)
	}
	name, rest, found := strings.Cut(text, "=")
	size, known := map[string]measure.TapedSize{"width": measure.TapedWidth, "depth": measure.TapedDepth}[strings.ToLower(strings.TrimSpace(name))]
	if !found || !known {
		return job.TapedLength{}, unreadable("names no size")
	}
	t := job.TapedLength{Size: size, Bound: usualTapeSlip}
	value, slip, hasSlip := strings.Cut(strings.NewReplacer("±", "+-", "+/-", "+-").Replace(rest), "+-")
	var err error
	if t.Value, err = length.Parse(value); err != nil {
		return t, unreadable("has no length")
	}
	if hasSlip {
		if t.Bound, err = length.Parse(slip); err != nil {
			return t, unreadable("has no length after +-")
		}
	}
	if t.Value < leastTaped || t.Value > greatestTaped {
		return t, unreadable("is no size of a seat")
	}
	if !(t.Bound > 0) || t.Bound > greatestTapeSlip {
		return t, unreadable("must be right to more than 0 and at most 20 mm")
	}
	return t, nil
}
