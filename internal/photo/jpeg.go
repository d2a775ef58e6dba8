package photo

/*
#cgo LDFLAGS: -ljpeg
#include <stdlib.h>
#include "jpeg_native.h"
*/
import "C"

import (
	"context"
	"errors"
	"runtime"
	"unsafe"

	"fairedge/internal/problem"
)

// decodeJPEG reads a JPEG straight into the planes of an upright Photo, one row
// of blocks at a time: the picture is never held as RGB, nor twice.
func decodeJPEG(ctx context.Context, data []byte, limits Limits) (*Photo, error) {
	// libjpeg keeps a pointer into data between calls.
	var pins runtime.Pinner
	pins.Pin(&data[0])
	defer pins.Unpin()
	reader := C.jpeg_reader_open((*C.uchar)(&data[0]), C.size_t(len(data)), C.int(limits.MaxScans))
	if reader == nil {
		return nil, errNoMemory()
	}
	defer C.jpeg_reader_close(reader)
	// The callback must be over before the reader is freed.
	stopped := make(chan struct{})
	release := context.AfterFunc(ctx, func() { C.jpeg_reader_cancel(reader); close(stopped) })
	defer func() {
		if !release() {
			<-stopped
		}
	}()

	if C.jpeg_reader_header(reader) == 0 {
		return nil, jpegError(reader)
	}
	width, height := int(reader.width), int(reader.height)
	if err := limits.check(width, height); err != nil {
		return nil, err
	}
	lens := readLens(data, formatJPEG, width, height, limits)
	if C.jpeg_reader_start(reader) == 0 {
		return nil, jpegError(reader)
	}
	u := newUpright(width, height, lens)
	if err := readBands(ctx, reader, u); err != nil {
		return nil, err
	}
	if C.jpeg_reader_finish(reader) == 0 {
		return nil, jpegError(reader)
	}
	if int(reader.largest_extraneous) > limits.MaxExtraneousBytes {
		return nil, damaged(errors.New("bytes left over inside the picture data"))
	}
	return u.photo, nil
}

// readBands moves every band of the picture to its place.
func readBands(ctx context.Context, reader *C.struct_jpeg_reader, u *upright) error {
	for y := 0; y < u.height; {
		if ctx.Err() != nil {
			return cancelled(ctx)
		}
		rows := int(C.jpeg_reader_band(reader))
		if rows <= 0 || reader.fault != C.JPEG_FINE {
			return jpegError(reader)
		}
		if reader.layout == C.JPEG_PLANES {
			putPlanes(reader, u, y, rows)
		} else {
			putPixels(reader, u, y, rows)
		}
		y += rows
	}
	return nil
}

// bandOf returns one plane's share of the current band. It lies in libjpeg's
// memory and holds until the next band.
func bandOf(reader *C.struct_jpeg_reader, plane, bytes int) band {
	p := &reader.plane[plane]
	rows := int(reader.band_rows) / int(p.down)
	stride := int(p.stride)
	return band{
		pixels: unsafe.Slice((*uint8)(p.pixels), stride*rows),
		stride: stride,
		width:  int(p.width) * bytes,
		rows:   rows,
	}
}

func putPlanes(reader *C.struct_jpeg_reader, u *upright, y, rows int) {
	luma := bandOf(reader, 0, 1)
	luma.rows = rows
	u.putLuma(y, luma)
	if reader.planes == 1 {
		u.putNoColour(y, rows)
		return
	}
	for c := 1; c <= 2; c++ {
		p := &reader.plane[c]
		across, down := int(p.across), int(p.down)
		colour := bandOf(reader, c, 1)
		colour.rows = min(colour.rows, int(p.height)-y/down)
		u.putChroma(c, y, rows, colour, across, down)
	}
}

func putPixels(reader *C.struct_jpeg_reader, u *upright, y, rows int) {
	layout := pixelsYCC
	switch reader.layout {
	case C.JPEG_RGB:
		layout = pixelsRGB
	case C.JPEG_CMYK:
		layout = pixelsCMYK
	case C.JPEG_CMYK_INVERTED:
		layout = pixelsCMYKInverted
	}
	pixels := bandOf(reader, 0, layout.bytes())
	pixels.rows = rows
	u.putPixels(y, pixels, layout)
}

// jpegError turns libjpeg's complaint into a sentence for people.
func jpegError(reader *C.struct_jpeg_reader) error {
	cause := errors.New(C.GoString(&reader.message[0]))
	switch reader.fault {
	case C.JPEG_UNSUPPORTED:
		return problem.New(problem.UnsupportedImage, "the photo is a kind of JPEG that cannot be read here ("+cause.Error()+")",
			"open it in a picture program and save it as an ordinary JPEG").Because(cause)
	case C.JPEG_TOO_LARGE:
		return problem.New(problem.ImageTooLarge, "the photo is too large to be read ("+cause.Error()+")",
			"make it smaller without cropping it").Because(cause)
	case C.JPEG_CANCELLED:
		return problem.New(problem.Cancelled, "reading the photo was stopped", "")
	}
	return damaged(cause)
}
