//go:build matprofile

package opencv

import (
	"bytes"
	"testing"

	"gocv.io/x/gocv"
)

// A Mat lives outside Go's memory and is freed by Close alone. gocv counts the
// open ones when built with the tag matprofile (make test-mats).
func TestNoMatStaysOpen(t *testing.T) {
	probe := gocv.NewMat()
	if gocv.MatProfile.Count() != 1 {
		t.Fatalf("the profile counts %d Mats, want the one just made: this test would see no leak", gocv.MatProfile.Count())
	}
	probe.Close()
	for name, call := range map[string]func() error{
		"closing":                  func() error { _, err := CloseGrey(make([]uint8, 12), 4, 3, 3); return err },
		"closing of too few bytes": func() error { CloseGrey(make([]uint8, 5), 4, 3, 3); return nil },
		"closing of an even size":  func() error { CloseGrey(make([]uint8, 12), 4, 3, 2); return nil },
	} {
		if err := call(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if n := gocv.MatProfile.Count(); n != 0 {
			var where bytes.Buffer
			gocv.MatProfile.WriteTo(&where, 1)
			t.Fatalf("%s leaves %d Mats open:\n%s", name, n, where.String())
		}
	}
}
