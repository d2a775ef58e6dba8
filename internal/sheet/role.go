package sheet

// Role is what a line means to the person with the blade or the needle.
type Role int

// The roles. Each looks different in one colour at arm's length: by weight and by
// dashes, after ISO 128-2:2020 (thick to thin 2 : 1; dashed; long dash, double
// dot) and pattern-making custom (heavy solid line to cut, broken line to stitch).
const (
	CutLine     Role = iota // cut the cloth here
	FoamOutline             // cut the foam here
	SeamLine                // stitch here
	FoldLine                // fold here
	CentreLine              // line of symmetry
	GrainLine               // along the grain of the cloth
	Notch                   // short tick at a cut edge
	ScaleLine               // bars and their ends: lay the ruler here
	ScaleTick               // the divisions of a bar
	TrimGuide               // where paper is cut apart
	JoinLine                // where pages are laid over one another
	Thin                    // boxes, arrows, little maps
	FoamGuide               // where the foam lies under the cloth: not cut
	Sign                    // signs on the seam line: drawn, not cut
)

// Style is how a line is drawn. Widths and dashes are millimetres.
type Style struct {
	Width float64
	Dash  []float64 // on, off, on, off ...; empty for a solid line
	Ink   Ink
	Round bool // round ends; flat otherwise
}

// The colours of pattern lines. Dark enough to copy as black.
var (
	blue  = Ink{0, 63, 136}
	green = Ink{0, 104, 55}
	grey  = Ink{110, 110, 110}
)

// Style returns how lines of this role are drawn.
func (r Role) Style() Style {
	switch r {
	case CutLine:
		return Style{Width: 0.8}
	case FoamOutline, FoamGuide:
		return Style{Width: 0.5, Dash: []float64{12, 2.2, 1.2, 2.2, 1.2, 2.2}, Ink: blue}
	case SeamLine:
		return Style{Width: 0.4, Dash: []float64{4.5, 2.5}, Ink: green}
	case FoldLine:
		return Style{Width: 0.4, Dash: []float64{9, 2.5}, Ink: green}
	case CentreLine:
		return Style{Width: 0.25, Dash: []float64{10, 2, 1, 2}, Ink: grey}
	case GrainLine:
		return Style{Width: 0.5}
	case Sign:
		return Style{Width: 0.35}
	case Notch:
		return Style{Width: 0.5}
	case ScaleLine:
		return Style{Width: 0.25}
	case ScaleTick:
		return Style{Width: 0.13}
	case TrimGuide:
		return Style{Width: 0.18, Dash: []float64{3, 1.5}}
	case JoinLine:
		return Style{Width: 0.18, Dash: []float64{1.5, 1.5}}
	}
	return Style{Width: 0.2}
}

// String returns the role in plain words, as the legend of a sheet says it.
func (r Role) String() string {
	switch r {
	case CutLine:
		return "cut the fabric here"
	case FoamOutline:
		return "cut the foam here"
	case SeamLine:
		return "stitch here"
	case FoldLine:
		return "fold here"
	case CentreLine:
		return "centre line"
	case GrainLine:
		return "along the grain"
	case Notch:
		return "notch"
	case ScaleLine:
		return "scale bar"
	case ScaleTick:
		return "scale division"
	case TrimGuide:
		return "cut the paper here"
	case JoinLine:
		return "join the pages here"
	case FoamGuide:
		return "the foam's edge: do not cut"
	case Sign:
		return "sign"
	}
	return "guide"
}
