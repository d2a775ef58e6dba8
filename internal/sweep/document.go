package sweep

import "strings"

// Document returns ACCURACY.md around the tables; command is how they were made.
func Document(command string, tables []Table) string {
	var b strings.Builder
	b.WriteString(strings.Replace(documentHead, "COMMAND", command, 1))
	for _, t := range tables {
		b.WriteString("\n## " + t.Title + "\n\n" + t.Text)
	}
	return b.String()
}

const documentHead = "# How exactly an outline is measured\n" + `
Made by

    COMMAND

Random scenes (internal/sweep): a rounded trapezoid of 450 x 430 mm, a 12 megapixel
phone of 24 to 28 mm equivalent focal length whose lens is unknown (k1 0.01, k2
0.005, focal length ±2 %, principal point ±20 px), tilt to 40 degrees, template and
cards filling 85 % of the frame, marks to 0.1 px. "Realistic" adds cards 0.3 mm out
of flat, print anisotropy 0.2 %, marks printed to 0.03 mm, decentering 2e-4 and a
smooth warp of 0.2 px. The print's scale, the template's flatness and the drawn line
are not in it; the budget adds them.

Errors are distances across the outline after the best rigid alignment, without
scale, mm: median over the scenes of the rms / median of the worst / 95th percentile
of the worst. "Exact" priors are the distributions that the scenes are drawn from,
"program" those of measure.PriorsFor. The goals are those of a feasibility study that
simulated the same two worlds.

Cover: share of points, of whole outlines and of widths for which the truth lies
inside the stated 95 % (Budget.Point, Within, Width.U). Stated / true: root mean
square over all scenes of the standard uncertainty stated and of the error made, mm.
`

const coverageHead = `The scenes are others than those of the table above, and none by which anything was
chosen. The goals are 0.93 to 0.97 of the points and 0.90 to 0.98 of the outlines, and
0.85 of the points at least when the lens is twice as bad as what is told of it: focal
length, principal point, distortion, decentering and warp all twice as far off. A share
of 400 scenes scatters by about 0.01. The program's own priors are wider than this world:
a focal length known to 2 % (standard deviation) where the world has an even ±2 % (1.15 %),
a principal point to 20 px where it has ±20 px, an anisotropy of 0.25 % where it has 0.2 %.
They stay so: what real phones and printers do is not known from simulations.

`

const severalHead = `One phone takes three photos of one bench from random sides, realistic world, priors of the
program; its focal length and principal point move from photo to photo within half the
bounds above, the edge is seen to 0.1 px in each. "Laid anew": between the photos each
card is taken up and laid down again, turned by a quarter. The last column counts scenes
of which some photos were left out.

`

const varyHead = `Realistic world, priors of the program; the same scenes for every line. The first line is
the median of the rms, mm; the others say by how much it moves when one number is turned.

`
