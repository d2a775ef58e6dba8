// Package cloth places pieces on cloth and foam and counts material: what to buy, where
// every piece is chalked, what is left over.
//
// The cloth lies right side up, its start towards the person:
//
//	y (along the cloth, from the squared line at its start)
//	^
//	| selvedge |                      | selvedge
//	|          |   usable width       |
//	+----------+----------------------+------> x (across, from the left edge)
//
// All lengths are millimetres of cloth. The squared line is drawn across the cloth a
// little in from its start, which shops seldom cut square; y is measured from it, x from
// the outer edge of the left selvedge, so that every number can be read off a tape. A
// piece that is not turned lies with its back to the far end: the grain runs from the
// front of the seat to its back.
//
// The places are found, and proven free of overlap, by package nest. Long strips need no
// search: a strip that leaves no room beside it for anything else parts the cloth in two,
// and two lays one behind the other never take more than one with the strip between. So
// such strips come last, side by side.
package cloth
