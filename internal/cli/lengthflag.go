package cli

import "fairedge/internal/length"

// lengthFlag is a flag that reads a length in mm or inches; Given tells 0 from
// not said.
type lengthFlag struct {
	Length length.Length
	Given  bool
}

// Set reads the flag's text.
func (f *lengthFlag) Set(text string) error {
	l, err := length.Parse(text)
	if err != nil {
		return err
	}
	f.Length, f.Given = l, true
	return nil
}

// String returns the flag's default for the help text.
func (f *lengthFlag) String() string {
	if f == nil || (f.Length == 0 && !f.Given) {
		return ""
	}
	return f.Length.Metric()
}

// Type names the flag's value in the help text.
func (f *lengthFlag) Type() string { return "length" }
