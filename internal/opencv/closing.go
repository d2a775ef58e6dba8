package opencv

import (
	"fmt"
	"image"

	"gocv.io/x/gocv"
)

// CloseGrey returns the grey closing of a picture by a square of size x size
// pixels: dark things that the square does not fit into are filled to the level
// of their surroundings, everything else stays as it is (Serra, "Image Analysis
// and Mathematical Morphology", 1982, ch. XII). pix holds width x height bytes,
// row by row; size is odd and at least 1.
func CloseGrey(pix []uint8, width, height, size int) ([]uint8, error) {
	if width < 1 || height < 1 || len(pix) != width*height || size < 1 || size%2 == 0 {
		return nil, fmt.Errorf("closing: %d bytes, %d x %d pixels, square of %d", len(pix), width, height, size)
	}
	// OpenCV's worker threads wait for more by spinning, which takes a processor away
	// from the stages after this one for longer than they save here.
	gocv.SetNumThreads(1)
	src, err := gocv.NewMatFromBytes(height, width, gocv.MatTypeCV8UC1, pix)
	if err != nil {
		return nil, fmt.Errorf("closing: %w", err)
	}
	defer src.Close()
	dst := gocv.NewMat()
	defer dst.Close()
	kernel := gocv.GetStructuringElement(gocv.MorphRect, image.Pt(size, size))
	defer kernel.Close()
	if err := gocv.MorphologyEx(src, &dst, gocv.MorphClose, kernel); err != nil {
		return nil, fmt.Errorf("closing: %w", err)
	}
	return dst.ToBytes(), nil
}
