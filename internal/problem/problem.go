// Package problem describes failures that a person can act on: what is wrong,
// where, and what to do about it, in one sentence.
package problem

import (
	"errors"
	"fmt"
)

// Kind sorts failures by what the person has to change. Package cli maps each
// kind to its own exit code.
type Kind int

// The kinds of failure. The order is not stored anywhere; names are.
const (
	Internal          Kind = iota // a fault in the program itself
	Usage                         // a flag or argument that makes no sense
	FileAccess                    // a file or folder that cannot be read or written
	FileExists                    // an output that would overwrite something
	NotAPicture                   // the bytes are no JPEG, PNG or HEIC
	DamagedImage                  // truncated or broken picture data
	ImageTooLarge                 // more pixels than the limit
	ImageTooSmall                 // too few pixels to measure on
	UnsupportedImage              // a kind of picture we do not read (say, some CMYK)
	NoCard                        // no scale card found in the photo
	TooFewMarks                   // a card was found but too little of it is visible
	CardTooSmall                  // the card covers too few pixels
	CardTooBlurred                // the card's edges are too soft
	NoOutline                     // no closed edge found
	OutlineCutOff                 // the edge leaves the photo
	AmbiguousOutline              // two outlines are equally plausible
	NotAShape                     // a file that holds no sound shape or outline
	PoorFit                       // the measurement misses the accuracy it promises
	NotAccurateEnough             // the accuracy asked for was not reached
	NotAnArchive                  // the file is no archive of jobs
	ArchiveNewer                  // an archive of a later version of the program
	ArchiveDamaged                // an archive that cannot be read any more, or not all of it
	ArchiveBusy                   // another program is writing, or has changed the job meanwhile
	NotKept                       // the archive holds no such job, revision or file
	Cancelled                     // the person stopped the run
)

// String returns the kind's stable name, as it stands in machine-readable output.
func (k Kind) String() string {
	if name, ok := kindNames[k]; ok {
		return name
	}
	return "internal"
}

var kindNames = map[Kind]string{
	Internal: "internal", Usage: "usage", FileAccess: "file-access", FileExists: "file-exists",
	NotAPicture: "not-a-picture", DamagedImage: "damaged-image", ImageTooLarge: "image-too-large",
	ImageTooSmall: "image-too-small", UnsupportedImage: "unsupported-image", NoCard: "no-card",
	TooFewMarks: "too-few-marks", CardTooSmall: "card-too-small", CardTooBlurred: "card-too-blurred",
	NoOutline: "no-outline", OutlineCutOff: "outline-cut-off", AmbiguousOutline: "ambiguous-outline",
	NotAShape: "not-a-shape", PoorFit: "poor-fit", NotAccurateEnough: "not-accurate-enough", Cancelled: "cancelled",
	NotAnArchive: "not-an-archive", ArchiveNewer: "archive-newer", ArchiveDamaged: "archive-damaged",
	ArchiveBusy: "archive-busy", NotKept: "not-kept",
}

// Error is a failure with its remedy. What says what is wrong and where ("only 9
// of 130 card marks can be seen"); Remedy says what to do ("keep the whole card
// in the picture"). Cause, if any, is the underlying error, for unwrapping.
type Error struct {
	Kind   Kind
	What   string
	Remedy string
	Cause  error
}

// Error returns the one sentence a person reads.
func (e *Error) Error() string {
	if e.Remedy == "" {
		return e.What
	}
	return e.What + ": " + e.Remedy
}

// Unwrap returns the underlying error, or nil.
func (e *Error) Unwrap() error { return e.Cause }

// New returns a failure of the given kind. what and remedy start in lower case
// and carry no full stop.
func New(kind Kind, what, remedy string) *Error {
	return &Error{Kind: kind, What: what, Remedy: remedy}
}

// Newf is New with what formatted by fmt.Sprintf; the remedy stands first so
// that the format's arguments can follow it.
func Newf(kind Kind, remedy, format string, args ...any) *Error {
	return New(kind, fmt.Sprintf(format, args...), remedy)
}

// Because returns the failure with its underlying error recorded.
func (e *Error) Because(cause error) *Error {
	e.Cause = cause
	return e
}

// KindOf returns the kind of the first *Error in err's chain, or Internal.
func KindOf(err error) Kind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	return Internal
}
