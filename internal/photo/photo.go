// Package photo reads a phone picture (JPEG, PNG, HEIC) and hands it on upright,
// with what its EXIF says of the lens and nothing else of it.
package photo

// Point is a place in the upright picture, in pixels: x to the right, y down,
// the centre of the first pixel at (0.5, 0.5), its outer corner at (0, 0). It
// never converts to or from plane.Point by assignment; package measure alone
// does that.
type Point struct{ X, Y float64 }

// Photo is an upright picture in memory. Read-only after Read.
//
// Luma is the JPEG's own grey (Y' of BT.601, full range, with its tone curve
// still on), one byte a pixel, row by row. Cb and Cr are the colour differences
// (128 = none) at half the size in both directions, rounded up.
type Photo struct {
	Width, Height int
	Luma          []uint8
	Cb, Cr        []uint8
	Lens          Lens
}

// ChromaSize returns the width and height of the Cb and Cr planes.
func (p *Photo) ChromaSize() (width, height int) { return (p.Width + 1) / 2, (p.Height + 1) / 2 }

// Lens is what the file says of the camera. Zero values mean "not said".
type Lens struct {
	Make, Model string
	FocalMM     float64 // true focal length
	Focal35MM   float64 // 35 mm equivalent, as stated
	// Orientation is the EXIF value that was applied, 1 to 8. A HEIC's container can
	// say more than one turn and mirroring; then it is the one that equals them all.
	Orientation int
	// Cropped: the size that EXIF records differs from the picture's, so the focal
	// length cannot be turned into pixels.
	Cropped bool
	// Zoomed: digital zoom is stated, or the 35 mm equivalent does not match the
	// focal length of a phone's main lens without it.
	Zoomed bool
}
