package shapefile

import (
	"fairedge/internal/curve"
	"fairedge/internal/problem"
)

// outlineID is the id of the outline in a drawing that carries a shape.
const outlineID = "outline"

// checkDrawing returns an error if the outline drawn is not the one that the data hold:
// someone has changed the drawing, and which of both is meant is not for us to say.
// Transforms and rewritten numbers that leave the line where it was are no change.
func checkDrawing(data []byte, net curve.Path) error {
	root, err := readTree(data)
	if err != nil {
		return err
	}
	x, y, stated := root.rootScale()
	if !stated {
		x, y = 1, 1 // a program that drops the size keeps the numbers, which are mm
	}
	strokes, err := svgStrokes(root, [2]float64{x, y})
	if err != nil {
		return err
	}
	for _, s := range strokes {
		if s.name == outlineID && s.closed && sameLine(joinedUp(s.segments), net) {
			return nil
		}
	}
	return problem.New(problem.NotAShape, "the line in the drawing is not the one that its data hold, so it was changed in another program",
		`bring the changed line in with "fairedge shape import --drawing", or use the file as it was`)
}

// sameLine reports whether both closed lines lie within the agreement of each other.
func sameLine(a, b curve.Path) bool { return liesAlong(a, b) && liesAlong(b, a) }

func liesAlong(a, b curve.Path) bool {
	if a.IsEmpty() || a.Len() > maxPieces {
		return false
	}
	for _, s := range a.Segments() {
		for k := range 8 {
			if _, d := b.Nearest(s.At(float64(k) / 8)); d > agreement {
				return false
			}
		}
	}
	return true
}
