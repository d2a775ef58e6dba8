package cli

import "fairedge/internal/problem"

// exitCodes gives every kind of failure its own exit code, so that a script can
// tell them apart. Codes never change their meaning; 1 is a fault of the program.
func exitCodes() map[problem.Kind]int {
	return map[problem.Kind]int{
		problem.Internal:          1,
		problem.Usage:             2,
		problem.FileAccess:        3,
		problem.FileExists:        4,
		problem.NotAPicture:       10,
		problem.DamagedImage:      11,
		problem.ImageTooLarge:     12,
		problem.ImageTooSmall:     13,
		problem.UnsupportedImage:  14,
		problem.NotAShape:         15,
		problem.NoCard:            20,
		problem.TooFewMarks:       21,
		problem.CardTooSmall:      22,
		problem.CardTooBlurred:    23,
		problem.NoOutline:         30,
		problem.OutlineCutOff:     31,
		problem.AmbiguousOutline:  32,
		problem.PoorFit:           40,
		problem.NotAccurateEnough: 41,
		problem.NotAnArchive:      50,
		problem.ArchiveNewer:      51,
		problem.ArchiveDamaged:    52,
		problem.ArchiveBusy:       53,
		problem.NotKept:           54,
		problem.Cancelled:         130,
	}
}
