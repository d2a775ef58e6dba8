package photo

import (
	"bytes"
	"testing"
)

// A phone's main camera, as such files state it.
func phoneEXIF(change map[uint16]any) []byte {
	ifd0 := []exifField{{exifMake, "Apple"}, {exifModel, "iPhone 6"}, {exifOrientation, uint16(1)}}
	exif := []exifField{{exifFocal, [2]uint32{83, 20}}, {exifPixelX, uint16(96)}, {exifPixelY, uint16(64)},
		{exifZoom, [2]uint32{1, 1}}, {exifFocal35, uint16(29)}}
	for _, fields := range [][]exifField{ifd0, exif} {
		for i, f := range fields {
			if v, ok := change[f.tag]; ok {
				fields[i].value = v
			}
		}
	}
	return exifBlock(ifd0, exif)
}

func TestLens(t *testing.T) {
	plain := Lens{Make: "Apple", Model: "iPhone 6", FocalMM: 4.15, Focal35MM: 29, Orientation: 1}
	with := func(change func(*Lens)) Lens { l := plain; change(&l); return l }
	for _, c := range []struct {
		name   string
		change map[uint16]any
		want   Lens
	}{
		{"as taken", nil, plain},
		{"turned", map[uint16]any{exifOrientation: uint16(6)}, with(func(l *Lens) { l.Orientation = 6 })},
		{"sides swapped by a program", map[uint16]any{exifPixelX: uint16(64), exifPixelY: uint16(96)}, plain},
		{"cropped", map[uint16]any{exifPixelX: uint16(120)}, with(func(l *Lens) { l.Cropped = true })},
		{"size not said", map[uint16]any{exifPixelX: uint16(0)}, plain},
		{"digital zoom", map[uint16]any{exifZoom: [2]uint32{136, 69}}, with(func(l *Lens) { l.Zoomed = true })},
		// A real iPhone 13's value for no zoom.
		{"zoom of nothing", map[uint16]any{exifZoom: [2]uint32{1512, 1511}}, plain},
		{"zoom unknown", map[uint16]any{exifZoom: [2]uint32{0, 0}}, plain},
		// 57 mm over 4.15 mm means a sensor of 3.1 mm: an iPhone 6 at 2x zoom states that.
		{"zoom in the 35 mm value alone", map[uint16]any{exifFocal35: uint16(57)}, with(func(l *Lens) { l.Focal35MM, l.Zoomed = 57, true })},
		{"no focal length", map[uint16]any{exifFocal: [2]uint32{1, 0}}, with(func(l *Lens) { l.FocalMM = 0 })},
		{"control characters", map[uint16]any{exifMake: "A\x1b[31mpp\nle"}, with(func(l *Lens) { l.Make = "A[31mpple" })},
	} {
		photo := encoded(t, corners(96, 64))
		got, err := Decode(withEXIF(photo, phoneEXIF(c.change)), anySize())
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got.Lens != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got.Lens, c.want)
		}
	}
	if got := mustDecode(t, encoded(t, corners(96, 64))).Lens; got != (Lens{Orientation: 1}) {
		t.Errorf("without EXIF: %+v", got)
	}
	heic := heicFrom(t, withEXIF(encoded(t, corners(96, 64)), phoneEXIF(nil)))
	if got := mustDecode(t, heic).Lens; got != plain {
		t.Errorf("HEIC: %+v, want %+v", got, plain)
	}
}

// Every cut and many single wrong bytes of the EXIF: the picture is still read.
func TestBrokenEXIFIsNoReasonToRefuse(t *testing.T) {
	photo, block := encoded(t, corners(32, 16)), phoneEXIF(nil)
	for n := range block {
		mustDecode(t, withEXIF(photo, block[:n]))
		for _, v := range []byte{0, 0x7f, 0xff} {
			broken := bytes.Clone(block)
			broken[n] = v
			mustDecode(t, withEXIF(photo, broken))
		}
	}
}
