package cli

import (
	"fmt"
	"strings"

	"fairedge/internal/length"
	"fairedge/internal/printlog"
	"fairedge/internal/problem"

	"github.com/spf13/cobra"
)

type printCheckFlags struct {
	paper, sheet, name    string
	along, across, readTo lengthFlag
}

func newPrintCheckCommand(env Environment) *cobra.Command {
	flags := printCheckFlags{readTo: lengthFlag{Length: 0.25 * length.Millimetre}}
	cmd := &cobra.Command{
		Use:   "print-check --paper a4|letter --along LENGTH --across LENGTH",
		Short: "Record what a ruler reads on the printed cards",
		Long: `Records how long the two bars on a printed sheet of cards really are. Each should
read 180.0 mm (7 3/32 in) from its first line to its last. Every printer is a
little off, and not alike along and across; a photo cannot tell.

The newest record of a sheet is used for every later photo of its cards. Without
one a result carries the ±0.5 % of a home print that nobody measured.`,
		Example: `  fairedge print-check --paper a4 --along 179.6mm --across 179.8mm
  fairedge print-check --paper letter --sheet frame --along "7 1/16in" --across "7 3/32in" --read-to 1/32in`,
		Args: exactly(0, "only flags"),
		RunE: func(*cobra.Command, []string) error { return recordPrint(env, flags) },
	}
	cmd.Flags().StringVar(&flags.paper, "paper", "a4", "paper the cards are on: a4 or letter")
	cmd.Flags().StringVar(&flags.sheet, "sheet", "loose", "which page was read: loose or frame")
	cmd.Flags().Var(&flags.along, "along", "what the ruler reads on the bar along the sheet")
	cmd.Flags().Var(&flags.across, "across", "what it reads on the bar across the sheet")
	cmd.Flags().Var(&flags.readTo, "read-to", "each reading is right to plus or minus this")
	cmd.Flags().StringVar(&flags.name, "name", "", "name of this print, if you keep several stacks of cards")
	return cmd
}

func recordPrint(env Environment, flags printCheckFlags) error {
	paper, err := paperNamed(flags.paper)
	if err != nil {
		return err
	}
	sheet := strings.ToLower(flags.sheet)
	if sheet != "loose" && sheet != "frame" {
		return problem.Newf(problem.Usage, "use loose (page 1) or frame (page 2)", "there is no sheet %q", flags.sheet)
	}
	if !flags.along.Given || !flags.across.Given {
		return problem.New(problem.Usage, "both bars must be read", "give --along and --across, like --along 179.6mm --across 179.8mm")
	}
	folder, err := env.dataFolder()
	if err != nil {
		return err
	}
	now, err := env.today()
	if err != nil {
		return err
	}
	r := printlog.Record{
		Name: flags.name, Paper: paper.String(), Sheet: sheet, BarMM: printlog.Bar.Millimetres(),
		AlongMM: flags.along.Length.Millimetres(), AcrossMM: flags.across.Length.Millimetres(),
		ReadToMM: flags.readTo.Length.Millimetres(), Measured: now,
	}
	if err := printlog.Add(folder, r); err != nil {
		return withCause(err, r.AlongMM/r.BarMM, r.AcrossMM/r.BarMM)
	}
	fmt.Fprintf(env.Out, "Recorded: %s %s sheet prints %+.2f %% along, %+.2f %% across. Photos of its cards use this from now on.\n",
		paper, sheet, 100*(r.AlongMM/r.BarMM-1), 100*(r.AcrossMM/r.BarMM-1))
	if cause := likelyCause(r.AlongMM/r.BarMM, r.AcrossMM/r.BarMM); cause != "" {
		fmt.Fprintf(env.Out, "That is far from true: %s. Better print again at 100 %% and read that.\n", cause)
	}
	return nil
}
