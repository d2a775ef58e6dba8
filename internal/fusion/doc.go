// Package fusion makes one outline of several photos of the same template.
//
// Each photo has been measured by itself. Here its outline is laid on that of the best
// photo by the rigid motion that brings them nearest, each place weighted by the
// variance of the two; then at each place the distances across the outline are averaged.
//
// # What averaging takes away, and what not
//
// measure.ErrorParts parts each photo's error into independent quantities, each with its
// effect on every point of the outline. Some of them are the same quantity in all photos
// (the cards' print, the template's height, the tape), some may be (the lens of the same
// phone, which focusing moves; a card that was not touched; the template's buckles), and
// some belong to one photo alone (where its marks are seen; a card that was laid anew).
// With weights w_p and effects a_p of a quantity, the average has the error
//
//	Σ w_p a_p                   the same: one error, with each photo's own sign
//	Σ+ w_p a_p and Σ- w_p a_p   may be the same, correlation 0 to 1: those that push
//	                            one way add up, the two ways count as independent
//	Σ w_p |a_p|                 may be the same, sign unknown (the lens's axis turns
//	                            with the phone): all add up
//	w_p a_p, each by itself     the photo's own
//
// so no error is called smaller than it would be under any correlation that is possible
// (JCGM 100:2008, 5.2.2 and F.1.2).
//
// The weights are those of least variance for what is not the same in all photos: w_p is
// proportional to one over that variance. A photo whose lens or cards leave its outline
// uncertain there counts less there.
//
// # Photos that do not agree
//
// The photo that lies farthest from the average of the others, in standard deviations of
// that distance, is left out when it is farther than chance lets it be, and the rest are
// compared again. Of two that disagree neither can be blamed: then nothing is averaged,
// the outline is the better photo's, and their difference enters its uncertainty.
package fusion
