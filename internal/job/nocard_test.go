package job_test

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fairedge/internal/detect"
	"fairedge/internal/photo"
)

// Where Debian's and Ubuntu's packages opencv-doc and visp-images-data put their
// pictures: calibration boards, other printed markers, rooms, faces, textures.
const (
	opencvPictures = "/usr/share/doc/opencv-doc"
	vispPictures   = "/usr/share/visp-images-data"
)

// No card may be seen in 200 pictures without one. The pictures are those of two
// packages that the Makefile installs; by default every tenth of them is tried.
func TestNoCardIsSeenWhereThereIsNone(t *testing.T) {
	pictures := append(picturesUnder(t, opencvPictures), picturesUnder(t, vispPictures)...)
	step, least := 40, 10
	if os.Getenv("FAIREDGE_SLOW") != "" {
		step, least = 3, 200
	}
	tried := 0
	for i := 0; i < len(pictures); i += step {
		p, err := photo.Read(context.Background(), pictures[i], photo.Limits{MinPixels: 1})
		if err != nil || p.Width < 200 || p.Height < 150 {
			continue // icons, and formats under a wrong name
		}
		tried++
		sightings, _, err := detect.Cards(p, detect.DefaultCardParams())
		if err == nil || len(sightings) > 0 {
			t.Errorf("%s: a card was seen: %v", pictures[i], sightings[0].Card)
		}
	}
	t.Logf("%d pictures without a card", tried)
	if tried < least {
		t.Errorf("only %d pictures could be tried, want %d: install opencv-doc and visp-images-data (make test does)", tried, least)
	}
}

func picturesUnder(t *testing.T, root string) []string {
	t.Helper()
	var found []string
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.Type().IsRegular() && slices.Contains([]string{".jpg", ".jpeg", ".png"}, strings.ToLower(filepath.Ext(path))) {
			found = append(found, path)
		}
		return nil
	})
	if err != nil {
		t.Fatalf("%v: install opencv-doc and visp-images-data (make test does)", err)
	}
	return found
}
