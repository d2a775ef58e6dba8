package photo

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"slices"

	"fairedge/internal/problem"
)

// WithoutPrivate returns a picture file without what it says of people and places:
// of all its metadata only the lens (make, model, focal lengths, digital zoom, size
// and orientation) and the colour profile stay. Place, time, names, serial numbers,
// maker notes, comments, thumbnails, further pictures and films stored behind the
// picture go. The picture's own bytes are not touched: it decodes to the same
// pixels with the same Lens. removed says what was taken out, each kind once, in the
// order found.
//
// A JPEG or PNG becomes shorter. A HEIC keeps its length: its parts refer to each
// other by their place in the file, so private bytes are overwritten with zeros.
//
// Errors are *problem.Error: a file that cannot be taken apart is refused, never
// passed on as it is.
func WithoutPrivate(data []byte) (clean []byte, removed []string, err error) {
	switch kind := formatOf(data); kind {
	case formatJPEG:
		return jpegWithoutPrivate(data)
	case formatPNG:
		return pngWithoutPrivate(data)
	case formatHEIC:
		return heicWithoutPrivate(data)
	default:
		return nil, nil, problem.New(problem.NotAPicture, "this is not a picture that can be kept", "name a photo in JPEG, HEIC or PNG")
	}
}

// notes collects what was removed.
type notes []string

func (n *notes) add(what string) {
	if !slices.Contains(*n, what) {
		*n = append(*n, what)
	}
}

// Markers of a JPEG file (ITU-T T.81, table B.1).
const (
	markerTEM  = 0x01
	markerRST0 = 0xd0
	markerRST7 = 0xd7
	markerSOI  = 0xd8
	markerEOI  = 0xd9
	markerSOS  = 0xda
	markerAPP0 = 0xe0
	markerAPPF = 0xef
	markerCOM  = 0xfe
)

// jpegWithoutPrivate copies a JPEG marker by marker.
func jpegWithoutPrivate(data []byte) (clean []byte, removed []string, err error) {
	var gone notes
	exif := lensEXIF(data, formatJPEG)
	out := append(make([]byte, 0, len(data)), data[:2]...)
	rest := data[2:]
	for {
		marker, body, after, ok := nextMarker(rest)
		if !ok {
			return nil, nil, damagedf("a JPEG marker is cut off")
		}
		if exif != nil && marker != markerAPP0 {
			out, exif = appendSegment(out, 0xe1, append([]byte("Exif\x00\x00"), exif...)), nil
		}
		rest = after
		if marker >= markerAPP0 && marker <= markerAPPF || marker == markerCOM {
			if kept := keptSegment(marker, body, &gone); kept != nil {
				out = appendSegment(out, marker, kept)
			}
			continue
		}
		out = append(out, 0xff, marker)
		if marker == markerEOI {
			if len(bytes.Trim(rest, "\x00\xff")) > 0 {
				gone.add("data behind the picture")
			}
			return out, gone, nil
		}
		if body != nil {
			out = binary.BigEndian.AppendUint16(out, uint16(len(body)+2))
			out = append(out, body...)
		}
		if marker == markerSOS {
			scan := scanLength(rest)
			out, rest = append(out, rest[:scan]...), rest[scan:]
			if len(rest) == 0 {
				return out, gone, nil // without its end, as some cameras leave it
			}
		}
	}
}

// nextMarker skips stray and fill bytes to the next marker and returns it with the
// body of its segment (nil: it has none) and what follows.
func nextMarker(data []byte) (marker byte, body, after []byte, ok bool) {
	at := 0
	for at+1 < len(data) && (data[at] != 0xff || data[at+1] == 0xff || data[at+1] == 0) {
		at++
	}
	if at+1 >= len(data) {
		return 0, nil, nil, false
	}
	marker, data = data[at+1], data[at+2:]
	if marker == markerTEM || marker >= markerRST0 && marker <= markerEOI {
		return marker, nil, data, true
	}
	if len(data) < 2 {
		return 0, nil, nil, false
	}
	size := int(binary.BigEndian.Uint16(data))
	if size < 2 || size > len(data) {
		return 0, nil, nil, false
	}
	return marker, data[2:size], data[size:], true
}

// scanLength is how far the entropy-coded data reach: to the first marker that does
// not belong to them (ITU-T T.81, B.1.1.5: 0xff is followed by 0 there, or is a
// restart marker).
func scanLength(data []byte) int {
	for at := 0; at+1 < len(data); at++ {
		if next := data[at+1]; data[at] == 0xff && next != 0 && next != 0xff && (next < markerRST0 || next > markerRST7) {
			return at
		}
	}
	return len(data)
}

// keptSegment returns what stays of an application segment: those that say how the
// colours are meant. The thumbnail of a JFIF segment goes.
func keptSegment(marker byte, body []byte, gone *notes) []byte {
	begins := func(s string) bool { return bytes.HasPrefix(body, []byte(s)) }
	switch {
	case marker == 0xe0 && begins("JFIF\x00") && len(body) >= 14:
		if len(body) > 14 {
			gone.add("thumbnail")
		}
		return append(bytes.Clone(body[:12]), 0, 0)
	case marker == 0xe2 && begins("ICC_PROFILE\x00"):
		return body
	case marker == 0xee && begins("Adobe"):
		return body
	case marker == 0xe1 && begins("Exif\x00"):
		gone.add("EXIF other than the lens")
	case marker == 0xe1:
		gone.add("XMP")
	case marker == 0xed:
		gone.add("IPTC")
	case marker == markerCOM:
		gone.add("comment")
	default:
		gone.add("application data")
	}
	return nil
}

func appendSegment(out []byte, marker byte, body []byte) []byte {
	out = append(out, 0xff, marker)
	return append(binary.BigEndian.AppendUint16(out, uint16(len(body)+2)), body...)
}

// pngWithoutPrivate copies the chunks that make the picture and its colours
// ("Portable Network Graphics (PNG) Specification (Third Edition)", W3C, section 11).
func pngWithoutPrivate(data []byte) (clean []byte, removed []string, err error) {
	var gone notes
	exif := lensEXIF(data, formatPNG)
	out, rest := append(make([]byte, 0, len(data)), data[:8]...), data[8:]
	for {
		if len(rest) < 12 || uint64(binary.BigEndian.Uint32(rest)) > uint64(len(rest)-12) {
			return nil, nil, damagedf("a PNG chunk is cut off")
		}
		size := int(binary.BigEndian.Uint32(rest)) + 12
		chunk, kind := rest[:size], string(rest[4:8])
		rest = rest[size:]
		switch kind {
		case "IDAT":
			if exif != nil {
				out, exif = append(out, pngChunk("eXIf", exif)...), nil
			}
			out = append(out, chunk...)
		case "IHDR", "PLTE", "tRNS", "gAMA", "cHRM", "sRGB", "iCCP", "sBIT", "bKGD", "pHYs", "cICP":
			out = append(out, chunk...)
		case "IEND":
			if len(rest) > 0 {
				gone.add("data behind the picture")
			}
			return append(out, chunk...), gone, nil
		case "eXIf":
			gone.add("EXIF other than the lens")
		case "tEXt", "zTXt", "iTXt":
			gone.add("comment")
		default:
			gone.add("application data")
		}
	}
}

func pngChunk(kind string, body []byte) []byte {
	out := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	out = append(append(out, kind...), body...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}
