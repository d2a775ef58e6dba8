package photo

import (
	"bytes"
	"encoding/binary"
	"slices"

	"fairedge/internal/problem"
)

// heicWithoutPrivate overwrites the private parts of a HEIC in place: the EXIF item
// becomes one with the lens only and zeros behind it, other items that are no
// pictures (XMP and the like) and boxes that no picture needs become zeros.
func heicWithoutPrivate(data []byte) (clean []byte, removed []string, err error) {
	var gone notes
	exif := lensEXIF(data, formatHEIC)
	out := bytes.Clone(data)
	items, ok := heicItems(out)
	if !ok {
		return nil, nil, problem.New(problem.UnsupportedImage, "the private data of this HEIC cannot be taken out", "save it as JPEG and keep that")
	}
	for _, item := range items {
		switch item.kind {
		case "Exif":
			gone.add("EXIF other than the lens")
			overwrite(item.extents, exifItem(exif), 0)
			exif = nil // once
		case "mime":
			gone.add("XMP")
			overwrite(item.extents, []byte(emptyXMP), ' ')
		case "uri ":
			gone.add("application data")
			overwrite(item.extents, nil, 0)
		}
	}
	blankBoxes(out, &gone)
	return out, gone, nil
}

// exifItem is the content of an EXIF item (ISO/IEC 23008-12, annex A.2.1): how far it
// is from here to the TIFF head, then the block.
func exifItem(exif []byte) []byte {
	if exif == nil {
		return nil
	}
	return append(make([]byte, 4), exif...)
}

// emptyXMP is an XMP packet that says nothing ("XMP Specification", part 1, ISO
// 16684-1, 7.3); spaces may follow.
const emptyXMP = `<x:xmpmeta xmlns:x="adobe:ns:meta/"/>`

// overwrite puts content at the beginning of the extents, one after the other, and
// fills them up behind it; content that is too long is left out.
func overwrite(extents [][]byte, content []byte, fill byte) {
	room := 0
	for _, e := range extents {
		for i := range e {
			e[i] = fill
		}
		room += len(e)
	}
	if len(content) > room {
		return
	}
	for _, e := range extents {
		content = content[copy(e, content):]
	}
}

// blankBoxes clears boxes at the outermost level that no still picture needs: makers
// put films and their own data there. In a film's box (moov) the user data go.
func blankBoxes(data []byte, gone *notes) {
	walk(data, func(kind string, body []byte) bool {
		switch kind {
		case "ftyp", "meta", "mdat", "free", "skip", "wide":
		case "moov":
			blankUserData(body, gone)
		default:
			if len(bytes.Trim(body, "\x00")) > 0 {
				clear(body)
				gone.add("application data")
			}
		}
		return true
	})
}

func blankUserData(moov []byte, gone *notes) {
	walk(moov, func(kind string, body []byte) bool {
		switch kind {
		case "udta", "meta":
			clear(body)
			gone.add("application data")
		case "trak":
			blankUserData(body, gone)
		}
		return true
	})
}

// heicItem is one item of a HEIC: its kind and the places of its bytes in the file.
type heicItem struct {
	id      uint32
	kind    string
	extents [][]byte
}

// heicItems lists the items with their places (boxes iinf and iloc, ISO/IEC
// 14496-12, 8.11.3 and 8.11.6). ok is false when any of it cannot be understood.
func heicItems(data []byte) (items []heicItem, ok bool) {
	meta := fullBox(box(data, "meta"))
	if items, ok = itemKinds(box(meta, "iinf")); !ok {
		return nil, false
	}
	places, ok := itemPlaces(box(meta, "iloc"), data, box(meta, "idat"))
	if !ok {
		return nil, false
	}
	for i := range items {
		items[i].extents = places[items[i].id]
	}
	return items, true
}

func itemKinds(iinf []byte) (items []heicItem, ok bool) {
	r := bigReader{data: iinf}
	version := r.number(1)
	r.skip(3)
	count := int(r.number(2 + 2*int(min(version, 1))))
	if r.bad || version > 1 {
		return nil, false
	}
	walk(r.data, func(kind string, body []byte) bool {
		if kind != "infe" {
			return true
		}
		e := bigReader{data: body}
		version := e.number(1)
		e.skip(3)
		wide := 2
		if version == 3 {
			wide = 4
		}
		item := heicItem{id: e.number(wide)}
		e.skip(2)
		if item.kind = string(e.take(4)); version == 2 || version == 3 { // older ones have no kind
			items = append(items, item)
		}
		ok = !e.bad
		return ok
	})
	return items, len(items) == count
}

// itemPlaces reads iloc: for each item the stretches of the file, or of idat, that it
// consists of.
func itemPlaces(iloc, file, idat []byte) (places map[uint32][][]byte, ok bool) {
	r := bigReader{data: iloc}
	version := r.number(1)
	r.skip(3)
	sizes := r.number(2)
	offsetSize, lengthSize, baseSize, indexSize := int(sizes>>12), int(sizes>>8&15), int(sizes>>4&15), int(sizes&15)
	idSize := 2
	if version == 2 {
		idSize = 4
	}
	if version == 0 {
		indexSize = 0
	}
	if version > 2 || !slices.Contains([]int{0, 4, 8}, offsetSize) || !slices.Contains([]int{0, 4, 8}, lengthSize) {
		return nil, false
	}
	places = map[uint32][][]byte{}
	for count := r.number(idSize); count > 0 && !r.bad; count-- {
		id := r.number(idSize)
		method := uint32(0)
		if version > 0 {
			method = r.number(2) & 15
		}
		r.skip(2)
		base := r.long(baseSize)
		for extents := r.number(2); extents > 0 && !r.bad; extents-- {
			r.skip(indexSize)
			offset, length := base+r.long(offsetSize), r.long(lengthSize)
			extent, inside := extentBytes(method, file, idat, offset, length)
			if !inside {
				return nil, false
			}
			places[id] = append(places[id], extent)
		}
	}
	return places, !r.bad
}

// extentBytes returns the bytes of an extent. Items made from other items (method 2) have
// no bytes of their own.
func extentBytes(method uint32, file, idat []byte, offset, length uint64) ([]byte, bool) {
	source := file
	switch method {
	case 0:
	case 1:
		source = idat
	case 2:
		return nil, true
	default:
		return nil, false
	}
	size := uint64(len(source))
	if offset > size || length > size-offset {
		return nil, false
	}
	if length == 0 { // to the end
		length = size - offset
	}
	return source[offset : offset+length : offset+length], true
}

// bigReader reads big-endian numbers one after the other; bad is set for good when
// the data end too early.
type bigReader struct {
	data []byte
	bad  bool
}

func (r *bigReader) take(n int) []byte {
	if n > len(r.data) {
		r.bad = true
		return make([]byte, n)
	}
	taken := r.data[:n]
	r.data = r.data[n:]
	return taken
}

func (r *bigReader) skip(n int) { r.take(n) }

func (r *bigReader) number(size int) uint32 { return bigEndian(r.take(size)) }

// long reads 0, 4 or 8 bytes.
func (r *bigReader) long(size int) uint64 {
	if size == 8 {
		return binary.BigEndian.Uint64(r.take(8))
	}
	return uint64(r.number(size))
}
