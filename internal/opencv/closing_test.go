package opencv

import "testing"

// The closing against its definition: the least, over the square, of the
// greatest over the square, with nothing beyond the picture's border.
func TestCloseGreyAgainstDefinition(t *testing.T) {
	const w, h = 23, 17
	pix := make([]uint8, w*h)
	state := uint32(1)
	for k := range pix {
		state = state*1664525 + 1013904223
		pix[k] = uint8(state >> 24)
	}
	for _, size := range []int{1, 3, 7} {
		got, err := CloseGrey(pix, w, h, size)
		if err != nil {
			t.Fatal(err)
		}
		want := extreme(extreme(pix, w, h, size/2, true), w, h, size/2, false)
		for k := range want {
			if got[k] != want[k] {
				t.Fatalf("square of %d: pixel %d is %d, want %d", size, k, got[k], want[k])
			}
		}
	}
}

func extreme(pix []uint8, w, h, n int, greatest bool) []uint8 {
	out := make([]uint8, len(pix))
	for y := range h {
		for x := range w {
			best := pix[y*w+x]
			for r := max(0, y-n); r <= min(h-1, y+n); r++ {
				for c := max(0, x-n); c <= min(w-1, x+n); c++ {
					if v := pix[r*w+c]; (v > best) == greatest && v != best {
						best = v
					}
				}
			}
			out[y*w+x] = best
		}
	}
	return out
}

func TestCloseGreyRefusesNonsense(t *testing.T) {
	for _, c := range []struct{ bytes, w, h, size int }{{10, 3, 3, 3}, {9, 3, 3, 2}, {9, 3, 3, 0}, {0, 0, 0, 3}} {
		if _, err := CloseGrey(make([]uint8, c.bytes), c.w, c.h, c.size); err == nil {
			t.Errorf("%+v: no error", c)
		}
	}
}
