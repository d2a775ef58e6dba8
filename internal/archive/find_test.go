package archive

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// findJobs returns the numbers of the jobs found, in their order.
func findJobs(t testing.TB, a *Archive, q Query) []int {
	t.Helper()
	found, err := a.Find(t.Context(), q)
	if err != nil {
		t.Fatalf("%+v: %v", q, err)
	}
	var jobs []int
	for _, r := range found.Jobs {
		jobs = append(jobs, r.Job)
	}
	return jobs
}

func keepWords(t testing.TB, a *Archive, words Words, made time.Time, note string) {
	t.Helper()
	mustKeep(t, a, Entry{Words: words, MadeOn: made, Note: note})
}

func day(year int, month time.Month, day int) time.Time {
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
}

func TestFindInAnyScript(t *testing.T) {
	a := newArchive(t)
	for _, name := range []string{
		"Zoë Nørgaard", "Łukasz Żółć", "Αθηνά Παπαδοπούλου", "Юлия Щёлкина", "مُحَمَّد الكرسي",
		"田中 椅子", "สมชาย เก้าอี้", "김 철수", "यामिनी कुर्सी", "Straße İstanbul", "O’Brien-Smith", "ハンス",
	} {
		keepWords(t, a, Words{Customer: name}, time.Time{}, "")
	}
	for _, c := range []struct {
		words string
		job   int
	}{
		{"Zoë", 1}, {"zoe", 1}, {"NORGAARD", 1}, {"nørg", 1}, {"norgaard zoe", 1},
		{"lukasz", 2}, {"zolc", 2}, {"Zo\u0301łc\u0301", 2},
		{"αθηνα", 3}, {"ΠΑΠΑΔΟΠΟΥΛΟΥ", 3},
		{"юлия", 4}, {"щелкина", 4},
		{"محمد", 5}, {"كرسي", 5},
		{"田中", 6}, {"椅", 6}, {"椅子", 6},
		{"เก้าอี้", 7}, {"ชาย", 7}, {"สม", 7},
		{"철수", 8}, {"김", 8},
		{"कुर्सी", 9},
		{"strasse", 10}, {"STRASSE", 10}, {"istanbul", 10},
		{"o'brien", 11}, {"smith", 11}, {`"o'brien-smith"`, 11},
		{"ハンス", 12}, {"ﾊﾝｽ", 12}, // half-width
	} {
		if got := findJobs(t, a, Query{Words: c.words}); !slices.Equal(got, []int{c.job}) {
			t.Errorf("%q finds %v, want job %d", c.words, got, c.job)
		}
	}
	// Marks that make another letter are not accents.
	for _, words := range []string{"เกาอี", "कसी", "バンス", "nobody", `" "x`, `zoe AND`, `x*`, `"`, "%", "_%"} {
		if got := findJobs(t, a, Query{Words: words}); len(got) == 1 && words != `"` {
			t.Errorf("%q finds %v", words, got)
		}
	}
}

func TestFindByNumberDateAndNote(t *testing.T) {
	a := newArchive(t)
	keepWords(t, a, Words{Customer: "Adams", Chair: "model 3"}, day(2023, 5, 17), "")
	keepWords(t, a, Words{Customer: "Baker", Chair: "Windsor"}, day(2023, 6, 1), "piping in green")
	keepWords(t, a, Words{Customer: "Clark", Chair: "sandwich stool"}, day(2024, 5, 17), "")
	keepWords(t, a, Words{Customer: "Dyer"}, time.Time{}, "")
	if _, err := a.Note(t.Context(), 1, "delivered"); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		q    Query
		want []int
	}{
		{Query{}, []int{1, 4, 3, 2}}, // all, the latest saved first
		{Query{Words: "3"}, []int{3, 1, 2}},
		{Query{Words: "#2"}, []int{2}},
		{Query{Words: "4"}, []int{4, 3}},
		{Query{Words: "99"}, nil},
		{Query{Words: "2023-05"}, []int{1}},
		{Query{Words: "wi"}, []int{2, 3}}, // begins a word before stands inside one
		{Query{Words: "piping green"}, []int{2}},
		{Query{Words: "delivered"}, []int{1}},
		{Query{From: "2023-06"}, []int{3, 2}},
		{Query{To: "2023"}, []int{1, 2}},
		{Query{From: "2023-05-17", To: "2023-05-17"}, []int{1}},
		{Query{From: "2023", To: "2024", Words: "a"}, []int{1, 3, 2}},
		{Query{Words: "baker clark"}, nil},
	} {
		if diff := cmp.Diff(c.want, findJobs(t, a, c.q)); diff != "" {
			t.Errorf("%+v: %s", c.q, diff)
		}
	}
}

func TestFindSeesTheNewestWordsOnly(t *testing.T) {
	a := newArchive(t)
	keepWords(t, a, Words{Customer: "Smyth"}, time.Time{}, "")
	if _, err := a.Change(t.Context(), 1, 1, func(e *Entry) error { e.Customer = "Smith"; return nil }); err != nil {
		t.Fatal(err)
	}
	if got := findJobs(t, a, Query{Words: "smyth"}); len(got) != 0 {
		t.Errorf("the old name still finds %v", got)
	}
	if got := findJobs(t, a, Query{Words: "smith"}); len(got) != 1 {
		t.Errorf("the new name finds %v", got)
	}
}

func TestLimitTellsTheTotal(t *testing.T) {
	a := newArchive(t)
	for i := range DefaultLimit + 3 {
		keepWords(t, a, Words{Customer: fmt.Sprint("customer ", i)}, time.Time{}, "")
	}
	found, err := a.Find(t.Context(), Query{Words: "customer"})
	if err != nil || len(found.Jobs) != DefaultLimit || found.Total != DefaultLimit+3 {
		t.Errorf("%d of %d (%v), want %d of %d", len(found.Jobs), found.Total, err, DefaultLimit, DefaultLimit+3)
	}
}

// TestManyAnswers has more answers than are ranked: the number looked for comes first all
// the same, then the latest saved, as a slow sort says.
func TestManyAnswers(t *testing.T) {
	a := newArchive(t)
	a.db.SetMaxOpenConns(1)
	if _, err := a.db.ExecContext(t.Context(), "PRAGMA synchronous = OFF"); err != nil {
		t.Fatal(err)
	}
	const jobs = mostRanked + 60
	for i := range jobs {
		keepWords(t, a, Words{Customer: fmt.Sprint("7 oaks, no ", i)}, time.Time{}, "")
	}
	for _, job := range []int{300, 12, 480} { // saved again, so they are the latest
		if _, err := a.Note(t.Context(), job, "again"); err != nil {
			t.Fatal(err)
		}
	}
	for words, first := range map[string][]int{"oaks": {480, 12, 300, jobs, jobs - 1}, "7": {7, 480, 12, 300, jobs}} {
		found, err := a.Find(t.Context(), Query{Words: words, Limit: 5})
		if err != nil || found.Total != jobs {
			t.Errorf("%q: %d answers, %v", words, found.Total, err)
		}
		if got := findJobs(t, a, Query{Words: words, Limit: 5}); !slices.Equal(got, first) {
			t.Errorf("%q: %v, want %v", words, got, first)
		}
		all := findJobs(t, a, Query{Words: words, Limit: jobs})
		if got := findJobs(t, a, Query{Words: words, Limit: mostRanked}); !slices.Equal(got, all[:mostRanked]) {
			t.Errorf("%q: the latest %d differ from those of the whole list", words, mostRanked)
		}
	}
}
