package cli

import (
	"fmt"

	"fairedge/internal/job"
	"fairedge/internal/length"
	"fairedge/internal/printlog"
	"fairedge/internal/problem"

	"github.com/spf13/cobra"
)

type printerFlags struct {
	along, across, of lengthFlag
	corrected         bool
}

func newPrinterCommand(env Environment) *cobra.Command {
	flags := printerFlags{of: lengthFlag{Length: printlog.Bar}}
	cmd := &cobra.Command{
		Use:   "printer NAME --along LENGTH --across LENGTH",
		Short: "Record what a printer does, to correct later prints",
		Long: `Records under a name how long a printer makes a length along the paper and across
it. "fairedge cut --printer NAME" and "fairedge cards --printer NAME" then stretch
their pages so that they come out true on that printer.

Read the two bars of 180 mm on a sheet of cards, or the 100 mm square on the first
of the pages to tape together (add --of 100mm). More than 2 % is a print setting,
not the printer: it is refused, and its likely cause named. Without lengths the
command shows what is on record.`,
		Example: `  fairedge printer studio --along 179.6mm --across 180.2mm
  fairedge printer studio --along 99.7mm --across 100.1mm --of 100mm
  fairedge printer studio --along 180.1mm --across 180mm --corrected
  fairedge printer studio`,
		Args: exactly(1, "the printer's name"),
		RunE: func(_ *cobra.Command, args []string) error { return recordPrinter(env, args[0], flags) },
	}
	cmd.Flags().Var(&flags.along, "along", "what the ruler reads along the paper")
	cmd.Flags().Var(&flags.across, "across", "what it reads across the paper")
	cmd.Flags().Var(&flags.of, "of", "what both should read: 180mm on cards, 100mm on the square")
	cmd.Flags().BoolVar(&flags.corrected, "corrected", false, "the sheet was already corrected for this printer: correct the rest")
	return cmd
}

func recordPrinter(env Environment, name string, flags printerFlags) error {
	folder, err := env.dataFolder()
	if err != nil {
		return err
	}
	if !flags.along.Given && !flags.across.Given {
		p, err := printlog.PrinterNamed(folder, name)
		if err == nil {
			printPrinter(env, p)
		}
		return err
	}
	p, err := flags.printer(env, folder, name)
	if err != nil {
		return err
	}
	if err := printlog.KeepPrinter(folder, p); err != nil {
		return withCause(err, p.Along, p.Across)
	}
	printPrinter(env, p)
	fmt.Fprintf(env.Out, "Print with: fairedge cut PHOTO --out DIR --printer %q, or fairedge cards --printer %q.\n", name, name)
	return nil
}

// printer returns the printer that the readings tell of.
func (f printerFlags) printer(env Environment, folder, name string) (printlog.Printer, error) {
	if !f.along.Given || !f.across.Given {
		return printlog.Printer{}, problem.New(problem.Usage, "both directions must be read", "give --along and --across, like --along 179.6mm --across 179.8mm")
	}
	if least := 50 * length.Millimetre; !(f.of.Length >= least) {
		return printlog.Printer{}, problem.New(problem.Usage, "--of is too short to tell a printer by", "read a length of 50 mm or more")
	}
	today, err := env.today()
	if err != nil {
		return printlog.Printer{}, err
	}
	p := printlog.Printer{Name: name, Along: float64(f.along.Length / f.of.Length), Across: float64(f.across.Length / f.of.Length), Measured: today}
	if !f.corrected {
		return p, nil
	}
	before, err := printlog.PrinterNamed(folder, name)
	if err != nil {
		return p, err
	}
	p.Along, p.Across = p.Along*before.Along, p.Across*before.Across
	return p, nil
}

func printPrinter(env Environment, p printlog.Printer) {
	fmt.Fprintf(env.Out, "Printer %q prints %+.2f %% along, %+.2f %% across.\n", p.Name, 100*(p.Along-1), 100*(p.Across-1))
}

// printerNamed returns the printer on record; no name is a printer of which nothing is
// known.
func printerNamed(env Environment, name string) (job.Printer, error) {
	if name == "" {
		return job.Printer{}, nil
	}
	folder, err := env.dataFolder()
	if err != nil {
		return job.Printer{}, err
	}
	p, err := printlog.PrinterNamed(folder, name)
	return job.Printer{Name: p.Name, Along: p.Along, Across: p.Across}, err
}
