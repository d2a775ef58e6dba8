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
