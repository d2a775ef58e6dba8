package photo

import "fairedge/internal/problem"

// Limits says which pictures are read, and when what they say of the lens is
// distrusted. A field that is zero stands for its default.
type Limits struct {
	// MaxPixels is the most pixels that a picture may have. It is checked against
	// the file's header before memory is taken: one megabyte of file can unfold to
	// hundreds of megapixels. Lower: large phones' photos are refused. Higher: a
	// hostile file takes more memory, about 1.5 bytes a pixel for an ordinary
	// JPEG, 5 for a progressive JPEG, 8 for a PNG.
	MaxPixels int

	// MinPixels is the fewest pixels. Lower: thumbnails are taken for photos and
	// fail later with a less helpful word. Higher: usable old photos are refused.
	MinPixels int

	// MaxFileBytes is the longest file. It only keeps a mistaken gigabyte (a film)
	// from being read into memory.
	MaxFileBytes int64

	// MaxScans is the most passes over the picture in a progressive JPEG. Encoders
	// make about ten; each pass costs as much time as a whole picture, and hostile
	// files hold thousands.
	MaxScans int

	// MaxExtraneousBytes is how many bytes may lie idle at one place inside a
	// JPEG's picture data. Some cameras leave a few; more means that a part of the
	// picture was skipped, which libjpeg passes over. Empirical: nothing is known
	// between 2 (cameras) and the hundreds of a damaged file.
	MaxExtraneousBytes int

	// ZoomRatio is the DigitalZoomRatio above which the photo counts as zoomed.
	// Phones state values like 1.0007 for none at all; the first step of a zoom
	// is 1.1. The field of view is trusted to about 2 %, so 1.02 is the place.
	ZoomRatio float64

	// CropFactor is the 35 mm equivalent over the true focal length above which a
	// zoom is suspected although none is stated. It is 43.3 mm over the diagonal of
	// the sensor: 4.5 to 9 for the cameras of phones, 10.8 for the smallest usual
	// sensor (1/4 inch, 4.0 mm).
	CropFactor float64
}

// DefaultLimits returns the limits for photos of a phone.
func DefaultLimits() Limits {
	return Limits{
		MaxPixels:          200e6,
		MinPixels:          200e3,
		MaxFileBytes:       512 << 20,
		MaxScans:           100,
		MaxExtraneousBytes: 16,
		ZoomRatio:          1.02,
		CropFactor:         12,
	}
}

// withDefaults fills in the fields that are zero.
func (l Limits) withDefaults() Limits {
	d := DefaultLimits()
	fill(&l.MaxPixels, d.MaxPixels)
	fill(&l.MinPixels, d.MinPixels)
	fill(&l.MaxFileBytes, d.MaxFileBytes)
	fill(&l.MaxScans, d.MaxScans)
	fill(&l.MaxExtraneousBytes, d.MaxExtraneousBytes)
	fill(&l.ZoomRatio, d.ZoomRatio)
	fill(&l.CropFactor, d.CropFactor)
	return l
}

func fill[T int | int64 | float64](field *T, value T) {
	if *field == 0 {
		*field = value
	}
}

// check judges the size that a header states.
func (l Limits) check(width, height int) error {
	if width < 1 || height < 1 {
		return damagedf("the header states a size of %d x %d", width, height)
	}
	// Divided, not multiplied: a PNG may state 2^31 pixels each way.
	if width > l.MaxPixels/height {
		return problem.Newf(problem.ImageTooLarge,
			"make it smaller without cropping it, or raise the limit",
			"the photo is too large: %d x %d pixels, and the limit is %d megapixels", width, height, l.MaxPixels/1e6)
	}
	if width*height < l.MinPixels {
		return problem.Newf(problem.ImageTooSmall,
			"take the original from the phone, not a thumbnail or a picture that was sent on",
			"the photo is too small to measure on: %d x %d pixels", width, height)
	}
	return nil
}
