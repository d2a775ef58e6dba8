package photo

import "encoding/binary"

// lensEXIF returns an EXIF block (TIFF, big-endian; "Exchangeable image file format",
// JEITA CP-3451C, 4.5 and 4.6) with what the file says of the lens and nothing else,
// or nil when it says nothing. It is written anew from the values, not cut out of the
// old block, so that nothing hidden between the old one's parts can come along.
func lensEXIF(data []byte, from format) []byte {
	tags := exifTags(data, from)
	main := directoryOf(tags, []lensTag{{tagMake, 0x010f}, {tagModel, 0x0110}, {tagOrientation, 0x0112}})
	exif := directoryOf(tags, []lensTag{
		{tagFocal, 0x920a}, {tagWidth, 0xa002}, {tagHeight, 0xa003}, {tagZoom, 0xa404}, {tagFocal35, 0xa405},
	})
	if len(main)+len(exif) == 0 {
		return nil
	}
	const head, exifPointer = 8, 0x8769
	pointer := tiffEntry{exifPointer, tiffLong, 1, make([]byte, 4)}
	main = append(main, pointer)
	at := head + len(directoryBytes(main, head))
	binary.BigEndian.PutUint32(main[len(main)-1].value, uint32(at))
	out := append([]byte("MM\x00\x2a\x00\x00\x00\x08"), directoryBytes(main, head)...)
	return append(out, directoryBytes(exif, at)...)
}

type lensTag struct {
	name   string
	number uint16
}

// Types of TIFF values ("TIFF Revision 6.0", 1992, section 2).
const (
	tiffASCII    = 2
	tiffShort    = 3
	tiffLong     = 4
	tiffRational = 5
)

type tiffEntry struct {
	tag, kind uint16
	count     uint32
	value     []byte
}

// directoryOf makes the entries of the tags that have a value, in the order given,
// which is that of their numbers as TIFF demands.
func directoryOf(values map[string]any, tags []lensTag) (entries []tiffEntry) {
	for _, t := range tags {
		if kind, count, value := tiffValue(values[t.name]); value != nil {
			entries = append(entries, tiffEntry{t.number, kind, count, value})
		}
	}
	return entries
}

// tiffValue encodes a value as read; nil when there is none that could be right.
func tiffValue(value any) (kind uint16, count uint32, data []byte) {
	switch v := value.(type) {
	case string:
		if s := text(v); s != "" {
			return tiffASCII, uint32(len(s) + 1), append([]byte(s), 0)
		}
		return 0, 0, nil
	case interface {
		Num() uint32
		Den() uint32
	}:
		return tiffRational, 1, binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, v.Num()), v.Den())
	}
	whole := number(value)
	switch {
	case whole != float64(uint32(max(0, min(whole, 1<<32-1)))) || whole == 0:
		return 0, 0, nil
	case whole < 1<<16:
		return tiffShort, 1, binary.BigEndian.AppendUint16(nil, uint16(whole))
	}
	return tiffLong, 1, binary.BigEndian.AppendUint32(nil, uint32(whole))
}

// directoryBytes writes a directory that begins at that place of the block; values
// of more than four bytes follow it.
func directoryBytes(entries []tiffEntry, at int) []byte {
	out := binary.BigEndian.AppendUint16(nil, uint16(len(entries)))
	var long []byte
	longAt := at + 2 + 12*len(entries) + 4
	for _, e := range entries {
		out = binary.BigEndian.AppendUint16(out, e.tag)
		out = binary.BigEndian.AppendUint16(out, e.kind)
		out = binary.BigEndian.AppendUint32(out, e.count)
		if len(e.value) <= 4 {
			out = append(append(out, e.value...), make([]byte, 4-len(e.value))...)
			continue
		}
		out = binary.BigEndian.AppendUint32(out, uint32(longAt+len(long)))
		long = append(long, e.value...)
		if len(long)%2 == 1 {
			long = append(long, 0)
		}
	}
	return append(append(out, 0, 0, 0, 0), long...) // no further directory
}
