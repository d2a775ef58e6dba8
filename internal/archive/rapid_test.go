package archive

import (
	"bytes"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"
	"unicode"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// anyText draws words of one script after another, with what people really type
// between them.
func anyText() *rapid.Generator[string] {
	scripts := []*unicode.RangeTable{
		unicode.Latin, unicode.Greek, unicode.Cyrillic, unicode.Arabic, unicode.Hebrew, unicode.Devanagari,
		unicode.Thai, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul, unicode.Georgian,
	}
	letters := make([]*rapid.Generator[rune], len(scripts))
	for i, s := range scripts {
		letters[i] = rapid.RuneFrom(nil, s)
	}
	letters = append(letters, rapid.SampledFrom([]rune(" \n\t'\"%_*:()-–;\\’\u0301\u200f\u3000")))
	return rapid.Map(rapid.SliceOfN(rapid.OneOf(letters...), 0, 24), func(rs []rune) string { return string(rs) })
}

func anySize() *rapid.Generator[*float64] {
	return rapid.Ptr(rapid.Float64Range(0, widestSize), true)
}

func anyParts() *rapid.Generator[[]Part] {
	return rapid.Custom(func(t *rapid.T) []Part {
		n := rapid.IntRange(0, 5).Draw(t, "parts")
		var parts []Part
		for i := range n {
			// The number makes the names of a job differ.
			name := rapid.StringMatching(`[a-zä字]{1,12}`).Draw(t, "name") + string(rune('0'+i)) + ".x"
			parts = append(parts, Part{rapid.SampledFrom(roles()).Draw(t, "role"), name, anyBytes(t)})
		}
		return parts
	})
}

// anyBytes draws a length, up to some pages of the file, and a seed.
func anyBytes(t *rapid.T) []byte {
	length := rapid.OneOf(rapid.IntRange(0, 300), rapid.IntRange(0, 3*pageSize)).Draw(t, "length")
	random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
	data := make([]byte, length)
	for i := range data {
		data[i] = byte(random.Uint32())
	}
	return data
}

func anyEntry() *rapid.Generator[Entry] {
	words := anyText() // made once: its tables are large
	return rapid.Custom(func(t *rapid.T) Entry {
		e := Entry{
			Words: Words{
				Title: words.Draw(t, "title"), Customer: words.Draw(t, "customer"), Contact: words.Draw(t, "contact"),
				Place: words.Draw(t, "place"), Chair: words.Draw(t, "chair"),
			},
			Sizes: Sizes{anySize().Draw(t, "width"), anySize().Draw(t, "depth"), anySize().Draw(t, "perimeter"),
				anySize().Draw(t, "area"), anySize().Draw(t, "within")},
			SetOf: rapid.IntRange(0, largestSet).Draw(t, "set"),
			Parts: anyParts().Draw(t, "parts"),
			Note:  words.Draw(t, "note"),
		}
		e.Which = rapid.IntRange(0, e.SetOf).Draw(t, "which")
		if rapid.Bool().Draw(t, "dated") {
			e.MadeOn = time.Date(rapid.IntRange(1, 9999).Draw(t, "year"), time.Month(rapid.IntRange(1, 12).Draw(t, "month")),
				rapid.IntRange(1, 31).Draw(t, "day"), 0, 0, 0, 0, time.UTC)
		}
		return e
	})
}

// alike compares bytes at once: one by one takes seconds.
func alike() cmp.Option { return cmp.Comparer(bytes.Equal) }

func TestSaveThenLoadIsIdentity(t *testing.T) {
	a := newArchive(t)
	jobs, entries := 0, anyEntry()
	rapid.Check(t, func(rt *rapid.T) {
		want := entries.Draw(rt, "entry")
		if want.MadeOn.Year() > 9999 {
			rt.Skip("the day after the last")
		}
		saved, err := a.Keep(t.Context(), want)
		if err != nil {
			rt.Fatal(err)
		}
		jobs++
		if saved != (Saved{jobs, 1}) {
			rt.Fatalf("job %d was saved as %v", jobs, saved)
		}
		if diff := cmp.Diff(want, loaded(t, a, saved.Job, 1), alike()); diff != "" {
			rt.Fatal(diff)
		}
		// Any change, then back: the first state again, all revisions as they were.
		other := entries.Draw(rt, "other")
		if _, err := a.Change(t.Context(), saved.Job, 1, func(e *Entry) error { *e = other; return nil }); err != nil {
			rt.Fatal(err)
		}
		if _, err := a.Restore(t.Context(), saved.Job, 1); err != nil {
			rt.Fatal(err)
		}
		want3 := want
		want3.Note = ""
		for revision, entry := range map[int]Entry{1: want, 2: other, 3: want3} {
			if diff := cmp.Diff(entry, loaded(t, a, saved.Job, revision), alike()); diff != "" {
				rt.Fatalf("revision %d: %s", revision, diff)
			}
		}
	})
	mustBeSound(t, a.Path())
	// And all of it once more out of a backup.
	to := filepath.Join(t.TempDir(), "backup.fairedge")
	if h, err := a.Backup(t.Context(), to, nil); err != nil || h.Jobs != jobs {
		t.Errorf("backup of %d jobs has %d: %v", jobs, h.Jobs, err)
	}
	b, err := Open(t.Context(), to, options())
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	for job := 1; job <= jobs; job++ {
		for revision := 1; revision <= 3; revision++ {
			if diff := cmp.Diff(loaded(t, a, job, revision), loaded(t, b, job, revision), alike()); diff != "" {
				t.Fatalf("job %d:%d of the backup: %s", job, revision, diff)
			}
		}
	}
}

// TestEveryWordFindsItsJob looks for each word of random jobs in random scripts.
func TestEveryWordFindsItsJob(t *testing.T) {
	a := newArchive(t)
	entries := anyEntry()
	rapid.Check(t, func(rt *rapid.T) {
		e := entries.Draw(rt, "entry")
		e.Parts = nil
		saved, err := a.Keep(t.Context(), e)
		if err != nil {
			rt.Fatal(err)
		}
		for _, text := range []string{e.Title, e.Customer, e.Contact, e.Place, e.Chair, e.Note} {
			for _, word := range termsOf(text) {
				found, err := a.Find(t.Context(), Query{Words: word, Limit: 1 << 20})
				if err != nil {
					rt.Fatalf("%q: %v", word, err)
				}
				if !hasJob(found, saved.Job) {
					rt.Fatalf("%q does not find job %d: %+v", word, saved.Job, e.Words)
				}
			}
		}
	})
}

func hasJob(f Found, job int) bool {
	for _, r := range f.Jobs {
		if r.Job == job {
			return true
		}
	}
	return false
}
