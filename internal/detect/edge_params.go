package detect

import (
	"fmt"
	"image"

	"fairedge/internal/photo"
)

// EdgeRequest is what the person says of the traced edge.
type EdgeRequest struct {
	Kind   EdgeKind     // Auto: the program finds out
	Inside *photo.Point // a place inside the outline, or nil
}

// EdgeParams holds every threshold of the search for the traced edge. Lengths
// are in millimetres on the bench unless a field says otherwise.
type EdgeParams struct {
	// ViewScale is the size of a pixel of the search view. Finer costs time (four
	// times for half the size); coarser loses pencil lines of 0.5 mm.
	ViewScale float64
	// ViewPixels bounds the size of the search view; a wider bench is seen coarser.
	// More costs time, fewer loses thin lines in wide photos.
	ViewPixels int
	// Reach is how far from the cards the outline may lie: the largest seat. Less
	// cuts large seats off, more lets clutter in.
	Reach float64
	// PenWidest is the widest stroke that counts as a line. Less loses broad
	// markers, more lets tools and shadows in.
	PenWidest float64
	// Levels are the contrasts of line against ground (in grey levels of the photo)
	// that are tried, strongest first: a dark line wins over a faint one. Below the
	// last, paper grain and JPEG noise look like lines.
	Levels []int
	// Speck is the least length of a stroke that takes part. Less lets noise in,
	// more loses dashed lines.
	Speck float64
	// Gap is the longest gap in a line that is carried over: 30 mm as drawn, and
	// what thinning takes off the ends of a 4 mm line. More joins things that do
	// not belong together.
	Gap float64
	// GapTurn is how far (radians) the line's direction at a gap may miss the way
	// across it. Less fails on curves, more joins writing to the line.
	GapTurn float64
	// CardMargin is how far around a card nothing is believed: its cut edge and its
	// shadow. Less takes the shadow for a line, more hides lines near the card.
	CardMargin float64
	// MinArea is the least enclosed area, mm². Less lets mugs and rulers in, more
	// loses the smallest stools (a disc of 140 mm has 154 cm²).
	MinArea float64
	// SideArea is the largest area beside the outline (loop of a letter, sliver
	// between two lines) about which the darker, shorter way round is taken, mm².
	SideArea float64
	// GroundStep is the difference of grey or colour (grey levels) between the two
	// sides of a line above which it is a border of something instead. Less rejects
	// lines in uneven light, more takes shadows along sheet borders for lines.
	GroundStep float64
	// LineShare is the least share of an outline that must show ink.
	LineShare float64
	// Rival is the share of the best candidate's score at which another one is
	// equally plausible. Higher guesses, lower asks needlessly.
	Rival float64
	// SheetSteps holds the differences of grey per 2 mm across which a sheet is
	// still one surface, smallest first. Too small breaks sheets at shading, too
	// large lets them flow into the bench.
	SheetSteps []float64
	// BorderStep is the least contrast (grey levels) between a cut template and the
	// bench around it.
	BorderStep float64
	// ClearCut is the contrast (grey levels) with the bench at which a closed surface
	// may itself be the template, so that lines too faint for the first level are
	// then looked for on closed surfaces only. Less would overlook a pencil line on a
	// sheet that leaves the photo when a blank sheet lies beside it; more takes the
	// printed grid of a mat apart for nothing.
	ClearCut float64
	// EdgeReach is how far the line's ends may stop short of the sheet's edge.
	EdgeReach float64
	// Step is the distance of samples along the edge. More hides small features,
	// less costs time and adds nothing (ink is rough at 1 mm).
	Step float64
	// CornerTurn is the turn (radians) within CornerSpan that makes a corner: arms
	// are then measured apart and carried on to where they meet.
	CornerTurn, CornerSpan float64
	// Stray is how far a sample may lie from the smooth course of its neighbours;
	// beyond, something else was measured (writing, a tick) and the course counts.
	// Less flattens real wiggles, more lets writing pull.
	Stray float64
	// TickShortest and TickLongest bound the length of a mark across the edge.
	TickShortest, TickLongest float64
}

// DefaultEdgeParams returns the thresholds used unless a test varies them.
// Values without a source beside them are empirical: chosen on rendered photos.
func DefaultEdgeParams() EdgeParams {
	return EdgeParams{
		ViewScale: 0.5, ViewPixels: 3_000_000, Reach: 900,
		PenWidest: 5, Levels: []int{56, 34, 20, 12}, Speck: 6,
		Gap: 36, GapTurn: 0.6, CardMargin: 4,
		MinArea: 15_000, SideArea: 3_000, GroundStep: 28, LineShare: 0.8, Rival: 0.8,
		SheetSteps: []float64{4, 6, 9, 13}, BorderStep: 12, ClearCut: 80, EdgeReach: 12,
		Step: 0.8, CornerTurn: 0.6, CornerSpan: 5, Stray: 0.22,
		TickShortest: 5, TickLongest: 40,
	}
}

// Check reports the first threshold that makes no sense.
func (p EdgeParams) Check() error {
	switch {
	case !(p.ViewScale > 0 && p.ViewScale <= 2):
		return fmt.Errorf("the edge's ViewScale %v is not in (0, 2] mm", p.ViewScale)
	case p.ViewPixels < 10_000:
		return fmt.Errorf("the edge's ViewPixels %d is below 10000", p.ViewPixels)
	case len(p.Levels) == 0 || len(p.SheetSteps) == 0:
		return fmt.Errorf("the edge's Levels and SheetSteps must not be empty")
	case !(p.Step > 0 && p.Step < 5):
		return fmt.Errorf("the edge's Step %v is not in (0, 5) mm", p.Step)
	case !(p.PenWidest > 2*p.ViewScale):
		return fmt.Errorf("the edge's PenWidest %v is below two view pixels", p.PenWidest)
	case !(p.Reach > 0 && p.MinArea > 0 && p.Gap >= 0 && p.Speck >= 0):
		return fmt.Errorf("the edge's Reach, MinArea, Gap and Speck must be positive")
	}
	return nil
}

// EdgeCandidate is an outline that was considered.
type EdgeCandidate struct {
	Kind     EdgeKind
	Outline  []photo.Point // coarse, closed, about every 2 mm
	AreaMM2  float64
	Contrast float64 // grey levels of line against ground, or across a cut edge
	Seen     float64 // share of the outline that shows ink or edge, 0 to 1
	Score    float64
	Level    int    // contrast threshold at which it was found
	Verdict  string // "chosen", or why not
}

// EdgeEvidence tells how the traced edge was found.
type EdgeEvidence struct {
	Kind        EdgeKind // decided
	Why         string   // why this kind
	Tried       []string // stages in order, in words
	Candidates  []EdgeCandidate
	View        *image.Gray // the bench seen from above, as searched
	ViewScaleMM float64     // millimetres per pixel of View
	Skeleton    *image.Gray // lines at the chosen level, thinned and bridged; nil if none
	Samples     int
	Strayed     int     // samples that left the smooth course and were put back on it
	BridgedMM   float64 // length of edge carried over gaps
	LineWidthMM float64 // median width of the ink, 0 for a cut edge
	BlurPx      float64 // median blur of the edges, standard deviation in px
}
