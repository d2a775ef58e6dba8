package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/png"

	"fairedge/internal/problem"
)

// maxPNGBytes is the most memory that an unfolded PNG may take. The decoder
// holds the whole picture (4 bytes a pixel mostly, 8 at 16 bits a colour), and
// together with the Photo and the file it has to stay below 2 GiB.
const maxPNGBytes = 1 << 30

// decodePNG reads a PNG of any kind; 16-bit colours keep their upper 8 bits, and
// what is transparent shows white paper.
func decodePNG(ctx context.Context, data []byte, limits Limits) (*Photo, error) {
	width, height, bytesPerPixel, err := pngHeader(data)
	if err != nil {
		return nil, err
	}
	if err := limits.check(width, height); err != nil {
		return nil, err
	}
	if width*height > maxPNGBytes/bytesPerPixel {
		return nil, problem.Newf(problem.ImageTooLarge, "save it as JPEG, or as a PNG with 8 bits a colour",
			"the photo is too large for a PNG of this kind: %d x %d pixels", width, height)
	}
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, pngError(err)
	}
	if size := img.Bounds().Size(); size.X != width || size.Y != height {
		return nil, damagedf("the PNG unfolds to %v", size)
	}
	u := newUpright(width, height, readLens(data, formatPNG, width, height, limits))
	if err := putImage(ctx, u, img); err != nil {
		return nil, err
	}
	return u.photo, nil
}

// pngHeader reads the header chunk, which has to stand first ("Portable Network
// Graphics (PNG) Specification (Third Edition)", W3C, section 11.2.1): width,
// height, bit depth, colour type, compression, filter, interlace. bytesPerPixel
// is what the decoder will need.
func pngHeader(data []byte) (width, height, bytesPerPixel int, err error) {
	const signature, header = 8, 25
	if len(data) < signature+header || string(data[12:16]) != "IHDR" {
		return 0, 0, 0, damagedf("the PNG has no header")
	}
	w, h := binary.BigEndian.Uint32(data[16:]), binary.BigEndian.Uint32(data[20:])
	if w > 1<<31-1 || h > 1<<31-1 {
		return 0, 0, 0, damagedf("the PNG header states a size of %d x %d", w, h)
	}
	depth, interlaced := data[24], data[28] != 0
	bytesPerPixel = 4
	if depth == 16 {
		bytesPerPixel = 8
	}
	// The passes of an interlaced picture are unfolded apart: half as much again.
	if interlaced {
		bytesPerPixel += bytesPerPixel / 2
	}
	return int(w), int(h), bytesPerPixel, nil
}

func pngError(err error) error {
	var unsupported png.UnsupportedError
	if errors.As(err, &unsupported) {
		return problem.New(problem.UnsupportedImage, "the photo is a kind of PNG that cannot be read here ("+string(unsupported)+")",
			"save it as an ordinary PNG or JPEG").Because(err)
	}
	return damaged(err)
}

// putImage hands the image on in bands of RGB.
func putImage(ctx context.Context, u *upright, img image.Image) error {
	const bandRows = 16
	pixels := make([]uint8, 3*u.width*bandRows)
	for y := 0; y < u.height; y += bandRows {
		if ctx.Err() != nil {
			return cancelled(ctx)
		}
		b := band{pixels: pixels, stride: 3 * u.width, width: 3 * u.width, rows: min(bandRows, u.height-y)}
		for r := range b.rows {
			rgbRow(b.row(r), img, y+r)
		}
		u.putPixels(y, b, pixelsRGB)
	}
	return nil
}

// rgbRow writes row y of img on white paper. The common kinds are read straight
// from their memory, the others pixel by pixel.
func rgbRow(row []uint8, img image.Image, y int) {
	switch m := img.(type) {
	case *image.Gray:
		for x, v := range m.Pix[y*m.Stride:][:len(row)/3] {
			row[3*x], row[3*x+1], row[3*x+2] = v, v, v
		}
	case *image.RGBA: // the decoder's type for pictures without transparency
		for x := range len(row) / 3 {
			copy(row[3*x:3*x+3], m.Pix[y*m.Stride+4*x:])
		}
	case *image.NRGBA:
		for x := range len(row) / 3 {
			p := m.Pix[y*m.Stride+4*x:][:4]
			for c := range 3 {
				row[3*x+c] = onWhite(uint32(p[c])*0x101, uint32(p[3])*0x101)
			}
		}
	default:
		for x := range len(row) / 3 {
			v := color.NRGBA64Model.Convert(m.At(x, y)).(color.NRGBA64)
			a := uint32(v.A)
			row[3*x], row[3*x+1], row[3*x+2] = onWhite(uint32(v.R), a), onWhite(uint32(v.G), a), onWhite(uint32(v.B), a)
		}
	}
}

// onWhite lays a colour of opacity alpha, both 0 to 65535, on white.
func onWhite(value, alpha uint32) uint8 {
	const one = 65535
	mixed := (uint64(value)*uint64(alpha) + one*uint64(one-alpha) + one/2) / one
	return uint8(mixed >> 8)
}
