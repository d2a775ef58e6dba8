package measure

import (
	"fairedge/internal/camera"
	"fairedge/internal/photo"
)

// quarterTurns returns by how many quarter turns, clockwise, EXIF's orientation
// turned the stored picture upright (EXIF 2.32, tag 0x0112), and false for the four
// that mirror it. Not stated counts as upright.
func quarterTurns(orientation int) (int, bool) {
	switch orientation {
	case 0, 1:
		return 0, true
	case 6:
		return 1, true
	case 3:
		return 2, true
	case 8:
		return 3, true
	}
	return 0, false
}

// storedSize returns the size of the stored picture from that of the upright one.
func storedSize(orientation, width, height int) (int, int) {
	if turns, _ := quarterTurns(orientation); turns%2 == 1 {
		return height, width
	}
	return width, height
}

// uprightFromStored turns a pixel's place; width and height are the upright
// picture's.
func uprightFromStored(p photo.Point, orientation, width, height int) photo.Point {
	w, h := float64(width), float64(height)
	switch turns, _ := quarterTurns(orientation); turns {
	case 1:
		return photo.Point{X: w - p.Y, Y: p.X}
	case 2:
		return photo.Point{X: w - p.X, Y: h - p.Y}
	case 3:
		return photo.Point{X: p.Y, Y: h - p.X}
	}
	return p
}

// storedFromUpright is the inverse of uprightFromStored: so many turns more make a
// whole one. Width and height are again the upright picture's.
func storedFromUpright(p photo.Point, orientation, width, height int) photo.Point {
	w, h := float64(width), float64(height)
	switch turns, _ := quarterTurns(orientation); turns {
	case 1:
		return photo.Point{X: p.Y, Y: w - p.X}
	case 2:
		return photo.Point{X: w - p.X, Y: h - p.Y}
	case 3:
		return photo.Point{X: h - p.Y, Y: p.X}
	}
	return p
}

// uprightLens turns a lens of the stored picture with it. The decentering is a
// vector q = (p2, p1): Brown's terms are q r² + 2 n (q·n), which turns as n does.
func uprightLens(lens camera.Lens, orientation, width, height int) camera.Lens {
	up := lens
	up.Centre = uprightFromStored(lens.Centre, orientation, width, height)
	switch turns, _ := quarterTurns(orientation); turns {
	case 1: // x right goes down, y down goes left
		up.P2, up.P1 = -lens.P1, lens.P2
	case 2:
		up.P2, up.P1 = -lens.P2, -lens.P1
	case 3:
		up.P2, up.P1 = lens.P1, -lens.P2
	}
	return up
}
