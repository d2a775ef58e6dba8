// Package measure is where pixels become millimetres, with the error of doing so.
//
// # Frames
//
//   - Photo: photo.Point, pixels of the upright picture, x right, y down, the
//     centre of the first pixel at (0.5, 0.5).
//   - Card: plane.Point, mm, y up, origin in the card's middle, nominal lengths
//     as drawn; one frame for each card.
//   - Gauge: plane.Point, mm, y up. The card frame of the card that covers the most
//     of the photo, true lengths. Only the solver uses it.
//   - Plane: plane.Point, mm, y up, true lengths, seen from above. Origin in the
//     middle of the card with the lowest ID, +y along the photo's up at the middle
//     of the marks. Every result is in this frame. Its plane is the one that the
//     template lies on: Input.TemplateHeight above the one that the cards lie on.
//   - Camera: package camera; mm, x right, y down, z out of the lens.
//
// Photo y runs down and plane y runs up. It turns over in the rotation of the
// camera's pose and nowhere else (see poseFromHomography): all frames of space are
// right-handed, and a bench seen from above is never mirrored.
//
// # Method
//
// One photo of a few flat cards does not determine camera, lens, flatness and
// print; what is known beforehand of each (Priors) does the rest. Calibrate
// minimises
//
//	Σ ρ(|seen - projected|² / σ²) + Σ ((θ - mean) / sd)²
//
// over all of them together: the most probable state (maximum a posteriori). The
// inverse of its Hessian is the covariance that Budget carries to the outline to
// first order (JCGM 100:2008, 5.2).
package measure
