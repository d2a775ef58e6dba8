package cli

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"fairedge/internal/card"
	"fairedge/internal/job"
	"fairedge/internal/problem"
	"fairedge/internal/safefile"

	"github.com/spf13/cobra"
)

func newCardsCommand(env Environment) *cobra.Command {
	var paper, out, printer string
	var force bool
	cmd := &cobra.Command{
		Use:   "cards --paper a4|letter --out FILE",
		Short: "Write the scale cards to print",
		Long: `Writes the scale cards as a PDF of two pages. Page 1 holds four loose cards to
lay around the template. Page 2 is one frame card to lie inside the outline; use
either page, or both.

Print at 100 % ("actual size", never "fit to page"). Then lay a ruler on the two
long bars, along and across, and tell fairedge what it reads: see
"fairedge print-check --help". Only then cut the loose cards apart.`,
		Example: `  fairedge cards --paper a4 --out cards.pdf
  fairedge cards --paper letter`,
		Args: exactly(0, "only flags"),
		RunE: func(*cobra.Command, []string) error {
			return writeCards(env, paper, out, printer, force)
		},
	}
	cmd.Flags().StringVar(&paper, "paper", "a4", "paper to print on: a4 or letter")
	cmd.Flags().StringVar(&printer, "printer", "", "correct for this printer: see fairedge printer --help")
	cmd.Flags().StringVar(&out, "out", "", "file to write (default scale-cards-PAPER.pdf)")
	cmd.Flags().BoolVar(&force, "force", false, "replace the file if it is there")
	return cmd
}

func writeCards(env Environment, paperName, out, printerName string, force bool) error {
	paper, err := paperNamed(paperName)
	if err != nil {
		return err
	}
	printer, err := printerNamed(env, printerName)
	if err != nil {
		return err
	}
	if out == "" {
		out = "scale-cards-" + strings.ToLower(paper.String()) + ".pdf"
	}
	var pdf bytes.Buffer
	if err := job.WriteCards(&pdf, paper, printer, "fairedge "+Version); err != nil {
		return err
	}
	if err := safefile.WriteFile(out, pdf.Bytes(), existing(force)); err != nil {
		return err
	}
	fmt.Fprintf(env.Out, `Wrote %s: page 1 four loose cards, page 2 the frame card.

Next: print at 100 %% (no "fit to page"), lay a ruler on both long bars, and type
what it reads:
  fairedge print-check --paper %s --along 180.0mm --across 180.0mm
`, filepath.ToSlash(out), strings.ToLower(paper.String()))
	return nil
}

// paperNamed reads the name of a paper.
func paperNamed(name string) (card.Paper, error) {
	for _, p := range []card.Paper{card.A4, card.Letter} {
		if strings.EqualFold(name, p.String()) {
			return p, nil
		}
	}
	return 0, problem.Newf(problem.Usage, "use a4 or letter", "there is no paper %q", name)
}

func existing(force bool) safefile.Existing {
	if force {
		return safefile.Replace
	}
	return safefile.Refuse
}
