package photo

/*
#include <stdlib.h>
#include "jpeg_native.h"
*/
import "C"

import (
	"errors"
	"image"
	"io"
	"runtime"
	"unsafe"
)

// EncodeJPEG writes img as a JPEG without EXIF, so nothing private of the photo
// it came from is carried on. quality is libjpeg's, 1 to 100; transparency is
// passed over.
func EncodeJPEG(w io.Writer, img *image.RGBA, quality int) error {
	size := img.Bounds().Size()
	if size.X < 1 || size.Y < 1 {
		return errors.New("encoding JPEG: the picture is empty")
	}
	if last := (size.Y-1)*img.Stride + 4*size.X; last > len(img.Pix) || img.Stride < 4*size.X {
		return errors.New("encoding JPEG: the picture's pixels do not fill its bounds")
	}
	var length C.size_t
	pixels := C.jpeg_write_rgba((*C.uchar)(&img.Pix[0]), C.int(img.Stride), C.int(size.X), C.int(size.Y),
		C.int(quality), &length)
	runtime.KeepAlive(img)
	if pixels == nil {
		return errors.New("encoding JPEG: libjpeg refused the picture")
	}
	defer C.free(unsafe.Pointer(pixels))
	_, err := w.Write(unsafe.Slice((*byte)(pixels), int(length)))
	return err
}
