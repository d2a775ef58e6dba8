package photo

/*
#cgo LDFLAGS: -ldl
#include "heic_native.h"
*/
import "C"

import (
	"context"
	"errors"
	"runtime"
	"strings"
	"unsafe"

	"fairedge/internal/problem"
)

// decodeHEIC reads the main picture of a HEIC. Such a file says twice how it is
// to be turned: in its container and in its EXIF. The container's word is the
// one that counts (libheif applies it, with a cut if there is one); EXIF's is
// only asked when the container has none.
func decodeHEIC(ctx context.Context, data []byte, limits Limits) (*Photo, error) {
	// libheif keeps a pointer into data between calls.
	var pins runtime.Pinner
	pins.Pin(&data[0])
	defer pins.Unpin()
	reader := C.heic_reader_open((*C.uchar)(&data[0]), C.size_t(len(data)))
	if reader == nil {
		return nil, errNoMemory()
	}
	defer C.heic_reader_close(reader)
	if reader.fault != C.HEIC_FINE {
		return nil, heicError(reader)
	}
	if err := limits.check(int(reader.stored_width), int(reader.stored_height)); err != nil {
		return nil, err
	}
	if err := limits.check(int(reader.width), int(reader.height)); err != nil {
		return nil, err
	}
	if C.heic_reader_decode(reader) == 0 {
		return nil, heicError(reader)
	}
	if ctx.Err() != nil {
		return nil, cancelled(ctx)
	}
	return photoFromHEIC(reader, data, limits)
}

func photoFromHEIC(reader *C.struct_heic_reader, data []byte, limits Limits) (*Photo, error) {
	luma := heicPlane(reader, 0)
	width, height := luma.width, luma.rows
	if err := limits.check(width, height); err != nil {
		return nil, err
	}
	u := uprightFromHEIC(reader, data, width, height, limits)
	if reader.full_range == 0 {
		stretch(luma, lumaRange())
	}
	u.putLuma(0, luma)
	if reader.planes == 1 {
		u.putNoColour(0, height)
		return u.photo, nil
	}
	for c := 1; c <= 2; c++ {
		colour := heicPlane(reader, c)
		across, down := coverage(width, colour.width), coverage(height, colour.rows)
		if across == 0 || down == 0 {
			return nil, damagedf("the HEIC's colour is %d x %d for a picture of %d x %d", colour.width, colour.rows, width, height)
		}
		if reader.full_range == 0 {
			stretch(colour, chromaRange())
		}
		u.putChroma(c, 0, height, colour, across, down)
	}
	return u.photo, nil
}

// uprightFromHEIC prepares the Photo. The pixels are already turned if the
// container says how; the lens then tells what was done.
func uprightFromHEIC(reader *C.struct_heic_reader, data []byte, width, height int, limits Limits) *upright {
	stored := [2]int{int(reader.stored_width), int(reader.stored_height)}
	lens := readLens(data, formatHEIC, stored[0], stored[1], limits)
	// A cut by the container (clap) crops the photo as much as any other.
	cut := stored != [2]int{width, height} && stored != [2]int{height, width}
	lens.Cropped = lens.Cropped || cut
	applied, said := containerOrientation(data)
	if !said {
		return newUpright(width, height, lens)
	}
	lens.Orientation = 1
	u := newUpright(width, height, lens)
	u.photo.Lens.Orientation = applied
	return u
}

// coverage is how many of full pixels one of the coarser samples covers: 1 or 2,
// or 0 if the sizes do not belong together.
func coverage(full, coarse int) int {
	switch coarse {
	case full:
		return 1
	case (full + 1) / 2:
		return 2
	}
	return 0
}

// heicPlane returns a decoded plane. It lies in libheif's memory.
func heicPlane(reader *C.struct_heic_reader, index int) band {
	p := &reader.plane[index]
	stride, rows, width := int(p.stride), int(p.height), int(p.width)
	return band{
		pixels: unsafe.Slice((*uint8)(p.pixels), stride*(rows-1)+width),
		stride: stride, width: width, rows: rows,
	}
}

// valueRange is how a limited-range plane is coded: the value from becomes to, and
// a span of values becomes 255.
type valueRange struct{ from, span, to int }

// ITU-R BT.601-7 (2011), section 2.5.3: Y' from 16 to 235; Cb and Cr from 16 to
// 240 about 128.
func lumaRange() valueRange   { return valueRange{from: 16, span: 219, to: 0} }
func chromaRange() valueRange { return valueRange{from: 128, span: 224, to: 128} }

// stretch turns a plane of limited range into one of full range, in place.
func stretch(b band, r valueRange) {
	var table [256]uint8
	for v := range table {
		scaled := float64(v-r.from)*255/float64(r.span) + float64(r.to)
		table[v] = uint8(min(max(scaled+0.5, 0), 255))
	}
	for y := range b.rows {
		row := b.row(y)
		for x, v := range row {
			row[x] = table[v]
		}
	}
}

// heicError turns libheif's complaint into a sentence for people.
func heicError(reader *C.struct_heic_reader) error {
	cause := errors.New(strings.TrimRight(C.GoString(&reader.message[0]), " .\n"))
	switch reader.fault {
	case C.HEIC_NO_LIBRARY:
		return problem.New(problem.UnsupportedImage, "the photo is a HEIC, and libheif, which reads them, is not on this computer",
			"install libheif1 (sudo apt install libheif1), or let the phone send the photo as JPEG").Because(cause)
	case C.HEIC_UNSUPPORTED:
		return problem.New(problem.UnsupportedImage, "the photo is a kind of HEIC that cannot be read here ("+cause.Error()+")",
			"let the phone send it as JPEG").Because(cause)
	case C.HEIC_TOO_LARGE:
		return problem.New(problem.ImageTooLarge, "the photo is too large to be read ("+cause.Error()+")",
			"make it smaller without cropping it").Because(cause)
	}
	return damaged(cause)
}
