package archive

import (
	"context"
	"encoding/binary"
	"errors"
	"math"
	"os"
)

// Carving reads rows from their pages without the tree above them, which SQLite
// cannot do: when a table's first page is lost, all pages below it are still there.
// Which table a page belongs to stands in the pointer map, which auto_vacuum keeps: for
// every page the page above it ("Database File Format", sqlite.org, 1.8). Rows that
// were deleted cannot come back this way, because secure_delete has overwritten them.

// carver reads the pages of a file.
type carver struct {
	file  *os.File
	pages int64
}

// Kinds of pages in the pointer map, and sizes (ibid.).
const (
	mapRoot      = 1
	mapTree      = 5
	mapEntry     = 5       // bytes
	lockPage     = 1 << 30 // the page at this place of the file is never used
	deepestTree  = 20
	leafHead     = 8
	lockPageNo   = lockPage/pageSize + 1
	mapsEvery    = pageSize/mapEntry + 1
	longestLocal = pageSize - 35 // of a row's bytes on its page (1.6)
	leastLocal   = (pageSize-12)*32/255 - 23
)

// carve copies the rows of a table that could not be read to its end.
func (w *salvager) carve(ctx context.Context, copied string, t salvagedTable) error {
	if w.leaves == nil {
		if err := w.mapOut(ctx, copied); err != nil {
			return err
		}
	}
	c, err := openCarver(copied)
	if err != nil {
		return err
	}
	defer c.file.Close()
	for _, page := range w.leaves[w.roots[t.name]] {
		c.rows(page, func(values []any) {
			if len(values) == t.width() {
				w.take(ctx, t, values)
			}
		})
	}
	return ctx.Err()
}

// mapOut lists which pages hold the rows of which table.
func (w *salvager) mapOut(ctx context.Context, copied string) (err error) {
	// What is in the log belongs into the file first, as far as that goes.
	_, _ = w.source.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)")
	l, err := layoutLike(ctx, copied)
	if err != nil {
		return err
	}
	c, err := openCarver(copied)
	if err != nil {
		return err
	}
	defer c.file.Close()
	w.roots = l.tables
	w.leaves, err = c.leaves(ctx)
	return err
}

func openCarver(path string) (carver, error) {
	f, err := os.Open(path)
	if err != nil {
		return carver{}, fileProblem("read", path, err)
	}
	info, err := f.Stat()
	if err != nil {
		return carver{}, errors.Join(fileProblem("read", path, err), f.Close())
	}
	return carver{f, info.Size() / pageSize}, nil
}

// page reads one page; pages are numbered from 1.
func (c carver) page(number int64) ([]byte, bool) {
	if number < 1 || number > c.pages {
		return nil, false
	}
	data := make([]byte, pageSize)
	_, err := c.file.ReadAt(data, (number-1)*pageSize)
	return data, err == nil
}

// leaves lists the pages that hold rows, by the first page of their table.
func (c carver) leaves(ctx context.Context) (map[int64][]int64, error) {
	leaves := map[int64][]int64{}
	for number := int64(3); number <= c.pages && ctx.Err() == nil; number++ {
		data, ok := c.page(number)
		if !ok || data[0] != leafOfTable {
			continue
		}
		if root, ok := c.root(number); ok {
			leaves[root] = append(leaves[root], number)
		}
	}
	return leaves, ctx.Err()
}

// root follows the pointer map up to the page at which the table begins.
func (c carver) root(number int64) (int64, bool) {
	for range deepestTree {
		kind, above, ok := c.above(number)
		switch {
		case !ok:
			return 0, false
		case kind == mapRoot:
			return number, true
		case kind != mapTree:
			return 0, false
		}
		number = above
	}
	return 0, false
}

// above reads a page's entry of the pointer map.
func (c carver) above(number int64) (kind byte, page int64, ok bool) {
	at := (number-2)/mapsEvery*mapsEvery + 2
	if at == lockPageNo {
		at++
	}
	if number <= at {
		return 0, 0, false // a page of the map itself
	}
	var entry [mapEntry]byte
	if _, err := c.file.ReadAt(entry[:], (at-1)*pageSize+mapEntry*(number-at-1)); err != nil {
		return 0, 0, false
	}
	return entry[0], int64(binary.BigEndian.Uint32(entry[1:])), true
}

// rows calls take with the values of each row of a page that can be understood.
func (c carver) rows(number int64, take func(values []any)) {
	data, ok := c.page(number)
	if !ok || data[0] != leafOfTable {
		return
	}
	count := int(binary.BigEndian.Uint16(data[3:]))
	for i := range min(count, (pageSize-leafHead)/2) {
		at := int(binary.BigEndian.Uint16(data[leafHead+2*i:]))
		if at < leafHead || at >= pageSize {
			continue
		}
		if values, ok := c.row(data[at:]); ok {
			take(values)
		}
	}
}

// row reads one row: the length of its bytes, its number, the bytes.
func (c carver) row(cell []byte) (values []any, ok bool) {
	length, n := varint(cell)
	number, m := varint(cell[n:])
	if n == 0 || m == 0 || length > largestPart+pageSize {
		return nil, false
	}
	payload, ok := c.payload(cell[n+m:], int(length))
	if !ok {
		return nil, false
	}
	if values, ok = record(payload); ok && len(values) > 0 && values[0] == nil {
		values[0] = int64(number) // the key is not stored twice
	}
	return values, ok
}

// payload collects a row's bytes, of which the first stand on its page and the others on
// pages chained to it (1.6).
func (c carver) payload(local []byte, length int) ([]byte, bool) {
	here := length
	if length > longestLocal {
		if here = leastLocal + (length-leastLocal)%(pageSize-4); here > longestLocal {
			here = leastLocal
		}
	}
	if here > len(local) {
		return nil, false
	}
	if here == length {
		return local[:length], true
	}
	if here+4 > len(local) {
		return nil, false
	}
	payload := append(make([]byte, 0, length), local[:here]...)
	next := int64(binary.BigEndian.Uint32(local[here:]))
	for len(payload) < length {
		data, ok := c.page(next)
		if !ok {
			return nil, false
		}
		next = int64(binary.BigEndian.Uint32(data))
		payload = append(payload, data[4:min(pageSize, 4+length-len(payload))]...)
	}
	return payload, true
}

// record takes a row's bytes apart: a head with the kind of each value, then the values
// (2.1).
func record(payload []byte) (values []any, ok bool) {
	size, n := varint(payload)
	if n == 0 || size > uint64(len(payload)) {
		return nil, false
	}
	head, body := payload[n:max(n, int(size))], payload[size:]
	for len(head) > 0 {
		kind, n := varint(head)
		if n == 0 {
			return nil, false
		}
		head = head[n:]
		value, used, ok := recordValue(kind, body)
		if !ok {
			return nil, false
		}
		values, body = append(values, value), body[used:]
	}
	return values, true
}

// recordValue reads one value of that kind.
func recordValue(kind uint64, body []byte) (value any, used int, ok bool) {
	sizes := [...]int{0, 1, 2, 3, 4, 6, 8, 8, 0, 0}
	switch {
	case kind < uint64(len(sizes)):
		used = sizes[kind]
	case kind >= 12 && (kind-12)/2 <= uint64(len(body)):
		used = int((kind - 12) / 2)
	default:
		return nil, 0, false
	}
	if used > len(body) {
		return nil, 0, false
	}
	data := body[:used]
	switch {
	case kind == 0:
		return nil, 0, true
	case kind == 7:
		return math.Float64frombits(binary.BigEndian.Uint64(data)), used, true
	case kind == 8 || kind == 9:
		return int64(kind - 8), 0, true
	case kind < 7:
		return signed(data), used, true
	case kind%2 == 0:
		return data, used, true
	}
	return string(data), used, true
}

// signed reads a big-endian number in two's complement.
func signed(data []byte) int64 {
	v := int64(int8(data[0]))
	for _, b := range data[1:] {
		v = v<<8 | int64(b)
	}
	return v
}

// varint reads SQLite's variable-length number (1.6); n = 0 if it is cut off.
func varint(data []byte) (v uint64, n int) {
	for i, b := range data {
		if i == 8 {
			return v<<8 | uint64(b), 9
		}
		v = v<<7 | uint64(b&0x7f)
		if b < 0x80 {
			return v, i + 1
		}
	}
	return 0, 0
}
