package detect

import "encoding/binary"

// grid is a picture of yes and no, with a border of at least one pixel of no,
// so that neighbours need no bounds checks.
type grid struct {
	w, h int
	pix  []uint8 // 0 or 1
}

func newGrid(w, h int) *grid { return &grid{w, h, make([]uint8, w*h)} }

func (g *grid) clone() *grid { return &grid{g.w, g.h, append([]uint8(nil), g.pix...)} }

// around returns the steps to the eight neighbours: E, NE, N, NW, W, SW, S, SE.
func (g *grid) around() [8]int {
	return [8]int{1, 1 - g.w, -g.w, -1 - g.w, -1, g.w - 1, g.w, g.w + 1}
}

// code packs the neighbours of pixel k into bits 0 to 7, in the order of around.
func (g *grid) code(k int) uint8 {
	p, w := g.pix, g.w
	return p[k+1] | p[k+1-w]<<1 | p[k-w]<<2 | p[k-1-w]<<3 | p[k-1]<<4 | p[k+w-1]<<5 | p[k+w]<<6 | p[k+w+1]<<7
}

// inner reports whether pixel k has all eight neighbours inside the picture.
func (g *grid) inner(k int) bool {
	x, y := k%g.w, k/g.w
	return x > 0 && y > 0 && x < g.w-1 && y < g.h-1
}

// clearBorder sets the outermost pixels to no.
func (g *grid) clearBorder() {
	for x := range g.w {
		g.pix[x], g.pix[(g.h-1)*g.w+x] = 0, 0
	}
	for y := range g.h {
		g.pix[y*g.w], g.pix[y*g.w+g.w-1] = 0, 0
	}
}

// count returns how many pixels are yes.
func (g *grid) count() int {
	k, n, count := 0, len(g.pix), uint64(0)
	for ; k+8 <= n; k += 8 {
		count += binary.LittleEndian.Uint64(g.pix[k:]) * 0x0101010101010101 >> 56 // the sum of eight bytes
	}
	for ; k < n; k++ {
		count += uint64(g.pix[k])
	}
	return int(count)
}

// set lists the pixels that are yes, in raster order. Eight at a time: nearly all
// are no. They are counted first, since growing a long list costs more.
func (g *grid) set() []int32 {
	k, n := 0, len(g.pix)
	list := make([]int32, 0, g.count())
	for ; k+8 <= n; k += 8 {
		if binary.LittleEndian.Uint64(g.pix[k:]) == 0 {
			continue
		}
		for i := range 8 {
			if g.pix[k+i] != 0 {
				list = append(list, int32(k+i))
			}
		}
	}
	for ; k < n; k++ {
		if g.pix[k] != 0 {
			list = append(list, int32(k))
		}
	}
	return list
}

// crossings counts the changes from no to yes once round the neighbours: 1 at
// the end of a stroke, 2 along it, more where strokes meet.
func crossings(code uint8) int {
	n := 0
	for i := range 8 {
		if code>>i&1 == 0 && code>>((i+1)&7)&1 == 1 {
			n++
		}
	}
	return n
}

func countBits(code uint8) int {
	n := 0
	for ; code != 0; code &= code - 1 {
		n++
	}
	return n
}

// thin reduces the strokes to lines one pixel wide that keep their ends and
// their connections (Zhang and Suen, "A fast parallel algorithm for thinning
// digital patterns", CACM 27, 1984).
func (g *grid) thin() {
	rules := thinningRules()
	active := g.set()
	var doomed []int32
	for changed := true; changed; {
		changed = false
		for pass := range 2 {
			doomed = doomed[:0]
			for _, k := range active {
				if rules[pass][g.code(int(k))] {
					doomed = append(doomed, k)
				}
			}
			for _, k := range doomed {
				g.pix[k] = 0
			}
			if len(doomed) > 0 {
				changed = true
				active = g.keepSet(active)
			}
		}
	}
}

func (g *grid) keepSet(list []int32) []int32 {
	kept := list[:0]
	for _, k := range list {
		if g.pix[k] != 0 {
			kept = append(kept, k)
		}
	}
	return kept
}

// thinningRules tabulates which neighbourhoods lose their middle pixel in the
// two passes.
func thinningRules() [2][256]bool {
	var rules [2][256]bool
	for c := range 256 {
		code := uint8(c)
		n := countBits(code)
		if n < 2 || n > 6 || crossings(code) != 1 {
			continue
		}
		e, no, w, s := code&1, code>>2&1, code>>4&1, code>>6&1
		rules[0][c] = no&e&s == 0 && e&s&w == 0
		rules[1][c] = no&e&w == 0 && no&s&w == 0
	}
	return rules
}

// simplePixels tabulates the neighbourhoods whose middle pixel can go without
// joining or parting anything: Yokoi's 8-connectivity number is 1 (Yokoi,
// Toriwaki, Fukumura, "An analysis of topological properties of digitized binary
// pictures using local features", CGIP 4, 1975).
func simplePixels() [256]bool {
	var simple [256]bool
	for c := range 256 {
		n := 0
		for i := 0; i < 8; i += 2 {
			a, b, d := c>>i&1, c>>(i+1)&1, c>>((i+2)&7)&1
			n += (1 - a) - (1-a)*(1-b)*(1-d)
		}
		simple[c] = n == 1
	}
	return simple
}

// prune removes every stroke that has a free end, so that only closed ways and
// the strokes between them remain.
func (g *grid) prune() {
	simple := simplePixels()
	around := g.around()
	queue := g.set()
	for len(queue) > 0 {
		k := int(queue[len(queue)-1])
		queue = queue[:len(queue)-1]
		if g.pix[k] == 0 {
			continue
		}
		code := g.code(k)
		if code != 0 && !simple[code] {
			continue
		}
		g.pix[k] = 0
		for _, d := range around {
			if g.pix[k+d] != 0 {
				queue = append(queue, int32(k+d))
			}
		}
	}
}

// dropSpecks removes connected strokes of fewer than least pixels. A pixel whose
// stroke is known holds 2 meanwhile.
func (g *grid) dropSpecks(least int) {
	around := g.around()
	var members []int32
	list := g.set()
	for _, start := range list {
		if g.pix[start] != 1 {
			continue
		}
		g.pix[start] = 2
		members = append(members[:0], start)
		for i := 0; i < len(members); i++ {
			for _, d := range around {
				if k := int(members[i]) + d; g.pix[k] == 1 {
					g.pix[k] = 2
					members = append(members, int32(k))
				}
			}
		}
		if len(members) < least {
			for _, k := range members {
				g.pix[k] = 0
			}
		}
	}
	for _, k := range list {
		g.pix[k] >>= 1
	}
}
