package curve

import "math"

// FitParams holds every threshold of FitClosed. Lengths are in millimetres: they
// stand for real things (a pen, a hand, a post notch), so they do not follow the
// size of the seat; Scaled converts them when the unit of the samples changes.
type FitParams struct {
	// Block is the length of outline whose samples are averaged into one point.
	// Larger: small fillets shrink (bias Block²/24R); smaller: slower.
	Block float64
	// ArcSmoothing is the standard deviation of the Gaussian that smooths the
	// samples before arc length is measured along them. Smaller: noise counts as
	// length; larger: small notches shorten. It touches arc length only.
	ArcSmoothing float64
	// CornerWindow is the length of the shorter pair of regression windows of the
	// corner test; the longer pair is CornerFar. Larger: notches merge; smaller:
	// noise turns directions.
	CornerWindow, CornerFar float64
	// CornerNoise is the noise of a sample, mm, above which the windows grow in
	// proportion, to at most twice.
	CornerNoise float64
	// CornerTurn is the least turn, in radians, of a corner. Smaller: wobble
	// becomes corners; larger: blunt corners are rounded off.
	CornerTurn float64
	// CornerGrowth is the greatest factor by which the turn may grow from the
	// short windows to the long ones: a corner keeps its turn, a fillet gains.
	CornerGrowth float64
	// CornerRadius is the largest radius that still counts as a corner drawn with
	// a pen. Smaller: a felt pen makes fillets; larger: small fillets get sharp.
	CornerRadius float64
	// CornerMask is the distance from a corner within which samples are ignored,
	// since the pen and the edge finder round them.
	CornerMask float64
	// NodeStep is the spacing of places where two pieces may meet in the first
	// cut. Larger: joints start far from their place; smaller: slower.
	NodeStep float64
	// NodeTurn is the greatest turn, in radians, between two such places.
	NodeTurn float64
	// PieceTurn is the greatest turn, in radians, of one cubic: a quarter circle
	// and a little.
	PieceTurn float64
	// LineRadius: a straight piece that joins a curve smoothly must have a radius
	// proven (two standard deviations) to be larger than this. Smaller: false
	// short lines beside corners; larger: straight edges become flat cubics.
	LineRadius float64
	// LineLength is the least length of a straight piece that joins a curve
	// smoothly.
	LineLength float64
	// LineSure is the length from which a straight piece needs no such proof, only
	// to be the shorter description: a maker's straight edge is that long.
	LineSure float64
	// Cost is what one free number of the outline must earn, as a multiple of the
	// Bayes information criterion's ln n. Smaller: follows noise; larger: misses
	// shape.
	Cost float64
	// Floor is the independent error, mm, that any block has at least. Smaller:
	// smooth wobble passes for shape; larger: coarser fits of clean samples.
	Floor float64
	// Resolution, if not 0, replaces description length: the outline gets the
	// fewest pieces that keep each within Resolution of the samples, rms, and
	// within FairPeak times as much at most. A bend smaller than that is the hand's,
	// not the seat's. Smaller: follows the hand; larger: loses shape.
	Resolution, FairPeak float64
	// FairWindow is the length, mm, over which residuals are averaged before they
	// are held against Resolution. Smaller: noise needs pieces; larger: short
	// bends are not seen.
	FairWindow float64
	// HandlePull is what a handle that is longer or shorter than a circular arc's by a
	// factor of e costs where Resolution decides, in squares of it. Smaller: handles
	// that follow the hand, even folded ones; larger: cubics become arcs.
	HandlePull float64
	// EdgeLeeway is how many times Resolution the samples may leave a straight edge,
	// rms; the root of it for the peak: a maker's edge is straighter than the hand that traced it. Smaller: a wavering
	// hand bends straight edges; larger: gentle bends are lost.
	EdgeLeeway float64
	// EdgeBow is how high a straight edge's samples may bow, as a multiple of
	// Resolution. Smaller: a wavering hand's edges stay bowed; larger: bows are lost.
	EdgeBow float64
	// EdgeContrast is how many times straighter than its neighbours a piece must be
	// to become a straight edge. Smaller: flat spots on a bow; larger: edges that run
	// into gentle curves stay curves.
	EdgeContrast float64
	// Outlier is the number of standard deviations at which a block's weight has
	// dropped to a quarter.
	Outlier float64
	// BridgeWeight is the weight of a bridged sample beside a seen one. A whole
	// bridge is one guess: more, and its neighbours' error becomes shape.
	BridgeWeight float64
	// BumpLength and BumpHeight bound a stretch that leaves the outline and comes
	// back, and is then taken for a stray mark: longer or higher is a shape.
	BumpLength, BumpHeight float64
	// BumpShare is the share of the outline beyond which such stretches are kept
	// after all: a shaking hand, not stray marks.
	BumpShare float64
	// MaxPieces bounds the result; more is a sign that the samples are no outline.
	MaxPieces int
}

// floor returns what a block may be off for nothing.
func (p FitParams) floor() float64 { return math.Max(p.Floor, p.Resolution) }

// DefaultFitParams returns the thresholds for seats traced by hand, in
// millimetres. Their values were found on synthetic seat outlines with known
// truth; FIT.md holds the measurements.
func DefaultFitParams() FitParams {
	return FitParams{
		Block: 1.5, ArcSmoothing: 1,
		CornerWindow: 5, CornerFar: 9, CornerNoise: 0.2, CornerTurn: 0.32, CornerGrowth: 1.45,
		CornerRadius: 2.5, CornerMask: 1.5,
		NodeStep: 9, NodeTurn: 0.16, PieceTurn: 1.9,
		LineRadius: 2500, LineLength: 25, LineSure: 60,
		Cost: 0.7, Floor: 0.02, FairPeak: 3, FairWindow: 5, HandlePull: 50, EdgeLeeway: 2, EdgeBow: 3, EdgeContrast: 4, Outlier: 4, BridgeWeight: 0.005,
		BumpLength: 14, BumpHeight: 3, BumpShare: 0.04, MaxPieces: 48,
	}
}

// Scaled returns the same thresholds for samples measured in a unit 1/k mm: the
// fit of samples stretched by k under Scaled(k) is the fit stretched by k.
func (p FitParams) Scaled(k float64) FitParams {
	for _, v := range []*float64{&p.Block, &p.ArcSmoothing, &p.CornerWindow, &p.CornerFar, &p.CornerNoise,
		&p.CornerRadius, &p.CornerMask, &p.NodeStep, &p.LineRadius, &p.LineLength, &p.LineSure,
		&p.BumpLength, &p.BumpHeight, &p.Floor, &p.Resolution, &p.FairWindow} {
		*v *= k
	}
	return p
}
