// Package likeness says how alike two seat outlines are, and finds the one among many.
//
// Three questions, three tools:
//
//   - Which of ten thousand kept outlines is this? Signature is a small fixed-size digest
//     of an outline; Index.Nearest compares it with all of them, however they are turned,
//     turned over or (if wanted) enlarged. Refine measures the best of them exactly.
//   - How far apart are two outlines, and where? Register lays one on the other so that
//     the distance is least; Compare reports the difference along the whole outline, both
//     as laid by their backs and as they fit best.
//   - Which chairs can share a template? Fits, FewestTemplates, Mean and Envelope.
//
// Lengths are in millimetres, angles in radians. Outlines are closed, counter-clockwise
// and simple, as package shape makes them.
package likeness
