package job

import (
	"testing"
	"time"

	"fairedge/internal/camera"
	"fairedge/internal/measure"
	"fairedge/internal/photo"
	"fairedge/internal/problem"
)

func TestWhichLensProfileIsUsed(t *testing.T) {
	profile := func(name, model string, day int) measure.LensProfile {
		return measure.LensProfile{Name: name, Make: "Maker", Model: model, FocalMM: 4.2, Width: 4032, Height: 3024,
			Lens: camera.Lens{F: 3000}, Learned: time.Date(2026, 3, day, 0, 0, 0, 0, time.UTC)}
	}
	known := []measure.LensProfile{profile("", "Seven", 1), profile("", "Eight", 2), profile("", "Seven", 3), profile("old phone", "", 4)}
	picture := &photo.Photo{Width: 4032, Height: 3024, Lens: photo.Lens{Make: "Maker", Model: "Seven", FocalMM: 4.2}}
	nameless := &photo.Photo{Width: 4032, Height: 3024}
	square := &photo.Photo{Width: 3024, Height: 3024}
	for name, c := range map[string]struct {
		photo   *photo.Photo
		lens    string
		day     int // that the profile was learnt on; 0 = none
		refused bool
	}{
		"the newest that fits":     {picture, "", 3, false},
		"none wanted":              {picture, NoLens, 0, false},
		"chosen by camera":         {picture, "maker eight, 4.2 mm", 2, false},
		"chosen by name":           {nameless, "Old phone", 4, false},
		"a photo without EXIF":     {nameless, "", 0, false},
		"an unknown name":          {picture, "new phone", 0, true},
		"a picture of other shape": {square, "old phone", 0, true},
	} {
		got, err := Reading{Profiles: known, Lens: c.lens}.profileFor(c.photo)
		if c.refused != (problem.KindOf(err) == problem.Usage) || !c.refused && err != nil {
			t.Errorf("%s: error = %v, want one of kind usage: %v", name, err, c.refused)
		}
		day := 0
		if got != nil {
			day = got.Learned.Day()
		}
		if day != c.day {
			t.Errorf("%s: the profile of day %d, want %d", name, day, c.day)
		}
	}
}
