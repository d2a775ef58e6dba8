package cli

import (
	"fmt"

	"fairedge/internal/pad"

	"github.com/spf13/cobra"
)

func newRecipesCommand(env Environment) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "recipes",
		Short: "List the built-in recipes for pads, or show one",
		Long: `Lists the recipes that come with the program. "fairedge recipes show NAME" prints
one with every number and what it means: keep it as a file, change what you like and
use it with "fairedge pad SHAPE --out DIR --recipe FILE".`,
		Example: `  fairedge recipes
  fairedge recipes show boxed-zip > my-boxed.toml`,
		Args: exactly(0, "no arguments"),
		RunE: func(*cobra.Command, []string) error {
			for _, r := range pad.BuiltIn() {
				fmt.Fprintf(env.Out, "%-18s %s\n", r.Name, r.Title)
			}
			return nil
		},
	}
	var set []string
	show := &cobra.Command{
		Use:   "show NAME",
		Short: "Print one recipe with every number, to edit",
		Args:  exactly(1, "a recipe"),
		RunE: func(_ *cobra.Command, args []string) error {
			flags := recipeFlags{recipe: args[0], set: set}
			r, err := flags.read()
			if err != nil {
				return err
			}
			_, err = env.Out.Write(r.Text())
			return err
		},
	}
	show.Flags().StringArrayVar(&set, "set", nil, "change one value first, as foam.thickness=2in (may be repeated)")
	cmd.AddCommand(show)
	return cmd
}
