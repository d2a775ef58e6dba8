package archive

import (
	_ "embed" // for the schema
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

//go:embed export-schema.json
var exportSchema string

// ExportSchema returns the JSON Schema (draft 7) of what Export writes.
func ExportSchema() []byte { return []byte(exportSchema) }

// exportFormat is the number of the form. It rises whenever a reader of the form before
// could misunderstand the file; a member that may be passed over does not raise it.
const exportFormat = 1

// The members of the document, which is written and read one of contents and one of
// revisions at a time. FORMAT.md and export-schema.json say what they mean.
const (
	memberFormat    = "fairedge_archive"
	memberContents  = "contents"
	memberJobs      = "jobs"
	memberNumber    = "number"
	memberForgotten = "forgotten"
	memberRevisions = "revisions"
)

// contentForm holds bytes as text or in base64, never both.
type contentForm struct {
	SHA256    string         `json:"sha256"`
	Text      *string        `json:"text,omitempty"`
	Base64    []byte         `json:"base64,omitempty"`
	Signature *signatureForm `json:"signature,omitempty"`
}

type signatureForm struct {
	Scheme string `json:"scheme"`
	Base64 []byte `json:"base64"`
}

func contentFormOf(sha256 string, data []byte) contentForm {
	form := contentForm{SHA256: sha256}
	if isPlainText(data) {
		text := string(data)
		form.Text = &text
	} else {
		form.Base64 = data
	}
	return form
}

// isPlainText reports whether people could read it: UTF-8 without control characters.
func isPlainText(data []byte) bool {
	return utf8.Valid(data) && !strings.ContainsFunc(string(data), func(r rune) bool {
		return unicode.IsControl(r) && r != '\n' && r != '\t' && r != '\r'
	})
}

// bytes returns what the form holds; false: both or neither.
func (c contentForm) bytes() ([]byte, bool) {
	if (c.Text == nil) == (c.Base64 == nil) {
		return nil, false
	}
	if c.Text != nil {
		return []byte(*c.Text), true
	}
	return c.Base64, true
}

type forgottenForm struct {
	At    string `json:"at"`
	Parts int    `json:"parts"`
}

type revisionForm struct {
	Revision  int        `json:"revision"`
	Order     int64      `json:"order"`
	Reason    Reason     `json:"reason"`
	Restored  int        `json:"restored_from,omitempty"`
	SavedAt   string     `json:"saved_at"`
	Program   string     `json:"program"`
	MadeOn    string     `json:"made_on,omitempty"`
	SetOf     int        `json:"set_of,omitempty"`
	Which     int        `json:"which,omitempty"`
	Width     *float64   `json:"width_mm,omitempty"`
	Depth     *float64   `json:"depth_mm,omitempty"`
	Perimeter *float64   `json:"perimeter_mm,omitempty"`
	Area      *float64   `json:"area_mm2,omitempty"`
	Within    *float64   `json:"within_mm,omitempty"`
	Words     *wordsForm `json:"words,omitempty"`
	Note      string     `json:"note,omitempty"`
	Parts     []partForm `json:"parts,omitempty"`
	Made      []madeForm `json:"made,omitempty"`
}

type wordsForm struct {
	Title    string `json:"title,omitempty"`
	Customer string `json:"customer,omitempty"`
	Contact  string `json:"contact,omitempty"`
	Place    string `json:"place,omitempty"`
	Chair    string `json:"chair,omitempty"`
}

type partForm struct {
	Role   Role   `json:"role"`
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
}

type madeForm struct {
	At      string `json:"at"`
	Program string `json:"program"`
	What    string `json:"what"`
}

// revisionFormOf writes a revision down; order is its place among all that are written.
func revisionFormOf(r Revision, order int64) revisionForm {
	f := revisionForm{
		Revision: r.Saved.Revision, Order: order, Reason: r.Reason, Restored: r.RestoredOf, SavedAt: r.SavedAt, Program: r.Program,
		MadeOn: r.MadeOn, SetOf: r.SetOf, Which: r.Which,
		Width: r.Width, Depth: r.Depth, Perimeter: r.Perimeter, Area: r.Area, Within: r.Within, Note: r.Note,
	}
	if !r.WordsGone {
		w := wordsForm(r.Words)
		f.Words = &w
	}
	for _, p := range r.Parts {
		f.Parts = append(f.Parts, partForm{p.Role, p.Name, p.Hash()})
	}
	for _, m := range r.Made {
		f.Made = append(f.Made, madeForm{m.SavedAt, m.Program, m.What})
	}
	return f
}

// history is what has been seen of a job: it tells whether the next revision can follow.
type history struct {
	forgotten bool  // its personal data was deleted once
	revisions int   // so far
	order     int64 // of the latest
}

// mostOrder is beyond every archive; sums with it stay far from overflowing.
const mostOrder = 1 << 40

// check says what is wrong with the next revision of the job, in one sentence.
func (h *history) check(f revisionForm) error {
	first, restored := f.Revision == 1, f.Reason == Restored
	switch {
	case f.Revision != h.revisions+1:
		return wrong("its revisions are not 1, 2, 3, ...")
	case f.Order <= h.order || f.Order > mostOrder:
		return wrong("its order does not rise")
	case f.Reason != Kept && f.Reason != Changed && f.Reason != Noted && !restored:
		return wrong("its reason is not known")
	case first != (f.Reason == Kept), restored != (f.Restored > 0), f.Restored < 0, f.Restored >= f.Revision:
		return wrong("its reason does not fit")
	case !isTime(f.SavedAt):
		return wrong("its time of saving is no time")
	case f.Words == nil && !h.forgotten:
		return wrong("its words are missing though they were never forgotten")
	}
	h.revisions, h.order = f.Revision, f.Order
	return f.checkContent()
}

// checkContent holds what was kept against the rules of keeping.
func (f revisionForm) checkContent() error {
	e := Entry{SetOf: f.SetOf, Which: f.Which, Note: f.Note, Sizes: Sizes{f.Width, f.Depth, f.Perimeter, f.Area, f.Within}}
	if f.Words != nil {
		e.Words = Words(*f.Words)
	}
	if f.MadeOn != "" {
		day, err := time.Parse(dayLayout, f.MadeOn)
		if err != nil {
			return wrong("its day of measurement is no day")
		}
		e.MadeOn = day
	}
	for _, p := range f.Parts {
		e.Parts = append(e.Parts, Part{Role: p.Role, Name: p.Name})
	}
	if err := e.check(); err != nil {
		return err
	}
	texts := []string{f.Program}
	for _, m := range f.Made {
		if !isTime(m.At) {
			return wrong("a time of making is no time")
		}
		texts = append(texts, m.Program, m.What)
	}
	for _, text := range texts {
		if err := checkText("record", text); err != nil {
			return err
		}
	}
	return nil
}

func isTime(text string) bool {
	t, err := time.Parse(timeLayout, text)
	return err == nil && t.Format(timeLayout) == text
}
