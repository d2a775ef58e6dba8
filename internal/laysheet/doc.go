// Package laysheet draws lays to scale on pages: the cloth with its pieces, numbered, and
// the places to chalk; the foam sheets with their blanks; the list of all places. It knows
// paper and words; package cloth knows where everything lies.
package laysheet
