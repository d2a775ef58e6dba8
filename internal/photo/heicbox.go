package photo

import "encoding/binary"

// The boxes of a HEIF container (ISO/IEC 14496-12, 4.2; ISO/IEC 23008-12, 6.5):
//
//	meta
//	  pitm            the number of the main picture
//	  iprp
//	    ipco          properties, in order: ispe, hvcC, irot, imir, ...
//	    ipma          which properties each picture has, in the order to apply
//
// libheif 1.15 applies irot and imir but has no way to ask for them.

// walk calls visit with each box of a sequence until visit returns false. Broken
// lengths end it.
func walk(data []byte, visit func(kind string, body []byte) bool) {
	for len(data) >= 8 {
		size, header := uint64(binary.BigEndian.Uint32(data)), uint64(8)
		switch {
		case size == 0: // to the end
			size = uint64(len(data))
		case size == 1 && len(data) >= 16:
			size, header = binary.BigEndian.Uint64(data[8:]), 16
		}
		if size < header || size > uint64(len(data)) {
			return
		}
		if !visit(string(data[4:8]), data[header:size]) {
			return
		}
		data = data[size:]
	}
}

// box returns the body of the first box of that kind, or nil.
func box(data []byte, kind string) (found []byte) {
	walk(data, func(k string, body []byte) bool {
		if k == kind {
			found = body
			return false
		}
		return true
	})
	return found
}

// containerOrientation returns the EXIF value of the turns and mirrorings that
// the container prescribes for its main picture. said is false if it has none.
func containerOrientation(data []byte) (orientation int, said bool) {
	meta := fullBox(box(data, "meta"))
	main, ok := mainItem(box(meta, "pitm"))
	if !ok {
		return 1, false
	}
	properties := box(meta, "iprp")
	var kinds []string
	var bodies [][]byte
	walk(box(properties, "ipco"), func(kind string, body []byte) bool {
		kinds, bodies = append(kinds, kind), append(bodies, body)
		return true
	})
	orientation = 1
	for _, index := range associations(box(properties, "ipma"), main) {
		if index < 1 || index > len(kinds) || len(bodies[index-1]) < 1 {
			continue
		}
		value := bodies[index-1][0]
		switch kinds[index-1] {
		case "irot":
			orientation, said = turnedLeft(orientation, int(value&3)), true
		case "imir":
			orientation, said = mirrored(orientation, value&1 == 1), true
		}
	}
	return orientation, said
}

// fullBox strips version and flags.
func fullBox(body []byte) []byte {
	if len(body) < 4 {
		return nil
	}
	return body[4:]
}

// mainItem reads the item number in pitm: 16 bits, or 32 from version 1 on.
func mainItem(body []byte) (uint32, bool) {
	switch {
	case len(body) >= 6 && body[0] == 0:
		return uint32(binary.BigEndian.Uint16(body[4:])), true
	case len(body) >= 8 && body[0] > 0:
		return binary.BigEndian.Uint32(body[4:]), true
	}
	return 0, false
}

// associations returns the property numbers (from 1) of an item, out of ipma.
func associations(body []byte, item uint32) []int {
	if len(body) < 8 {
		return nil
	}
	version, wide := body[0], body[3]&1 == 1
	idBytes, indexBytes := 2, 1
	if version > 0 {
		idBytes = 4
	}
	if wide {
		indexBytes = 2
	}
	rest := body[8:]
	for len(rest) > idBytes {
		id := bigEndian(rest[:idBytes])
		count := int(rest[idBytes])
		rest = rest[idBytes+1:]
		if len(rest) < count*indexBytes {
			return nil
		}
		if id == item {
			return propertyNumbers(rest[:count*indexBytes], indexBytes)
		}
		rest = rest[count*indexBytes:]
	}
	return nil
}

// propertyNumbers leaves out the top bit, which marks the property as essential.
func propertyNumbers(list []byte, size int) (numbers []int) {
	for ; len(list) >= size; list = list[size:] {
		numbers = append(numbers, int(bigEndian(list[:size])&(1<<(8*size-1)-1)))
	}
	return numbers
}

func bigEndian(b []byte) (v uint32) {
	for _, one := range b {
		v = v<<8 | uint32(one)
	}
	return v
}

// An EXIF orientation is a mirroring left to right (or none) followed by quarter
// turns to the right. The tables give the value for (mirrored, turns) and back.
func orientationFrom(mirrored bool, right int) int {
	if mirrored {
		return [4]int{2, 7, 4, 5}[right&3]
	}
	return [4]int{1, 6, 3, 8}[right&3]
}

func partsOf(orientation int) (mirrored bool, right int) {
	for right := range 4 {
		for _, m := range []bool{false, true} {
			if orientationFrom(m, right) == orientation {
				return m, right
			}
		}
	}
	return false, 0
}

// turnedLeft adds quarter turns to the left (irot: "anti-clockwise").
func turnedLeft(orientation, quarters int) int {
	m, right := partsOf(orientation)
	return orientationFrom(m, right-quarters)
}

// mirrored adds a mirroring: left to right (imir axis 1 in libheif's reading of
// ISO/IEC 23008-12:2022, 6.5.12) or top to bottom (axis 0), which is left to
// right and a half turn. Mirroring after turning right is turning left after
// mirroring.
func mirrored(orientation int, leftToRight bool) int {
	m, right := partsOf(orientation)
	right = -right
	if !leftToRight {
		right += 2
	}
	return orientationFrom(!m, right)
}
