package cli

import (
	"strings"

	"fairedge/internal/job"
	"fairedge/internal/length"

	"github.com/spf13/cobra"
)

// pageFlags say how pages to tape together are made.
type pageFlags struct {
	paper, printer  string
	margin, overlap lengthFlag
}

func (f *pageFlags) register(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.paper, "paper", "any", "pages to tape together: any (fits A4 and Letter), a4, letter, a3 to a0, legal, tabloid, ansi-c to ansi-e, 300x450mm, roll-610mm, or none")
	flags.StringVar(&f.printer, "printer", "", "correct the pages for this printer: see fairedge printer --help")
	flags.Var(&f.margin, "margin", "kept free on every side of a page (default 10 mm; 1/4 in on \"any\")")
	flags.Var(&f.overlap, "overlap", "what neighbouring pages show alike (default 10 mm)")
}

func (f *pageFlags) printing(env Environment) (job.Printing, error) {
	given := func(l *lengthFlag) *length.Length {
		if !l.Given {
			return nil
		}
		return &l.Length
	}
	p, err := job.PrintingOn(strings.ToLower(f.paper), given(&f.margin), given(&f.overlap))
	if err != nil {
		return p, err
	}
	p.Printer, err = printerNamed(env, f.printer)
	return p, err
}
