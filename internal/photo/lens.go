package photo

import (
	"bytes"
	"math"
	"strings"
	"time"

	"github.com/bep/imagemeta"
)

// lensTags are the only EXIF tags that are ever looked at: the place, the time
// and the serial numbers stay in the file.
const (
	tagMake        = "Make"
	tagModel       = "Model"
	tagOrientation = "Orientation"
	tagFocal       = "FocalLength"
	tagFocal35     = "FocalLengthIn35mmFormat"
	tagZoom        = "DigitalZoomRatio"
	tagWidth       = "ExifImageWidth" // PixelXDimension in the standard
	tagHeight      = "ExifImageHeight"
)

// exifSeconds is how long reading EXIF may take; it takes below a millisecond.
const exifSeconds = 2

// readLens reads what the file says of the lens. width and height are those of
// the picture as stored. Broken EXIF is no reason to refuse a photo: what can be
// read of it is taken, the rest is "not said".
func readLens(data []byte, from format, width, height int, limits Limits) Lens {
	tags := exifTags(data, from)
	lens := Lens{
		Make:        text(tags[tagMake]),
		Model:       text(tags[tagModel]),
		FocalMM:     positive(tags[tagFocal]),
		Focal35MM:   positive(tags[tagFocal35]),
		Orientation: 1,
	}
	if o := number(tags[tagOrientation]); o >= 1 && o <= 8 {
		lens.Orientation = int(o)
	}
	lens.Cropped = cropped(number(tags[tagWidth]), number(tags[tagHeight]), width, height)
	lens.Zoomed = number(tags[tagZoom]) > limits.ZoomRatio ||
		lens.FocalMM > 0 && lens.Focal35MM/lens.FocalMM > limits.CropFactor
	return lens
}

// cropped compares the size that EXIF records with the real one. The sides may
// have changed places: programs that turn a photo upright leave EXIF's size.
func cropped(exifWidth, exifHeight float64, width, height int) bool {
	if exifWidth <= 0 || exifHeight <= 0 {
		return false
	}
	w, h := float64(width), float64(height)
	return !(exifWidth == w && exifHeight == h) && !(exifWidth == h && exifHeight == w)
}

// exifTags collects the lens tags of the main picture (IFD0 and its Exif part;
// IFD1 is the thumbnail's). The first value counts.
func exifTags(data []byte, from format) (tags map[string]any) {
	tags = map[string]any{}
	// The library's formats; its readers have had panics on hostile files before.
	defer func() { _ = recover() }()
	formats := map[format]imagemeta.ImageFormat{
		formatJPEG: imagemeta.JPEG, formatPNG: imagemeta.PNG, formatHEIC: imagemeta.HEIF,
	}
	wanted := func(tag imagemeta.TagInfo) bool {
		switch tag.Tag {
		case tagMake, tagModel, tagOrientation, tagFocal, tagFocal35, tagZoom, tagWidth, tagHeight:
			return strings.HasPrefix(tag.Namespace, "IFD0")
		}
		return false
	}
	// An error is left aside: the tags before it were read.
	_, _ = imagemeta.Decode(imagemeta.Options{
		R:               bytes.NewReader(data),
		ImageFormat:     formats[from],
		Sources:         imagemeta.EXIF,
		ShouldHandleTag: wanted,
		HandleTag: func(tag imagemeta.TagInfo) error {
			if _, seen := tags[tag.Tag]; !seen {
				tags[tag.Tag] = tag.Value
			}
			return nil
		},
		Timeout: exifSeconds * time.Second,
	})
	return tags
}

// text returns a short printable string, or none.
func text(value any) string {
	s, _ := value.(string)
	clean := strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == '\uFFFD' {
			return -1
		}
		return r
	}, s)
	const longest = 64 // the longest model names have about 40
	if runes := []rune(clean); len(runes) > longest {
		clean = string(runes[:longest])
	}
	return strings.TrimSpace(clean)
}

// number returns a tag's number, or 0 when it is none or not finite.
func number(value any) float64 {
	var v float64
	switch n := value.(type) {
	case interface{ Float64() float64 }:
		v = n.Float64()
	case uint8:
		v = float64(n)
	case uint16:
		v = float64(n)
	case uint32:
		v = float64(n)
	case int16:
		v = float64(n)
	case int32:
		v = float64(n)
	case float32:
		v = float64(n)
	case float64:
		v = n
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

func positive(value any) float64 { return max(0, number(value)) }
