package cloth

import "fairedge/internal/nest"

// Params are the thresholds of laying. Lengths in mm.
type Params struct {
	// Flatten is how far the chords of a curved cut line may lie inside it. Larger: curved
	// pieces come nearer to each other than the gap says, by up to twice this; smaller:
	// more corners, a slower search for less than the chalk's width.
	Flatten float64
	// Work is the search's budget for one lay; see nest.Options. It bounds the time and,
	// unlike a clock, gives every machine the same lay.
	Work int64
	// WorkEach bounds it for small sets: so much for each piece. Smaller: small sets are
	// laid less well; larger: time spent on lays that cannot be bettered.
	WorkEach int64
	// Phases is how many places of the first motif are tried where it is free.
	Phases int
	// LeftCell is the step in which left-over cloth is looked for, LeftLeast the shortest
	// side worth keeping and LeftMost the number of pieces named.
	LeftCell, LeftLeast float64
	LeftMost            int
}

// DefaultParams returns the thresholds for seats.
func DefaultParams() Params {
	return Params{Flatten: 0.2, Work: nest.DefaultWork, WorkEach: 100_000, Phases: 4, LeftCell: 5, LeftLeast: 100, LeftMost: 4}
}

// workFor returns the budget for so many pieces.
func (p Params) workFor(pieces int) int64 { return min(p.Work, p.WorkEach*int64(pieces)) }

// rounding is what lengths that should be equal may differ by, mm: a few nanometres.
const rounding = 1e-5
