package archive

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"
)

// phrases are the personal words of some jobs. Names (customer, contact) are
// looked for anywhere; the other words (title, place, chair) are ordinary words, and
// a string of a document goes only if it is one of them as a whole.
type phrases struct {
	names  []string // as typed
	folded []string // the names, folded
	whole  []string // folded
}

func phrasesOf(ctx context.Context, q querier, jobs []int) (p phrases, err error) {
	for _, job := range jobs {
		rows, err := collect(ctx, q, func(rows *sql.Rows) (w Words, err error) {
			return w, rows.Scan(&w.Title, &w.Customer, &w.Contact, &w.Place, &w.Chair)
		}, "SELECT w.title, w.customer, w.contact, w.place, w.chair FROM words w JOIN revision r ON r.id = w.revision WHERE r.job = ? ORDER BY r.id", job)
		if err != nil {
			return p, err
		}
		for _, w := range rows {
			for _, name := range []string{w.Customer, w.Contact} {
				if name = strings.TrimSpace(name); utf8.RuneCountInString(name) >= 2 && !slices.Contains(p.names, name) {
					p.names = append(p.names, name)
					p.folded = append(p.folded, fold(name))
				}
			}
			for _, words := range []string{w.Title, w.Place, w.Chair, w.Customer, w.Contact} {
				if words = strings.TrimSpace(fold(words)); words != "" {
					p.whole = append(p.whole, words)
				}
			}
		}
	}
	return p, nil
}

// inText reports whether a name stands in the text.
func (p phrases) inText(data []byte) bool {
	text := fold(string(data))
	return slices.ContainsFunc(p.folded, func(name string) bool { return strings.Contains(text, name) })
}

func (p phrases) inName(name string) bool {
	text := fold(name)
	return slices.ContainsFunc(p.folded, func(n string) bool { return strings.Contains(text, n) })
}

// ownWord matches the values without which a measurement or a shape cannot be read
// any more (package shape, job.Report). They say nothing of a person even if one is
// called so.
var ownWord = regexp.MustCompile(`^(back|front|left|right|top|line|cubic|cut|open|auto|said|sheet-edge|tick|straight|loose|frame)$`)

// jsonString is one string of a JSON text (RFC 8259, section 7) with the colon behind
// it if it is a member's name.
var jsonString = regexp.MustCompile(`"((?:[^"\\]|\\.)*)"(\s*:)?`)

// titleMember is the member that holds the title in measurement.json ("job") and in
// a shape ("name" of the outermost object, which stands before any other object).
var titleMember = regexp.MustCompile(`"(job|name)"\s*:\s*("(?:[^"\\]|\\.)*")`)

// scrub returns a JSON document in which every string that is or contains personal
// words is empty, byte for byte the same otherwise.
func (p phrases) scrub(data []byte) []byte {
	data = emptyTitle(data)
	return jsonString.ReplaceAllFunc(data, func(quoted []byte) []byte {
		var text string
		if json.Unmarshal(quoted, &text) != nil || ownWord.MatchString(text) || !p.concerns(text) {
			// A member's name does not unmarshal with its colon: those stay.
			return quoted
		}
		return []byte(`""`)
	})
}

func (p phrases) concerns(text string) bool {
	folded := strings.TrimSpace(fold(text))
	return slices.Contains(p.whole, folded) ||
		slices.ContainsFunc(p.folded, func(name string) bool { return strings.Contains(folded, name) })
}

// emptyTitle empties the outermost "job" or "name", whatever it says.
func emptyTitle(data []byte) []byte {
	start := bytes.IndexByte(data, '{')
	if start < 0 {
		return data
	}
	end := len(data)
	if inner := bytes.IndexAny(data[start+1:], "{["); inner >= 0 {
		end = start + 1 + inner
	}
	at := titleMember.FindSubmatchIndex(data[:end])
	if at == nil {
		return data
	}
	return slices.Concat(data[:at[4]], []byte(`""`), data[at[5]:])
}
