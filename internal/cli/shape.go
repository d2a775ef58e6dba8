package cli

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"fairedge/internal/job"
	"fairedge/internal/length"
	"fairedge/internal/plane"
	"fairedge/internal/problem"
	"fairedge/internal/safefile"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"

	"github.com/spf13/cobra"
)

func newShapeCommand(env Environment) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "shape",
		Short: "Make, read, write and compare seat outlines without a photo",
		Long: `A shape file holds one seat outline with all that is known of it, stands for itself
and loses nothing: .json for programs ("fairedge shape schema" prints its JSON Schema),
or .svg, a drawing in mm that opens anywhere and carries the same data.

Wherever a shape is read it may be a shape file, the measurement.json of a photo, or a
drawing of another program, SVG or DXF.`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return problem.Newf(problem.Usage, "run fairedge shape --help for the list", "there is no command shape %s", args[0])
			}
			return cmd.Help()
		},
	}
	cmd.AddCommand(newRectangleCommand(env), newTrapezoidCommand(env), newRoundCommand(env), newOvalCommand(env), newHorseshoeCommand(env),
		newImportCommand(env), newShapeListCommand(env), newShapeCompareCommand(env), newSchemaCommand(env))
	return cmd
}

func newSchemaCommand(env Environment) *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of a shape file",
		Args:  exactly(0, "nothing"),
		RunE: func(*cobra.Command, []string) error {
			_, err := env.Out.Write(shapefile.Schema())
			return err
		},
	}
}

// shapeOutFlags say where a new shape goes.
type shapeOutFlags struct {
	out, name   string
	force, json bool
}

func (f *shapeOutFlags) register(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.out, "out", "", "file for the shape, .json or .svg")
	cmd.Flags().StringVar(&f.name, "name", "", "name of the job")
	cmd.Flags().BoolVar(&f.force, "force", false, "replace a file that is already there")
	cmd.Flags().BoolVar(&f.json, "json", false, "print the shape as JSON instead of words")
}

// keep writes the shape and tells of it. Without --out it only tells.
func (f shapeOutFlags) keep(env Environment, d shapefile.Document, said []string) error {
	if f.name != "" {
		d.Name = f.name
	}
	if d.Program == "" {
		d.Program = "fairedge " + Version
	}
	if d.Date.IsZero() {
		today, err := env.today()
		if err != nil {
			return err
		}
		d.Date = today
	}
	if f.out != "" {
		data, err := encodeFor(f.out, d)
		if err != nil {
			return err
		}
		if err := safefile.WriteFile(f.out, data, existing(f.force)); err != nil {
			return err
		}
	}
	if f.json {
		data, err := shapefile.EncodeDocument(d)
		if err != nil {
			return err
		}
		_, err = env.Out.Write(data)
		return err
	}
	for _, s := range said {
		fmt.Fprintln(env.Out, s)
	}
	fmt.Fprintln(env.Out, sizeSentence(d.Shape))
	if f.out != "" {
		fmt.Fprintf(env.Out, "Wrote %s.\n", filepath.ToSlash(f.out))
	}
	return nil
}

// encodeFor returns the file that the name asks for.
func encodeFor(path string, d shapefile.Document) ([]byte, error) {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".json":
		return shapefile.EncodeDocument(d)
	case ".svg":
		return shapefile.EncodeSVG(d)
	}
	return nil, problem.Newf(problem.Usage, "end the name in .json or .svg", "a shape cannot be written as %s", filepath.Base(path))
}

// sizeSentence says what a tape would read.
func sizeSentence(s shape.Shape) string {
	marks := ""
	switch n := len(s.Ticks); {
	case n == 1:
		marks = ", 1 mark"
	case n > 1:
		marks = fmt.Sprintf(", %d marks", n)
	}
	return fmt.Sprintf("%s wide, %s deep, %s round%s.", s.Size.Width, s.Size.Depth, s.Size.Perimeter, marks)
}

// drawingFlags say how to read a drawing of another program.
type drawingFlags struct {
	unit, line, back string
	join             lengthFlag
}

func (f *drawingFlags) register(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.unit, "unit", "", "unit of a drawing that does not state it: mm, cm, m, in, ft or px")
	cmd.Flags().StringVar(&f.line, "line", "", "which closed line of a drawing: its number by size (1 is the largest), or its name")
	cmd.Flags().StringVar(&f.back, "back", "", "which way the back faces in a drawing: top, bottom, left or right")
	cmd.Flags().Var(&f.join, "join", "ends of lines this near belong together (0.1 mm if not said)")
}

func (f drawingFlags) options() (shapefile.ImportOptions, error) {
	o := shapefile.ImportOptions{Line: f.line, PX: strings.EqualFold(f.unit, "px"), Join: f.join.Length}
	if f.join.Given && !(f.join.Length > 0 && f.join.Length <= 20*length.Millimetre) {
		return o, problem.Newf(problem.Usage, "use up to 20 mm", "--join cannot be %s", f.join.Length)
	}
	var err error
	if !o.PX {
		if o.Unit, err = choice("--unit", f.unit, map[string]length.Length{"": 0, "mm": length.Millimetre, "cm": length.Centimetre,
			"m": length.Metre, "in": length.Inch, "ft": length.Foot}); err != nil {
			return o, err
		}
	}
	o.Back, err = choice("--back", f.back, map[string]plane.Vec{"": {}, "top": {Y: 1}, "bottom": {Y: -1}, "left": {X: -1}, "right": {X: 1}})
	return o, err
}

// read reads a shape of any kind.
func (f drawingFlags) read(path string) (shapefile.Document, []string, error) {
	o, err := f.options()
	if err != nil {
		return shapefile.Document{}, nil, err
	}
	return readShape(path, o)
}

// readShape reads a shape of any kind.
func readShape(path string, o shapefile.ImportOptions) (shapefile.Document, []string, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return shapefile.Document{}, nil, cannotRead(path, err)
	}
	d, said, err := job.ShapeFrom(data, o)
	if err != nil {
		return d, nil, fmt.Errorf("reading %s: %w", filepath.ToSlash(path), err)
	}
	return d, said, nil
}

// readLine reads the line of a drawing, whatever data it carries.
func readLine(path string, o shapefile.ImportOptions) (shapefile.Document, []string, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return shapefile.Document{}, nil, cannotRead(path, err)
	}
	got, err := shapefile.Import(data, o)
	if err != nil {
		return shapefile.Document{}, nil, fmt.Errorf("reading %s: %w", filepath.ToSlash(path), err)
	}
	return shapefile.Document{Shape: got.Shape, Provenance: "imported from a drawing"}, nil, nil
}

func newImportCommand(env Environment) *cobra.Command {
	var keep shapeOutFlags
	var drawing drawingFlags
	var lineOnly bool
	cmd := &cobra.Command{
		Use:   "import FILE --out FILE",
		Short: "Turn a drawing, or a shape in another form, into a shape file",
		Long: `Reads a closed outline out of an SVG or an ASCII DXF of another program: paths,
rectangles, circles, ellipses and polygons; lines, arcs, polylines, splines and blocks.
Loose pieces whose ends meet are joined. Of several closed lines the largest is taken;
--line takes another. A drawing that does not state its unit is asked for one.

Also turns a shape file or a measurement.json into the other form: --out seat.svg.`,
		Example: `  fairedge shape import seat.dxf --out seat.json
  fairedge shape import seat.svg --unit in --back top --out seat.json
  fairedge shape import alder-chair/measurement.json --out alder.svg`,
		Args: exactly(1, "one file"),
		RunE: func(_ *cobra.Command, args []string) error {
			o, err := drawing.options()
			if err != nil {
				return err
			}
			read := readShape
			if lineOnly {
				read = readLine
			}
			d, said, err := read(args[0], o)
			if err != nil {
				return err
			}
			return keep.keep(env, d, said)
		},
	}
	drawing.register(cmd)
	cmd.Flags().BoolVar(&lineOnly, "drawing", false, "take the line that is drawn, not the data that an SVG of fairedge carries")
	keep.register(cmd)
	return cmd
}

func newShapeListCommand(env Environment) *cobra.Command {
	var csv, inches, asJSON bool
	cmd := &cobra.Command{
		Use:   "list FILE...",
		Short: "List the sizes of shapes, in words or for a spreadsheet",
		Example: `  fairedge shape list chairs/*.json
  fairedge shape list chairs/*.json --csv --inches > sizes.csv`,
		Args: atLeast(1, "shapes"),
		RunE: func(_ *cobra.Command, args []string) error {
			documents, err := readShapes(args)
			if err != nil {
				return err
			}
			return listShapes(env, args, documents, csv, inches, asJSON)
		},
	}
	cmd.Flags().BoolVar(&csv, "csv", false, "print a list for a spreadsheet")
	cmd.Flags().BoolVar(&inches, "inches", false, "with --csv: in inches instead of mm")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the sizes as JSON, in mm")
	return cmd
}

// readShapes reads shapes of any kind that need no flag.
func readShapes(paths []string) ([]shapefile.Document, error) {
	documents := make([]shapefile.Document, len(paths))
	for i, p := range paths {
		d, _, err := readShape(p, shapefile.ImportOptions{})
		if err != nil {
			return nil, err
		}
		if d.Name == "" {
			d.Name = strings.TrimSuffix(filepath.Base(p), filepath.Ext(p))
		}
		documents[i] = d
	}
	tellApart(documents, paths)
	return documents, nil
}

// tellApart calls shapes by their files where several have one name.
func tellApart(documents []shapefile.Document, paths []string) {
	times := map[string]int{}
	for _, d := range documents {
		times[d.Name]++
	}
	for i, d := range documents {
		if times[d.Name] > 1 {
			documents[i].Name = fmt.Sprintf("%s (%s)", d.Name, filepath.ToSlash(paths[i]))
		}
	}
}

// shapeSize is a shape of a list, in mm.
type shapeSize struct {
	File      string  `json:"file"`
	Name      string  `json:"name"`
	Width     float64 `json:"width"`
	Depth     float64 `json:"depth"`
	Perimeter float64 `json:"perimeter"`
	AreaMM2   float64 `json:"area_mm2"`
	Within    float64 `json:"within,omitempty"`
}

func listShapes(env Environment, paths []string, documents []shapefile.Document, csv, inches, asJSON bool) error {
	if inches && !csv {
		return problem.New(problem.Usage, "--inches is for a spreadsheet; words have both", "add --csv, or leave it out")
	}
	switch {
	case csv:
		data, err := shapefile.CSV(documents, inches)
		if err == nil {
			_, err = env.Out.Write(data)
		}
		return err
	case asJSON:
		sizes := make([]shapeSize, len(documents))
		for i, d := range documents {
			s := d.Shape.Size
			sizes[i] = shapeSize{filepath.ToSlash(paths[i]), d.Name, s.Width.Millimetres(), s.Depth.Millimetres(), s.Perimeter.Millimetres(), s.AreaMM2, d.Uncertainty.Millimetres()}
		}
		return writeJSON(env.Out, sizes)
	}
	var out bytes.Buffer
	for _, d := range documents {
		fmt.Fprintf(&out, "%s\n  %s\n", d.Name, sizeSentence(d.Shape))
	}
	_, err := env.Out.Write(out.Bytes())
	return err
}

// atLeast returns the argument rule "n arguments or more".
func atLeast(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) >= n {
			return nil
		}
		return problem.Newf(problem.Usage, "write it like: "+cmd.UseLine(), "%s needs at least %d %s", cmd.CommandPath(), n, what)
	}
}
