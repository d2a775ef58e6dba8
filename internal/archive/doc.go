// Package archive keeps every job of the shop in one SQLite file, so that a
// cushion can be cut again years later without the chair, the photo or the
// template.
//
// A job has a number that never changes and one or more revisions, 1, 2, 3, ...
// A revision holds what was known when it was saved: words (customer, place,
// chair), sizes, and parts: files and documents by their SHA-256, each stored
// once however often it is referred to. Nothing saved is changed afterwards; a
// correction, a note or a restored state is a new revision. The one exception is
// Forget, which deletes a customer's personal data for good.
//
// The order of things is the order in which they were saved (revision.id), never
// the clock, which may jump.
//
// Safe by construction: write-ahead log with synchronous = FULL, so that a save
// is in the file whole or not at all whatever kills the program or the power; one
// writer at a time by SQLite's own locks, the others wait; a damaged or newer
// file is recognised before anything is written to it.
//
// FORMAT.md documents the file.
package archive
