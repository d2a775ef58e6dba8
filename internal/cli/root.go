package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"fairedge/internal/problem"

	"github.com/spf13/cobra"
)

// Version is the program's version, printed on every sheet and in every report.
const Version = "0.1.0"

// Main runs the command line and returns the exit code.
func Main(ctx context.Context, args []string, env Environment) int {
	root := newRootCommand(env)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return 0
	}
	var known *problem.Error
	if errors.As(err, &known) {
		// The file a stage was working on is in the chain's text; print all of it.
		fmt.Fprintf(env.Err, "fairedge: %s\n", sentence(err))
		return exitCodes()[known.Kind]
	}
	fmt.Fprintf(env.Err, "fairedge: something went wrong inside the program: %s\n", sentence(err))
	return exitCodes()[problem.Internal]
}

// sentence keeps an error to one line.
func sentence(err error) string { return strings.Join(strings.Fields(err.Error()), " ") }

func newRootCommand(env Environment) *cobra.Command {
	root := &cobra.Command{
		Use:   "fairedge",
		Short: "From one photo of a seat template to cutting outlines at true scale",
		Long: `fairedge measures a traced seat template in one phone photo, by printed scale
cards lying around it, and writes the foam outline and the fabric cut line at
true scale.

  1. fairedge cards --paper a4 --out cards.pdf       print at 100 %
  2. fairedge print-check --paper a4 --along 179.6mm --across 179.8mm
  3. trace the seat, lay the cards around the template, take the photo
  4. fairedge cut photo.jpg --out alder-chair        writes the outlines
  5. look at check.jpg, then cut`,
		Version:       Version,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return problem.Newf(problem.Usage, "run fairedge --help for the list", "there is no command %q", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetOut(env.Out)
	root.SetErr(env.Err)
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return problem.New(problem.Usage, err.Error(), "run "+cmd.CommandPath()+" --help for the flags")
	})
	root.AddCommand(newCardsCommand(env), newPrintCheckCommand(env), newPrinterCommand(env), newLensCommand(env), newCutCommand(env), newAccuracyCommand(env),
		newPadCommand(env), newRecipesCommand(env), newLayCommand(env))
	root.AddCommand(newShapeCommand(env), newFitsCommand(env))
	root.AddCommand(archiveCommands(env)...)
	return root
}

// exactly returns the argument rule "n arguments", with a sentence of ours.
func exactly(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == n {
			return nil
		}
		return problem.Newf(problem.Usage, "write it like: "+cmd.UseLine(), "%s takes %s, not %d arguments", cmd.CommandPath(), what, len(args))
	}
}
