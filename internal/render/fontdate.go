package render

import (
	"encoding/binary"
	"errors"
)

// withoutDate returns a copy of the font program (sfnt) with the time of its last
// change set to that of its creation, and both kinds of checksum made right again
// (OpenType specification, "Organization of an OpenType font" and "head").
func withoutDate(font []byte) ([]byte, error) {
	font = append([]byte(nil), font...)
	record, head, err := headTable(font)
	if err != nil {
		return nil, err
	}
	const adjustment, created, modified = 8, 20, 28
	copy(head[modified:modified+8], head[created:created+8])
	binary.BigEndian.PutUint32(head[adjustment:], 0)
	binary.BigEndian.PutUint32(record[4:], checksum(head))
	binary.BigEndian.PutUint32(head[adjustment:], 0xB1B0AFBA-checksum(font))
	return font, nil
}

// headTable returns the directory record and the bytes of table head.
func headTable(font []byte) (record, head []byte, err error) {
	bad := errors.New("the embedded font cannot be read back")
	if len(font) < 12 {
		return nil, nil, bad
	}
	count := int(binary.BigEndian.Uint16(font[4:]))
	for i := range count {
		start := 12 + 16*i
		if len(font) < start+16 {
			return nil, nil, bad
		}
		record = font[start : start+16]
		if string(record[:4]) != "head" {
			continue
		}
		offset, size := int(binary.BigEndian.Uint32(record[8:])), int(binary.BigEndian.Uint32(record[12:]))
		padded := (size + 3) &^ 3
		if size < 54 || offset+padded > len(font) {
			return nil, nil, bad
		}
		return record, font[offset : offset+padded], nil
	}
	return nil, nil, bad
}

// checksum adds up the big-endian words; a last partial word is padded with zeros.
func checksum(data []byte) uint32 {
	var sum uint32
	for len(data) >= 4 {
		sum += binary.BigEndian.Uint32(data)
		data = data[4:]
	}
	var last [4]byte
	copy(last[:], data)
	return sum + binary.BigEndian.Uint32(last[:])
}
