package pad

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestDifferencesNameWhatWasChanged(t *testing.T) {
	before, err := Named("tie-on")
	if err != nil {
		t.Fatal(err)
	}
	if d := before.Differences(before); d != nil {
		t.Errorf("a recipe differs from itself: %v", d)
	}
	after, err := before.With("foam.thickness", "2 in")
	if err != nil {
		t.Fatal(err)
	}
	after.Title = "another"
	want := []Difference{{"foam.thickness", "25.4 mm (1 in)", "50.8 mm (2 in)"}}
	if diff := cmp.Diff(want, after.Differences(before)); diff != "" {
		t.Errorf("differences (-want +got):\n%s", diff)
	}
}
