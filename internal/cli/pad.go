package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"fairedge/internal/job"
	"fairedge/internal/pad"
	"fairedge/internal/problem"
	"fairedge/internal/safefile"

	"github.com/spf13/cobra"
)

// recipeFlags say what pad is made.
type recipeFlags struct {
	recipe string
	set    []string
	pads   int
	half   bool
	strips bool
	halves string // what a symmetric seat is made from
}

func (f *recipeFlags) register(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringArrayVar(&f.set, "set", nil, "change one value of the recipe, as foam.thickness=2in (may be repeated)")
	flags.IntVar(&f.pads, "pads", 1, "how many pads alike, for the list to buy")
	flags.StringVar(&f.halves, "symmetric", "", "make both halves of the seat alike: average, left or right (which half to keep)")
	flags.Lookup("symmetric").NoOptDefVal = string(pad.AverageHalves)
	flags.BoolVar(&f.half, "half", false, "also draw the halves to lay on a fold, where both halves are alike")
	flags.BoolVar(&f.strips, "print-strips", false, "draw strips that are longer than a page too")
}

// read returns the recipe: a built-in one, or that of a file.
func (f *recipeFlags) read() (pad.Recipe, error) {
	changes, err := changesOf(f.set)
	if err != nil {
		return pad.Recipe{}, err
	}
	if !looksLikeFile(f.recipe) {
		return job.RecipeFrom(f.recipe, nil, changes)
	}
	data, err := os.ReadFile(f.recipe)
	if err != nil {
		return pad.Recipe{}, cannotRead(f.recipe, err)
	}
	return job.RecipeFrom(strings.TrimSuffix(filepath.Base(f.recipe), ".toml"), data, changes)
}

// looksLikeFile tells a file from the name of a built-in recipe.
func looksLikeFile(name string) bool { return strings.ContainsAny(name, `./\`) }

func changesOf(set []string) ([]job.Change, error) {
	var all []job.Change
	for _, text := range set {
		key, value, found := strings.Cut(text, "=")
		if !found || strings.TrimSpace(key) == "" {
			return nil, problem.Newf(problem.Usage, "write it like --set foam.thickness=2in", "--set %q changes nothing", text)
		}
		all = append(all, job.Change{Key: strings.TrimSpace(key), Value: strings.TrimSpace(value)})
	}
	return all, nil
}

func (f *recipeFlags) choices() job.PadChoices {
	return job.PadChoices{Pads: f.pads, Halves: pad.Halves(f.halves), Half: f.half, Strips: f.strips, Spare: pad.DefaultSpare()}
}

// plainPages returns how the outlines are printed when a pad is made too: the pad's
// pages show them, so they get none of their own.
func (f *recipeFlags) plainPages(p job.Printing) job.Printing {
	if f.recipe == "" {
		return p
	}
	return job.Printing{}
}

// addTo makes the pad of a measured photo, if one is wanted, and adds its files.
func (f *recipeFlags) addTo(result *job.Result, m *job.Measured, label job.Label, printing job.Printing) error {
	if f.recipe == "" {
		return nil
	}
	recipe, err := f.read()
	if err != nil {
		return err
	}
	return result.AddPad(m, recipe, f.choices(), label, printing)
}

// cannotRead says why a file cannot be read.
func cannotRead(path string, err error) error {
	reason := err
	var pathError *fs.PathError
	if errors.As(err, &pathError) {
		reason = pathError.Err
	}
	return problem.Newf(problem.FileAccess, "check its name and permissions", "could not read %s (%v)", path, reason).Because(err)
}

// padFlags are the flags of "fairedge pad" as typed.
type padFlags struct {
	out, name   string
	force, json bool
	drawing     drawingFlags
	recipe      recipeFlags
	pages       pageFlags
}

func newPadCommand(env Environment) *cobra.Command {
	var flags padFlags
	cmd := &cobra.Command{
		Use:   "pad SHAPE --out DIR",
		Short: "Make every piece, mark and strip of a pad, and its cut sheet",
		Long: `Turns a seat outline and a recipe into everything that is cut for the pad, and
writes into DIR:

  cut-sheet.pdf .svg     for the bench: a picture of each piece with its sizes, the
                         strips, what to buy, the order of work, the places of the
                         marks, checks and cautions
  pad-pages.pdf          the pieces at true scale, on pages to tape together
  pad-PIECE.pdf .svg     each piece on one sheet, for a plotter
  pad-pieces.dxf .plt    all pieces for a cutting machine or a plotter, in mm
  take-off.csv pad.json  what to buy; everything in plain numbers
  recipe.toml            the recipe with every number, to keep or to change

SHAPE is the measurement.json of "fairedge cut", a shape file, or an SVG or DXF
drawing of another program (its largest closed line; say its --unit if it does not).

Long straight strips are not printed: the cut sheet gives their sizes and the places
of their marks. "fairedge recipes" lists the recipes; every number of a recipe can be
changed with --set.`,
		Example: `  fairedge pad alder-chair/measurement.json --out alder-pad
  fairedge pad seat.json --out pad --recipe boxed-zip --set foam.thickness=2in --pads 4
  fairedge pad seat.dxf --unit mm --out pad --recipe my-pad.toml --paper letter
  fairedge pad seat.json --out pad --set plate.ease=rounded --set "ties.cut_length=14 in"`,
		Args: exactly(1, "one shape"),
		RunE: func(cmd *cobra.Command, args []string) error { return runPad(cmd.Context(), env, args[0], flags) },
	}
	f := cmd.Flags()
	f.StringVar(&flags.out, "out", "", "folder for the results; made if it is missing")
	f.StringVar(&flags.name, "name", "", "name of the job, printed on every piece (default: that of the shape)")
	f.BoolVar(&flags.force, "force", false, "replace results that are already in the folder")
	f.BoolVar(&flags.json, "json", false, "print pad.json instead of words")
	flags.drawing.register(cmd)
	f.StringVar(&flags.recipe.recipe, "recipe", "tie-on", "a built-in recipe, or a file")
	flags.recipe.register(cmd)
	flags.pages.register(cmd)
	return cmd
}

func runPad(ctx context.Context, env Environment, path string, flags padFlags) error {
	if flags.out == "" {
		return problem.New(problem.Usage, "there is no folder for the results", "add --out DIR")
	}
	recipe, err := flags.recipe.read()
	if err != nil {
		return err
	}
	printing, err := flags.pages.printing(env)
	if err != nil {
		return err
	}
	today, err := env.today()
	if err != nil {
		return err
	}
	document, said, err := flags.drawing.read(path)
	if err != nil {
		return err
	}
	choices := flags.recipe.choices()
	choices.Accuracy, choices.Said = job.ShapeAccuracy(document), said
	made, err := job.PadFromShape(document.Shape, recipe, choices)
	if err != nil {
		return err
	}
	name := flags.name
	if name == "" {
		name = document.Name
	}
	result, err := job.PadFiles(made, job.Label{Name: name, Date: today, Program: "fairedge " + Version}, printing)
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return problem.New(problem.Cancelled, "stopped before writing", "nothing was written").Because(err)
	}
	if err := safefile.WriteSet(flags.out, result.Files, existing(flags.force)); err != nil {
		return err
	}
	if flags.json {
		return printPadJSON(env, result)
	}
	printPad(env, flags.out, result)
	return nil
}

func printPadJSON(env Environment, result job.PadResult) error {
	var out bytes.Buffer
	if err := result.Report.WriteJSON(&out); err != nil {
		return err
	}
	_, err := env.Out.Write(out.Bytes())
	return err
}

// printPad tells a person what was made and which files to open.
func printPad(env Environment, dir string, result job.PadResult) {
	for _, line := range result.Summary {
		fmt.Fprintln(env.Out, line)
	}
	fmt.Fprintf(env.Out, "\nIn %s:\n", filepath.ToSlash(dir))
	for _, f := range result.Guide {
		fmt.Fprintf(env.Out, "  %-34s %s\n", f.Name, f.Says)
	}
}
