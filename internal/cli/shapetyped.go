package cli

import (
	"fairedge/internal/length"
	"fairedge/internal/problem"
	"fairedge/internal/shape"
	"fairedge/internal/shapefile"

	"github.com/spf13/cobra"
)

// cornerFlags are the radii of corners as typed; the more special word goes first.
type cornerFlags struct {
	all, back, front                           lengthFlag
	backLeft, backRight, frontLeft, frontRight lengthFlag
}

func (f *cornerFlags) register(cmd *cobra.Command, hasFront bool) {
	flags := cmd.Flags()
	flags.Var(&f.all, "corner", "radius of every corner (sharp if not said)")
	if !hasFront {
		flags.Lookup("corner").Usage = "radius of both back corners (sharp if not said)"
		flags.Var(&f.backLeft, "back-left", "radius of the left one, seen from above with the back at the top")
		flags.Var(&f.backRight, "back-right", "radius of the right one")
		return
	}
	flags.Var(&f.back, "back-corners", "radius of both back corners")
	flags.Var(&f.front, "front-corners", "radius of both front corners")
	flags.Var(&f.backLeft, "back-left", "radius of this corner, seen from above with the back at the top")
	flags.Var(&f.backRight, "back-right", "radius of this corner")
	flags.Var(&f.frontLeft, "front-left", "radius of this corner")
	flags.Var(&f.frontRight, "front-right", "radius of this corner")
}

func (f cornerFlags) corners(hasFront bool) shapefile.Corners {
	first := func(flags ...lengthFlag) length.Length {
		for _, l := range flags {
			if l.Given {
				return l.Length
			}
		}
		return 0
	}
	c := shapefile.Corners{BackLeft: first(f.backLeft, f.back, f.all), BackRight: first(f.backRight, f.back, f.all)}
	if hasFront {
		c.FrontLeft, c.FrontRight = first(f.frontLeft, f.front, f.all), first(f.frontRight, f.front, f.all)
	}
	return c
}

// typedCommand is a command that makes a shape from measures.
type typedCommand struct {
	use, short, example string
	measures            []measureFlag
	hasCorners          bool
	hasFront            bool
	make                func(m []length.Length, c shapefile.Corners) (shape.Shape, error)
}

type measureFlag struct{ name, usage string }

const typedLong = `The shape lies with its back up, the middle of its back at the origin. Lengths are read
in mm or inches: 400mm, 40cm, "15 3/4in".`

func (t typedCommand) command(env Environment) *cobra.Command {
	var keep shapeOutFlags
	var corner cornerFlags
	measures := make([]lengthFlag, len(t.measures))
	cmd := &cobra.Command{
		Use: t.use, Short: t.short, Long: t.short + ".\n\n" + typedLong, Example: t.example,
		Args: exactly(0, "only flags"),
		RunE: func(*cobra.Command, []string) error {
			values := make([]length.Length, len(measures))
			for i, m := range measures {
				if !m.Given {
					return problem.Newf(problem.Usage, "add it, like --"+t.measures[i].name+" 400mm", "--%s is missing", t.measures[i].name)
				}
				values[i] = m.Length
			}
			s, err := t.make(values, corner.corners(t.hasFront))
			if err != nil {
				return err
			}
			return keep.keep(env, shapefile.Document{Shape: s, Provenance: "made of typed measures"}, nil)
		},
	}
	for i, m := range t.measures {
		cmd.Flags().Var(&measures[i], m.name, m.usage)
	}
	if t.hasCorners {
		corner.register(cmd, t.hasFront)
	}
	keep.register(cmd)
	return cmd
}

func newRectangleCommand(env Environment) *cobra.Command {
	return typedCommand{
		use: "rectangle --width LENGTH --depth LENGTH --out FILE", short: "A rectangle with rounded corners",
		example: `  fairedge shape rectangle --width 400mm --depth 410mm --corner 30mm --out bench.json
  fairedge shape rectangle --width 16in --depth 17in --front-corners 2in --out seat.svg`,
		measures:   []measureFlag{{"width", "along the back"}, {"depth", "from the back to the front"}},
		hasCorners: true, hasFront: true,
		make: func(m []length.Length, c shapefile.Corners) (shape.Shape, error) {
			return shapefile.Rectangle(m[0], m[1], c)
		},
	}.command(env)
}

func newTrapezoidCommand(env Environment) *cobra.Command {
	return typedCommand{
		use: "trapezoid --back LENGTH --front LENGTH --depth LENGTH --out FILE", short: "A seat with a narrower back, and rounded corners",
		example:    `  fairedge shape trapezoid --back 360mm --front 430mm --depth 410mm --front-corners 50mm --out seat.json`,
		measures:   []measureFlag{{"back", "length of the back, to its sharp corners"}, {"front", "length of the front, to its sharp corners"}, {"depth", "from the back to the front"}},
		hasCorners: true, hasFront: true,
		make: func(m []length.Length, c shapefile.Corners) (shape.Shape, error) {
			return shapefile.Trapezoid(m[0], m[1], m[2], c)
		},
	}.command(env)
}

func newRoundCommand(env Environment) *cobra.Command {
	return typedCommand{
		use: "round --across LENGTH --out FILE", short: "A round seat",
		example:  `  fairedge shape round --across 13.5in --out stool.json`,
		measures: []measureFlag{{"across", "its diameter"}},
		make:     func(m []length.Length, _ shapefile.Corners) (shape.Shape, error) { return shapefile.Oval(m[0], m[0]) },
	}.command(env)
}

func newOvalCommand(env Environment) *cobra.Command {
	return typedCommand{
		use: "oval --width LENGTH --depth LENGTH --out FILE", short: "An oval (elliptic) seat",
		example:  `  fairedge shape oval --width 420mm --depth 360mm --out seat.json`,
		measures: []measureFlag{{"width", "from side to side"}, {"depth", "from back to front"}},
		make:     func(m []length.Length, _ shapefile.Corners) (shape.Shape, error) { return shapefile.Oval(m[0], m[1]) },
	}.command(env)
}

func newHorseshoeCommand(env Environment) *cobra.Command {
	return typedCommand{
		use: "horseshoe --width LENGTH --depth LENGTH --out FILE", short: "A seat like a D: straight back and sides, round front",
		example:    `  fairedge shape horseshoe --width 400mm --depth 420mm --corner 25mm --out seat.json`,
		measures:   []measureFlag{{"width", "along the back"}, {"depth", "from the back to the tip of the front"}},
		hasCorners: true,
		make: func(m []length.Length, c shapefile.Corners) (shape.Shape, error) {
			return shapefile.Horseshoe(m[0], m[1], c)
		},
	}.command(env)
}
