package archive

import (
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"fairedge/internal/problem"
)

// Words are what people say of a job: its personal data. Every field may be
// empty and may be in any script.
type Words struct {
	Title    string // what stands on the sheets
	Customer string
	Contact  string // telephone, mail, address
	Place    string // where the chair stands: "dining room"
	Chair    string // "ladder-back, oak"
}

// Sizes are the chief measures of the shape, in millimetres and square
// millimetres; nil: not known. Within is the accuracy of the outline all round,
// 19 of 20.
type Sizes struct {
	Width, Depth, Perimeter, Area, Within *float64
}

// Role says what a part is for.
type Role string

// The roles of parts. Drawing, Picture and Measurement are the files of a run, given
// out again by their names; the others are documents for the program.
const (
	RolePhoto       Role = "photo"       // the photo as taken, less private EXIF
	RoleMeasurement Role = "measurement" // measurement.json: sizes, uncertainty, budget, cards, prints, marks
	RoleShape       Role = "shape"       // the shape as JSON (package shapefile)
	RoleSamples     Role = "samples"     // the raw samples of the edge (package edgesamples)
	RoleRecipe      Role = "recipe"      // the recipe of the pieces, as text, with its version
	RolePiece       Role = "piece"       // one piece as the recipe made it
	RoleDrawing     Role = "drawing"     // SVG, PDF or DXF as written
	RolePicture     Role = "picture"     // check pictures
)

func roles() []Role {
	return []Role{RolePhoto, RoleMeasurement, RoleShape, RoleSamples, RoleRecipe, RolePiece, RoleDrawing, RolePicture}
}

// Part is one document of a job. Role and Name together are unique in a job; Name
// is a plain file name.
type Part struct {
	Role Role
	Name string
	Data []byte
}

// Entry is a job to be saved.
type Entry struct {
	Words
	SetOf int // how many chairs are alike; 0: not said
	Which int // which of them this is, from 1; 0: not said
	// MadeOn is the day of the measurement; only year, month and day are kept; the
	// zero time: not known.
	MadeOn time.Time
	Sizes
	Parts []Part
	Note  string // stays with this revision; empty: none
}

// Limits of what is kept: beyond them is a slip.
const (
	longestWords = 4000      // characters of one field
	longestName  = 255       // bytes of a part's name
	largestPart  = 512 << 20 // bytes; SQLite itself takes up to 1e9
	largestSet   = 1000      // chairs
	widestSize   = 1e9       // mm and mm²: finite and beyond every seat
	dayLayout    = "2006-01-02"
)

// check says what cannot be kept of the entry, in one sentence.
func (e Entry) check() error {
	for _, f := range []struct{ what, text string }{
		{"title", e.Title}, {"customer", e.Customer}, {"contact", e.Contact},
		{"place", e.Place}, {"chair", e.Chair}, {"note", e.Note},
	} {
		if err := checkText(f.what, f.text); err != nil {
			return err
		}
	}
	if err := e.checkSet(); err != nil {
		return err
	}
	if y := e.MadeOn.Year(); !e.MadeOn.IsZero() && (y < 1 || y > 9999) {
		return problem.New(problem.Usage, "the date of the measurement is out of range", "write it like 2026-01-31")
	}
	for _, size := range []*float64{e.Width, e.Depth, e.Perimeter, e.Area, e.Within} {
		if size != nil && !(*size >= 0 && *size <= widestSize) {
			return problem.Newf(problem.Usage, "measure the seat again", "a size of %g cannot be kept", *size)
		}
	}
	return checkParts(e.Parts)
}

func (e Entry) checkSet() error {
	switch {
	case e.SetOf < 0 || e.SetOf > largestSet || e.Which < 0 || e.Which > largestSet:
		return problem.Newf(problem.Usage, "use numbers from 1 to 1000", "chair %d of a set of %d cannot be", e.Which, e.SetOf)
	case e.SetOf > 0 && e.Which > e.SetOf:
		return problem.Newf(problem.Usage, "check both numbers", "chair %d of a set of %d cannot be", e.Which, e.SetOf)
	}
	return nil
}

func checkText(what, text string) error {
	if !utf8.ValidString(text) {
		return problem.Newf(problem.Usage, "type it again", "the %s is not readable text (UTF-8)", what)
	}
	if utf8.RuneCountInString(text) > longestWords {
		return problem.Newf(problem.Usage, "keep long texts in a file of their own", "the %s is longer than %d characters", what, longestWords)
	}
	if i := strings.IndexFunc(text, func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }); i >= 0 {
		return problem.Newf(problem.Usage, "type it again without it", "the %s has a control character in it", what)
	}
	return nil
}

func checkParts(parts []Part) error {
	known := map[Role]bool{}
	for _, r := range roles() {
		known[r] = true
	}
	seen := map[[2]string]bool{}
	for _, p := range parts {
		key := [2]string{string(p.Role), p.Name}
		switch {
		case !known[p.Role]:
			return problem.Newf(problem.Usage, "leave it out", "%q is no kind of part that is kept", p.Role)
		case !plainName(p.Name):
			return problem.Newf(problem.Usage, "give the file a plain name", "%q cannot name a file in the archive", p.Name)
		case len(p.Data) > largestPart:
			return problem.Newf(problem.Usage, "keep it elsewhere", "%s is larger than %d megabytes", p.Name, largestPart>>20)
		case seen[key]:
			return problem.Newf(problem.Usage, "give each its own name", "%s is there twice", p.Name)
		}
		seen[key] = true
	}
	return nil
}

// plainName accepts what can be written as a file again on every system.
func plainName(name string) bool {
	return name != "" && name != "." && name != ".." && len(name) <= longestName && utf8.ValidString(name) &&
		!strings.ContainsFunc(name, func(r rune) bool { return unicode.IsControl(r) || strings.ContainsRune(`/\:`, r) })
}
