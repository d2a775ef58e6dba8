package pad

import (
	"math"

	"fairedge/internal/length"
)

// LongestBias returns the longest single strip at 45 degrees across cloth of the
// given width: width times √2.
func LongestBias(width length.Length) length.Length { return width * math.Sqrt2 }

// BiasFromArea returns the length of strip of the given width that a rectangle of
// cloth holds: its area over the strip's width. Joins and corners take 15 to 20 %
// of it in pieces of a yard.
func BiasFromArea(clothLength, clothWidth, strip length.Length) length.Length {
	return clothLength * clothWidth / strip
}

// BiasSquare returns the side of the square of cloth that holds the need of strip of
// the given width, by area.
func BiasSquare(need, strip length.Length) length.Length {
	return length.Length(math.Sqrt(float64(need) * float64(strip)))
}

// StripsAcross returns how many strips across cloth of the given width make up the
// need, and the length of cloth that they take side by side, without joins.
func StripsAcross(need, clothWidth, strip length.Length) (strips int, cloth length.Length) {
	strips = int(math.Ceil(float64(need/clothWidth) - 1e-9))
	return strips, length.Length(strips) * strip
}

// WrapSheet returns the sheet of bonded fibre that goes once round a cushion of the
// given width, depth and thickness from back to back, with two inches to trim each
// way: width + thickness + 2 in by 2 (depth + thickness) + 2 in.
func WrapSheet(width, depth, thickness length.Length) (across, round length.Length) {
	return width + thickness + 2*length.Inch, 2*(depth+thickness) + 2*length.Inch
}

// WrappedLength returns the finished length of a piece that wraps a pad of the given
// depth and thickness from the back over the front and back underneath: 2 D + t over
// a square front, and over a half-round one 2 (D - t/2) + π t/2.
func WrappedLength(style Style, depth, thickness length.Length) length.Length {
	if style == Bullnose {
		return 2*(depth-thickness/2) + math.Pi/2*thickness
	}
	return 2*depth + thickness
}
