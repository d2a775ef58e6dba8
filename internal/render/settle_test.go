package render

import (
	"bytes"
	"encoding/binary"
	"testing"

	"fairedge/internal/sheet"

	"golang.org/x/image/font/gofont/goregular"
)

// A file that is not laid out as canvas does is refused, never half read.
func FuzzSettle(f *testing.F) {
	raw, err := canvasPDF([]sheet.Sheet{pageOf(square(100, 100)).parts[0].sheet})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(raw)
	f.Add([]byte("%PDF-1.7\nxref\n0 3\n\n\n\nstartxref\n9\n%%EOF\n"))
	f.Add([]byte("startxref\n99999999999999999999\n%%EOF\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		out, err := settle(data, Meta{Title: "x"}, []pdfPage{pageOf(square(100, 100))})
		if err == nil && !bytes.HasPrefix(out, []byte("%PDF-1.7\n")) {
			t.Error("a settled file is no PDF")
		}
	})
}

// After the date is fixed, the sum over the whole font is again the magic number of
// the OpenType specification ("head", checkSumAdjustment).
func TestFontDateIsFixedAndSumsAreRight(t *testing.T) {
	stamped := append([]byte(nil), goregular.TTF...)
	_, head, err := headTable(stamped)
	if err != nil {
		t.Fatal(err)
	}
	binary.BigEndian.PutUint64(head[28:], 0x123456789)
	fixed, err := withoutDate(stamped)
	if err != nil {
		t.Fatal(err)
	}
	if sum := checksum(fixed); sum != 0xB1B0AFBA {
		t.Errorf("the font sums to %#x, want 0xB1B0AFBA", sum)
	}
	_, head, err = headTable(fixed)
	if err != nil || !bytes.Equal(head[28:36], head[20:28]) {
		t.Errorf("the date of change is %x, that of creation %x (%v)", head[28:36], head[20:28], err)
	}
	for n := range 40 {
		if _, err := withoutDate(goregular.TTF[:n]); err == nil {
			t.Errorf("a font cut off after %d bytes is taken", n)
		}
	}
}
