package curve

import (
	"fmt"
	"math"

	"fairedge/internal/problem"
)

// Join is what an offset does where the seam turns a corner and the offset pieces
// move apart: at convex corners when offsetting outward, at concave ones inward.
type Join int

const (
	// JoinMitre carries both edges on to where they meet. A tip farther from the
	// corner than MitreLimit times the allowance is cut off square at that distance.
	JoinMitre Join = iota
	// JoinRound swings the allowance round the corner in an arc.
	JoinRound
	// JoinTrimmed goes straight across, as a sewn corner is trimmed.
	JoinTrimmed
)

// Allowance says how far to move an outline outward: All for every piece, or one
// distance for each.
//
// Where two pieces with different allowances meet at a corner, JoinMitre carries
// both offset edges on to their meeting, so a rectangle W×H with the allowances
// a1..a4 gives (W+a2+a4)×(H+a1+a3); JoinRound blends between the two ends. Where
// they meet smoothly, or so flat that the edges would meet far away, the offset
// steps square to the seam at the joint: the wider allowance keeps its full width
// to the very end of its piece, as a maker would mark it.
type Allowance struct {
	// All is in mm, positive outward. Used where ByPiece is nil.
	All float64
	// ByPiece has one value in mm for each piece of the outline, or is nil.
	ByPiece []float64
	// Join shapes the corners.
	Join Join
	// MitreLimit bounds the distance of a mitred tip from its corner, in multiples
	// of the larger allowance there; 0 stands for DefaultMitreLimit. Smaller: common
	// right corners (1.41) lose their tips; larger: sharp corners waste cloth.
	MitreLimit float64
}

// DefaultMitreLimit leaves every corner of 29 degrees or more its tip.
const DefaultMitreLimit = 4

// Uniform returns the allowance of distance mm all round with mitred corners.
func Uniform(distance float64) Allowance { return Allowance{All: distance} }

// ByPiece returns the allowance with its own distance in mm for each piece, and
// mitred corners.
func ByPiece(distances []float64) Allowance {
	return Allowance{ByPiece: append([]float64{}, distances...)}
}

// WithJoin returns the allowance with corners of the given kind.
func (a Allowance) WithJoin(j Join) Allowance {
	a.Join = j
	return a
}

// at returns the allowance of piece i in mm.
func (a Allowance) at(i int) float64 {
	if a.ByPiece != nil {
		return a.ByPiece[i]
	}
	return a.All
}

func (a Allowance) mitreLimit() float64 {
	if a.MitreLimit == 0 {
		return DefaultMitreLimit
	}
	return a.MitreLimit
}

// check returns an error that says which value makes no sense for an outline of n
// pieces.
func (a Allowance) check(n int) error {
	if a.ByPiece != nil && len(a.ByPiece) != n {
		return problem.Newf(problem.Usage, "give one for each piece",
			"%d allowances were given for an outline of %d pieces", len(a.ByPiece), n)
	}
	for i := range n {
		if d := a.at(i); math.IsNaN(d) || math.Abs(d) > greatestAllowance {
			return problem.Newf(problem.Usage, fmt.Sprintf("use a distance up to %d mm", greatestAllowance),
				"the allowance of piece %d is %g mm", i, d)
		}
	}
	if l := a.mitreLimit(); !(l >= 1) {
		return problem.Newf(problem.Usage, "use 1 or more", "a mitre limit of %g makes no corner", l)
	}
	return nil
}

// greatestAllowance is a sanity bound in mm: no cushion is 10 m wide.
const greatestAllowance = 10000
