// Package shapefile writes one seat shape to a file that stands for itself and reads
// it back: JSON with a published schema, and SVG that any program shows and that
// carries the same JSON. It also reads what others have: the report of a measured
// photo, and outlines drawn elsewhere as SVG or DXF; and it makes shapes from typed
// measures.
//
// # The JSON form
//
// One object. schema.json beside this file (printed by "fairedge shape schema") is
// its JSON Schema; in words:
//
//   - fairedge_shape is the version of the form, 1. Fields are added, never renamed or
//     given another meaning; a reader passes over what it does not know. A change that
//     an old reader would misunderstand gets a new number, which old readers refuse.
//   - Every coordinate is in millimetres in the seat frame (see package shape): y
//     towards the back, x to the right as seen from above, origin in the middle of the
//     back edge, counter-clockwise. Numbers are written so that they read back as the
//     same float64, bit for bit.
//   - outline has one entry a piece: a line with its two ends, or a cubic Bezier with
//     its four control points. A line may have four points too; the inner two do not
//     shape it and are kept only so that nothing is lost.
//   - edges, back, ticks and seat_from_plane are those of shape.Shape. size, and the
//     length of an edge, follow from the outline; they may be left out, and a file whose
//     sizes contradict its outline is refused.
package shapefile
