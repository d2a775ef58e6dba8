package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"fairedge/internal/cloth"
	"fairedge/internal/job"
	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/problem"
	"fairedge/internal/safefile"
	"fairedge/internal/sheet"

	"github.com/spf13/cobra"
)

// layFlags are the flags of "fairedge lay" as typed.
type layFlags struct {
	out, name, paper string
	force, json      bool
	drawing          drawingFlags
	recipe           recipeFlags
	cloth            clothFlags
	have             lengthFlag
	foamSheet        string
	kerf             lengthFlag
}

// clothFlags say what the cloth is like.
type clothFlags struct {
	width, selvedge, gap, squaring, soldBy lengthFlag
	nap, repeat, motif                     string
	halfDrop, topOnly, railroad, fold      bool
	tilt                                   float64
}

func newLayCommand(env Environment) *cobra.Command {
	d := cloth.DefaultCloth()
	flags := layFlags{kerf: lengthFlag{Length: cloth.DefaultFoam().Kerf}, cloth: clothFlags{
		gap: lengthFlag{Length: d.Gap}, squaring: lengthFlag{Length: d.Squaring}, soldBy: lengthFlag{Length: d.SoldBy}}}
	cmd := &cobra.Command{
		Use:   "lay SHAPE[=PADS]... --out DIR",
		Short: "Lay the pieces of one or many pads on cloth and foam; say what to buy",
		Long: `Lays every piece and strip of the pads on cloth, and the blanks on foam sheets, in as
little as it can find, and writes into DIR:

  lay.pdf lay-1.svg ...   the lay to scale, numbered, with the places to chalk
  take-off.csv lay.json   what to buy and to cut; everything in plain numbers

Each SHAPE is read as by "fairedge pad"; seat.json=6 makes six pads of it. All pads
follow one recipe. The cloth lies with its start towards you, right side up; places
are measured from a line squared across its start and from its left edge.

  --nap none       plain cloth: pieces may lie head to tail
  --nap one-way    pile: all pieces one way
  --nap design     a design that has a top: all backs to the top
  --repeat 640mmx320mm    motifs, along by across: one is centred on each seat
  --motif 350mmx686mm     where one motif lies: from the squared line, from the left edge

Stop it with Ctrl-C: it keeps the best lay so far.`,
		Example: `  fairedge lay alder-chair/measurement.json=6 --out alder-lay --width 1.37m
  fairedge lay seat.json bench.json=2 --out lay --nap one-way --have 2m
  fairedge lay seat.json=4 --out lay --repeat 640mmx320mm --half-drop --sold-by 1/8yd`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return problem.Newf(problem.Usage, "write it like: "+cmd.UseLine(), "%s takes at least one shape", cmd.CommandPath())
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return runLay(cmd.Context(), env, args, flags) },
	}
	flags.register(cmd)
	return cmd
}

func (f *layFlags) register(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.out, "out", "", "folder for the results; made if it is missing")
	flags.StringVar(&f.name, "name", "", "name of the job, printed on every page")
	flags.BoolVar(&f.force, "force", false, "replace results that are already in the folder")
	flags.BoolVar(&f.json, "json", false, "print lay.json instead of words")
	flags.StringVar(&f.paper, "paper", "a4", "paper of the drawings: a4 or letter")
	flags.StringVar(&f.recipe.recipe, "recipe", "tie-on", "a built-in recipe, or a file")
	flags.StringArrayVar(&f.recipe.set, "set", nil, "change one value of the recipe, as foam.thickness=2in (may be repeated)")
	f.drawing.register(cmd)
	c := &f.cloth
	flags.Var(&c.width, "width", "width of the cloth from edge to edge (default: the recipe's)")
	flags.Var(&c.selvedge, "selvedge", "lost on each edge (default: the recipe's)")
	flags.StringVar(&c.nap, "nap", "", "none, one-way, or design (default: the recipe's)")
	flags.StringVar(&c.repeat, "repeat", "", "pattern repeat along by across, as 640mmx320mm; 0 leaves a direction free")
	flags.BoolVar(&c.halfDrop, "half-drop", false, "every other column of motifs is lower by half a repeat")
	flags.StringVar(&c.motif, "motif", "", "where the middle of one motif lies, as 350mmx686mm (default: the best place is found)")
	flags.BoolVar(&c.topOnly, "motif-top-only", false, "centre motifs on the top plates alone")
	flags.BoolVar(&c.railroad, "railroad", false, "turn the pieces a quarter: railroaded cloth")
	flags.BoolVar(&c.fold, "fold", false, "lay on folded cloth, right sides together: pairs are cut at once")
	flags.Float64Var(&c.tilt, "tilt", 0, "how many degrees the grain of a piece may lie off the cloth's")
	flags.Var(&c.gap, "gap", "kept free between pieces")
	flags.Var(&c.squaring, "squaring", "lost at each end of the cloth to square it")
	flags.Var(&c.soldBy, "sold-by", "step in which the shop sells length, as 0.1m or 1/8yd")
	flags.Var(&f.have, "have", "length of cloth that is there: says whether it is enough")
	flags.StringVar(&f.foamSheet, "foam-sheet", "", "size of a foam sheet, as 2mx1m (default: the recipe's)")
	flags.Var(&f.kerf, "kerf", "kept free between foam blanks")
}

func runLay(ctx context.Context, env Environment, args []string, flags layFlags) error {
	if flags.out == "" {
		return problem.New(problem.Usage, "there is no folder for the results", "add --out DIR")
	}
	today, err := env.today()
	if err != nil {
		return err
	}
	request, err := flags.request(args)
	if err != nil {
		return err
	}
	request.Label.Date = today
	if env.IsTerminal {
		request.Options.Progress = func(l length.Length) { fmt.Fprintf(env.Err, "\rCloth needed so far: %s   ", cloth.Metres(l)) }
	}
	result, err := job.LayPads(ctx, request)
	if env.IsTerminal {
		fmt.Fprint(env.Err, "\r\033[K")
	}
	if err != nil {
		return err
	}
	if err := safefile.WriteSet(flags.out, result.Files, existing(flags.force)); err != nil {
		return err
	}
	if flags.json {
		_, err = env.Out.Write(result.JSON)
		return err
	}
	printLay(env.Out, flags.out, result)
	return nil
}

// request turns the flags into what is laid on what.
func (f layFlags) request(args []string) (job.LayRequest, error) {
	r := job.LayRequest{Options: cloth.DefaultOptions(), Spare: pad.DefaultSpare(), Label: job.Label{Name: f.name, Program: "fairedge " + Version}}
	recipe, err := f.recipe.read()
	if err != nil {
		return r, err
	}
	if r.Cloth, err = f.cloth.cloth(&recipe.Cloth); err != nil {
		return r, err
	}
	if err := r.Cloth.Validate(); err != nil {
		return r, err
	}
	if f.have.Given && f.have.Length <= 0 {
		return r, problem.Newf(problem.Usage, "give the length you have, as 2m", "%s of cloth is none", f.have.Length)
	}
	r.Options.Have = f.have.Length
	r.Foam.Kerf = f.kerf.Length
	if f.foamSheet != "" {
		if r.Foam.SheetLength, r.Foam.SheetWidth, err = twoLengths("--foam-sheet", f.foamSheet, "2mx1m"); err != nil {
			return r, err
		}
		recipe.Foam.SheetLength, recipe.Foam.SheetWidth = r.Foam.SheetLength, r.Foam.SheetWidth
	}
	if r.Paper, err = choice("--paper", f.paper, map[string]sheet.Paper{"a4": sheet.A4(), "letter": sheet.Letter()}); err != nil {
		return r, err
	}
	for _, arg := range args {
		order, err := f.order(arg, recipe)
		if err != nil {
			return r, err
		}
		r.Orders = append(r.Orders, order)
	}
	return r, nil
}

// order reads "seat.json=6".
func (f layFlags) order(arg string, recipe pad.Recipe) (cloth.Order, error) {
	path, count := arg, 1
	if i := strings.LastIndexByte(arg, '='); i > 0 {
		n, err := strconv.Atoi(arg[i+1:])
		if err != nil || n < 1 {
			return cloth.Order{}, problem.Newf(problem.Usage, "write it like seat.json=6", "%q is no shape with a number of pads", arg)
		}
		path, count = arg[:i], n
	}
	d, _, err := f.drawing.read(path)
	if err != nil {
		return cloth.Order{}, err
	}
	p, err := pad.Cut(d.Shape, recipe)
	if err != nil {
		return cloth.Order{}, err
	}
	name := d.Name
	if name == "" {
		name = strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
	}
	return cloth.Order{Name: name, Pad: p, Pads: count}, nil
}

// cloth returns the cloth; the recipe is made to plan its strips for it.
func (f clothFlags) cloth(rule *pad.ClothRule) (cloth.Cloth, error) {
	c := cloth.Cloth{Gap: f.gap.Length, Squaring: f.squaring.Length, SoldBy: f.soldBy.Length, Tilt: f.tilt, Railroad: f.railroad, Fold: f.fold}
	if f.width.Given {
		rule.Width = f.width.Length
	}
	if f.selvedge.Given {
		rule.Selvedge = f.selvedge.Length
	}
	c.Width, c.Selvedge = rule.Width, rule.Selvedge
	nap := f.nap
	if nap == "" && rule.Nap != pad.NoNap {
		nap = "one-way"
	}
	var err error
	if c.Way, err = choice("--nap", nap, map[string]cloth.Way{"": cloth.EitherWay, "none": cloth.EitherWay, "one-way": cloth.OneNap, "design": cloth.OneDesign}); err != nil {
		return c, err
	}
	c.Repeat.HalfDrop, c.Repeat.TopOnly = f.halfDrop, f.topOnly
	if f.repeat != "" {
		if c.Repeat.Along, c.Repeat.Across, err = twoLengths("--repeat", f.repeat, "640mmx320mm"); err != nil {
			return c, err
		}
	}
	if f.motif != "" {
		var m cloth.Motif
		if m.Along, m.Across, err = twoLengths("--motif", f.motif, "350mmx686mm"); err != nil {
			return c, err
		}
		c.Repeat.First = &m
	}
	return c, nil
}

// twoLengths reads "640mmx320mm"; a unit at the end alone holds for both.
func twoLengths(flag, text, example string) (a, b length.Length, err error) {
	first, second, found := strings.Cut(strings.ToLower(text), "x")
	if strings.Trim(first, "0123456789.,/ ") == "" {
		first += strings.TrimLeft(second, "0123456789.,/ ")
	}
	a, err1 := length.Parse(first)
	b, err2 := length.Parse(second)
	if !found || err1 != nil || err2 != nil {
		return 0, 0, problem.Newf(problem.Usage, "write it like "+example, "%s %q is not two lengths", flag, text)
	}
	return a, b, nil
}

// printLay says what to buy, what is left, what to open.
func printLay(out io.Writer, dir string, r job.LayResult) {
	l := r.Laid
	fmt.Fprintf(out, "Buy %s of cloth %s wide; %s is used, %.0f%% of it becomes pieces.\n", cloth.Metres(l.Buy), l.Cloth.Width, cloth.Metres(l.Needed), 100*l.Usage)
	if l.Enough != nil {
		fmt.Fprintln(out, l.Enough.Words)
	}
	if saved := l.Rows - l.Needed; saved >= length.Centimetre {
		fmt.Fprintf(out, "Laid row by row it would take %s.\n", cloth.Metres(l.Rows))
	}
	if l.Stopped {
		fmt.Fprintln(out, "Stopped early: this is the best lay so far.")
	}
	for _, o := range l.Left {
		fmt.Fprintf(out, "Left: %s.\n", o.Words)
	}
	for _, f := range r.Foam {
		fmt.Fprintf(out, "Foam: %s, %.2f kg of blanks.\n", f.Words(), f.MassKg)
	}
	for _, line := range r.List {
		if words := buyWords(line); words != "" {
			fmt.Fprintln(out, words)
		}
	}
	fmt.Fprintf(out, "\nIn %s:\n", filepath.ToSlash(dir))
	for _, f := range r.Guide {
		fmt.Fprintf(out, "  %-16s %s\n", f.Name, f.Says)
	}
}

// buyWords says what else is bought.
func buyWords(l cloth.Line) string {
	switch pad.NeedKind(l.Kind) {
	case pad.CordNeed, pad.ThreadNeed, pad.TapeNeed:
		return fmt.Sprintf("%s: %s.", l.Item, cloth.Metres(l.Length))
	case pad.ZipNeed:
		return fmt.Sprintf("%s: %d of %s.", l.Item, l.Count, l.Length)
	case pad.WrapNeed:
		return fmt.Sprintf("%s: %d of %s by %s.", l.Item, l.Count, l.Width, l.Length)
	case pad.TagNeed:
		return fmt.Sprintf("%s: %d.", l.Item, l.Count)
	}
	return ""
}
