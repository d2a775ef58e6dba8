// Package pad turns a shape and a recipe into the pieces of a pad, with seam lines
// and marks.
//
// Lines, from the inside out. Everything is in the seat frame (millimetres, seen
// from above, back up, origin in the middle of the back edge); a clearance moves
// the first line inward.
//
//	template   what was traced (shape.Shape.Net)
//	finished   template less the clearance against arms and posts
//	foam       finished + oversize
//	seam       finished + ease, a share of the foam's thickness
//	cut        seam + seam allowance, on its own for each edge
//
// Ease is counted from the finished line, not from the oversized foam: a blank that
// is larger than its cover is what makes a cushion plump.
//
// Places on a seam are arc lengths in millimetres from the back centre,
// counter-clockwise as seen from above the finished pad: along the back to the
// left, down the left side, along the front to the right and up the right side.
// The second plate, which is the first one mirrored, and every strip use the same
// arc lengths, so that marks which meet at the machine carry the same number. When
// the cloth shrinks, the number is that of the finished pad, and the points are
// those of the piece as it is cut.
//
// A strip lies with its right side up, x along the seam in the sense above and y
// towards the top plate; y = 0 is its lower seam line.
package pad
