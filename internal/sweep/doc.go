// Package sweep photographs imagined benches whose truth is known, measures them with
// package measure, and tells how far off it was and how often the stated uncertainty
// held. The command "fairedge accuracy" writes its tables; the tests of package measure
// draw their scenes here.
//
// The truth is a camera over the bench in its own words: marks are projected step by
// step, sharing no code with package camera, so that the two can contradict each other.
// Scenes depend on their seed alone: however many processors share the work, the tables
// are the same.
package sweep
