package testscene

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/jpeg"
	"math"

	"fairedge/internal/photo"
)

// JPEG returns the photo as the file that a phone would write: colour at half
// size, and an EXIF block with what p.Lens says (make, model, focal lengths; the
// picture is stored upright, orientation 1). A Lens of zero values gives a file
// without EXIF.
func JPEG(p photo.Photo, quality int) ([]byte, error) {
	cw, _ := p.ChromaSize()
	picture := &image.YCbCr{
		Y: p.Luma, Cb: p.Cb, Cr: p.Cr, YStride: p.Width, CStride: cw,
		SubsampleRatio: image.YCbCrSubsampleRatio420, Rect: image.Rect(0, 0, p.Width, p.Height),
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, picture, &jpeg.Options{Quality: quality}); err != nil {
		return nil, err
	}
	if p.Lens == (photo.Lens{}) {
		return out.Bytes(), nil
	}
	file := out.Bytes()
	block := exifBlock(p)
	head := []byte{0xff, 0xd8, 0xff, 0xe1, byte((len(block) + 2) >> 8), byte(len(block) + 2)}
	return append(append(head, block...), file[2:]...), nil
}

// tag is one entry of an EXIF directory: ASCII text, a short, a long or a rational.
type tag struct {
	id    uint16
	text  string
	short uint16
	long  uint32
	ratio [2]uint32
}

// exifBlock writes the two directories of EXIF (CIPA DC-008, 4.6), big-endian.
func exifBlock(p photo.Photo) []byte {
	main := []tag{{id: 0x0112, short: 1}}
	if p.Lens.Make != "" {
		main = append([]tag{{id: 0x010f, text: p.Lens.Make}, {id: 0x0110, text: p.Lens.Model}}, main...)
	}
	sub := []tag{{id: 0xa002, long: uint32(p.Width)}, {id: 0xa003, long: uint32(p.Height)}}
	if p.Lens.FocalMM > 0 {
		sub = append([]tag{{id: 0x920a, ratio: [2]uint32{uint32(math.Round(p.Lens.FocalMM * 1000)), 1000}}}, sub...)
	}
	if p.Lens.Focal35MM > 0 {
		sub = append(sub, tag{id: 0xa405, short: uint16(math.Round(p.Lens.Focal35MM))})
	}
	// The size of the main directory does not depend on where the other one lies.
	start := 8 + len(directory(append(main, tag{id: 0x8769, long: 1}), 8))
	body := directory(append(main, tag{id: 0x8769, long: uint32(start)}), 8)
	block := append([]byte("Exif\x00\x00MM\x00\x2a\x00\x00\x00\x08"), body...)
	return append(block, directory(sub, start)...)
}

// directory writes entries in the order of their numbers, and behind them the
// values that do not fit into four bytes; at is where it will lie.
func directory(tags []tag, at int) []byte {
	out := binary.BigEndian.AppendUint16(nil, uint16(len(tags)))
	var tail []byte
	tailAt := at + 2 + 12*len(tags) + 4
	for _, t := range tags {
		out = binary.BigEndian.AppendUint16(out, t.id)
		kind, count, value := t.entry()
		out = binary.BigEndian.AppendUint16(out, kind)
		out = binary.BigEndian.AppendUint32(out, count)
		if len(value) > 4 {
			out = binary.BigEndian.AppendUint32(out, uint32(tailAt+len(tail)))
			tail = append(tail, value...)
			continue
		}
		out = append(out, append(value, 0, 0, 0, 0)[:4]...)
	}
	out = append(out, 0, 0, 0, 0) // no further directory
	return append(out, tail...)
}

// entry returns the EXIF type, count and bytes of the tag's value.
func (t tag) entry() (kind uint16, count uint32, value []byte) {
	switch {
	case t.text != "":
		return 2, uint32(len(t.text) + 1), append([]byte(t.text), 0)
	case t.ratio[1] != 0:
		value = binary.BigEndian.AppendUint32(nil, t.ratio[0])
		return 5, 1, binary.BigEndian.AppendUint32(value, t.ratio[1])
	case t.long != 0:
		return 4, 1, binary.BigEndian.AppendUint32(nil, t.long)
	}
	return 3, 1, binary.BigEndian.AppendUint16(nil, t.short)
}
