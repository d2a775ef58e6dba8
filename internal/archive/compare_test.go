package archive

import (
	"testing"

	"fairedge/internal/problem"

	"github.com/google/go-cmp/cmp"
)

func TestDifferences(t *testing.T) {
	a := newArchive(t)
	mustKeep(t, a, someEntry())
	if _, err := a.Change(t.Context(), 1, 1, func(e *Entry) error {
		e.Customer, e.Which, e.Width, e.Within = "Zoë Smith", 0, number(413.999), nil
		e.Parts[0].Data = []byte("{}")
		e.Parts[1].Name = "outline.svg"
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	history, err := a.History(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	got := Differences(history[0], history[1])
	// The beginnings of SHA-256 are those of sha256sum(1).
	want := []Difference{
		{"customer", "Zoë Nørgaard", "Zoë Smith"}, {"set", "2 of 4", "set of 4"},
		{"width", "412.3 mm", "414.0 mm"}, {"within", "0.6 mm", ""},
		{"measurement.json", "35 bytes (5CF5A2)", "2 bytes (44136F)"},
		{"foam-outline.svg", "22 bytes (7E17E5)", ""}, {"outline.svg", "", "22 bytes (7E17E5)"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if same := Differences(history[0], history[0]); len(same) != 0 {
		t.Errorf("a revision differs from itself in %v", same)
	}
	if back := Differences(history[1], history[0]); len(back) != len(got) {
		t.Errorf("%d differences one way, %d the other", len(got), len(back))
	}
}

func TestSignaturesFollowTheNewestShape(t *testing.T) {
	a, ctx := newArchive(t), t.Context()
	shaped := func(text string) Entry {
		e := someEntry()
		e.Parts = append(e.Parts, Part{RoleShape, "shape.json", []byte(text)})
		return e
	}
	for _, text := range []string{"one", "two", "one"} { // jobs 1 and 3 share a shape
		mustKeep(t, a, shaped(text))
	}
	mustKeep(t, a, someEntry()) // job 4 has none
	for job, bytes := range map[int][]byte{1: {1}, 2: {2}} {
		if err := a.SetSignature(ctx, Saved{job, 1}, "s", bytes); err != nil {
			t.Fatal(err)
		}
	}
	if err := a.SetSignature(ctx, Saved{4, 1}, "s", nil); problem.KindOf(err) != problem.NotKept {
		t.Errorf("a signature without a shape: %v", err)
	}
	if diff := cmp.Diff(map[int]byte{1: 1, 2: 2, 3: 1}, signatures(t, a)); diff != "" {
		t.Error(diff)
	}
	if _, err := a.Change(ctx, 2, 1, func(e *Entry) error { *e = shaped("three"); return nil }); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(map[int]byte{1: 1, 3: 1}, signatures(t, a)); diff != "" {
		t.Errorf("an old shape's signature is still given: %s", diff)
	}
	unsigned, err := a.Unsigned(ctx, "s")
	if diff := cmp.Diff([]Saved{{2, 2}}, unsigned); diff != "" || err != nil {
		t.Errorf("%v %s", err, diff)
	}
	if _, err := a.Forget(ctx, []int{2}); err != nil {
		t.Fatal(err)
	}
	mustBeSound(t, a.Path())
}

func signatures(t *testing.T, a *Archive) map[int]byte {
	t.Helper()
	got := map[int]byte{}
	if err := a.Signatures(t.Context(), "s", func(s Signature) bool { got[s.Job] = s.Bytes[0]; return true }); err != nil {
		t.Fatal(err)
	}
	return got
}
