// Package nest lays outlines of any simple form on cloth of a given width, or on
// sheets of a given size, in as little length as it can find: two-dimensional
// irregular strip packing with continuous positions and chosen turns.
//
//	y (across the cloth)
//	^ +--------------------------------+---> width
//	| |  pieces, in mm                 |
//	| +--------------------------------+
//	+-----> x (along the cloth): the used length is what is asked for
//
// # Method
//
// The strip is made a little too short, the pieces are let overlap, and the sum of
// the weighted depths of overlap is lessened by moving one piece at a time to its
// best place; the weights of pairs that stay in conflict grow, so that every dead
// end is left in time (guided local search). A layout without overlap is the new
// best, and the strip is shortened again. When no way is found the layout is
// disrupted by swapping large pieces; at the end the best layout is squeezed in ever
// smaller steps. The frame is that of
//
//   - J. Egeblad, B. K. Nielsen, A. Odgaard: Fast neighborhood search for two- and
//     three-dimensional nesting problems, EJOR 183 (2007): overlap minimisation,
//     guided weights.
//   - S. Umetani et al.: Solving the irregular strip packing problem via guided local
//     search for overlap minimization, ITOR 16 (2009).
//   - T. Imamichi, M. Yagiura, H. Nagamochi: An iterated local search algorithm based
//     on nonlinear programming for the irregular strip packing problem, Discrete
//     Optimization 6 (2009): depth by the no-fit polygon, all pieces moved at once,
//     swaps.
//   - A. Elkeran: A new approach for sheet nesting problem using guided cuckoo search
//     and pairwise clustering, EJOR 231 (2013).
//   - J. Gardeyn, G. Vanden Berghe, T. Wauters: An open-source heuristic to reboot
//     2D nesting research, arXiv:2509.13329 (2025): exploration, then compression;
//     samples refined by descent; weights multiplied by the share of overlap.
//
// What is our own: the depth of a pair is read from a grid over its no-fit polygon
// that is exact (field.go), and a piece slides to exact contacts, the corners where
// two no-fit borders cross (descend.go).
//
// # Promises
//
// No result leaves the package before package nestcheck, which shares no code with
// it, has proven in whole-number arithmetic that no two pieces overlap, that all lie
// on the cloth and that buffers, turns and repeats are kept. A result is never longer
// than a lay in rows and never longer than a bottom-left fill. The same problem with
// the same seed and the same work gives the same bytes on any number of processors.
package nest
