package photo

import (
	"bytes"
	"encoding/binary"
	"slices"
	"testing"
)

// propertyBox is an irot or imir box.
func propertyBox(kind string, value byte) []byte {
	return append(append([]byte{0, 0, 0, 9}, kind...), value)
}

// withTransforms adds properties to the main picture of a HEIC that heif-enc
// wrote: to the list (ipco) and to the associations (ipma, version 0, item 1
// first), and moves the data offsets (iloc, version 0) by as much.
func withTransforms(t testing.TB, heic []byte, boxes ...[]byte) []byte {
	t.Helper()
	data := slices.Clone(heic)
	at := func(kind string) int { // where the box begins
		i := bytes.Index(data, []byte(kind))
		if i < 4 {
			t.Fatalf("no %s box", kind)
		}
		return i - 4
	}
	grow := func(start, by int) {
		binary.BigEndian.PutUint32(data[start:], binary.BigEndian.Uint32(data[start:])+uint32(by))
	}
	size := func(start int) int { return int(binary.BigEndian.Uint32(data[start:])) }
	meta, iloc, iprp, ipco, ipma := at("meta"), at("iloc"), at("iprp"), at("ipco"), at("ipma")

	known := 0
	walk(data[ipco+8:ipco+size(ipco)], func(string, []byte) bool { known++; return true })
	added := slices.Concat(boxes...)
	growth := len(added) + len(boxes)
	moveData(t, data[iloc+12:iloc+size(iloc)], growth)

	// ipma: head 12, entry count 4, item 2, number of associations 1, associations.
	count := ipma + 18
	end := count + 1 + int(data[count])
	data[count] += byte(len(boxes))
	var numbers []byte
	for i := range boxes {
		numbers = append(numbers, byte(known+1+i))
	}
	grow(ipma, len(boxes))
	grow(ipco, len(added))
	grow(iprp, growth)
	grow(meta, growth)
	data = slices.Insert(data, end, numbers...)
	// ipco stands before ipma, so its end has not moved; its size has grown already.
	return slices.Insert(data, ipco+size(ipco)-len(added), added...)
}

func moveData(t testing.TB, iloc []byte, by int) {
	t.Helper()
	if iloc[0] != 0x44 || iloc[1] != 0x40 {
		t.Fatalf("iloc with sizes %x %x: the test has to be adapted", iloc[0], iloc[1])
	}
	items := int(binary.BigEndian.Uint16(iloc[2:]))
	for at := 4; items > 0; items-- {
		base := iloc[at+4:]
		binary.BigEndian.PutUint32(base, binary.BigEndian.Uint32(base)+uint32(by))
		at += 10 + 8*int(binary.BigEndian.Uint16(iloc[at+8:]))
	}
}
