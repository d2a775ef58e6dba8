package pad

import "math"

// Params holds the thresholds of cutting that are not a shop's choice. Lengths in
// millimetres, angles in radians.
type Params struct {
	// Tolerance is the greatest error of a fitted curve: a fifth of what a plotter
	// resolves. Larger shows at notches, smaller only adds pieces.
	Tolerance float64
	// ArcTolerance is the accuracy of arc lengths. It must be well below what a
	// property of the pieces is promised to, 1e-6.
	ArcTolerance float64
	// CornerTurn is the least turn of a sharp corner: where the needle stays down and
	// the cloth is pivoted. Smaller: bends are called corners; larger: flat corners
	// lose their clip.
	CornerTurn float64
	// TightRadius and TightTurn bound a rounded corner that the trade still calls a
	// corner: no join may fall there.
	TightRadius, TightTurn float64
	// BackCornerTurn and BackCornerRadius bound a rounded back corner: the back ends in
	// its middle. Larger radii are a bowed seat, not a corner.
	BackCornerTurn, BackCornerRadius float64
	// LeastOpening is the lengthening of the raw edge over a bend, mm, below which no
	// relief is cut. Smaller: clips on waves of the hand; larger: tight small bends
	// without any.
	LeastOpening float64
	// JoinClear is how far a join stays from a corner or from the front centre: an
	// inch and a half, so that the lumps do not meet. Larger: strips that cannot be
	// joined anywhere.
	JoinClear float64
	// JoinStep is the spacing of the places tried for a join.
	JoinStep float64
	// BenchLeeway is how far the cut line of a thin pad may lie from the bench's rule
	// before it is asked about: an eighth of an inch.
	BenchLeeway float64
}

// DefaultParams returns the thresholds for seats in millimetres.
func DefaultParams() Params {
	return Params{
		Tolerance:    0.005,
		ArcTolerance: 1e-7,
		CornerTurn:   35 * math.Pi / 180,
		TightRadius:  40, TightTurn: 50 * math.Pi / 180,
		BackCornerTurn: 25 * math.Pi / 180, BackCornerRadius: 130,
		LeastOpening: 1,
		JoinClear:    38,
		JoinStep:     5,
		BenchLeeway:  3.2,
	}
}
