package render

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"fairedge/internal/plane"
	"fairedge/internal/sheet"
)

// run runs an independent program and returns what it printed. A program that is
// missing fails the test: without it nothing is checked.
func run(t *testing.T, name string, arguments ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Fatalf("%s is missing: install it (make test-packages), the files cannot be checked without it", name)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	var out, fault bytes.Buffer
	command := exec.CommandContext(ctx, path, arguments...)
	command.Stdout, command.Stderr = &out, &fault
	if err := command.Run(); err != nil {
		t.Fatalf("%s %v: %v\n%s", name, arguments, err, fault.String())
	}
	return out.String()
}

// runLenient runs a program that may end with a warning (qpdf's exit code 3).
func runLenient(t *testing.T, name string, arguments ...string) {
	t.Helper()
	var failed *exec.ExitError
	if err := exec.Command(name, arguments...).Run(); err != nil && (!errors.As(err, &failed) || failed.ExitCode() != 3) {
		t.Fatalf("%s %v: %v", name, arguments, err)
	}
}

// writePDF writes the sheets into a temporary file and returns its name.
func writePDF(t *testing.T, sheets []sheet.Sheet, meta Meta) string {
	t.Helper()
	var out bytes.Buffer
	if err := PDF(&out, sheets, meta); err != nil {
		t.Fatal(err)
	}
	return writeFile(t, "sheet.pdf", out.Bytes())
}

func writeSVG(t *testing.T, s sheet.Sheet) string {
	t.Helper()
	var out bytes.Buffer
	if err := SVG(&out, s); err != nil {
		t.Fatal(err)
	}
	return writeFile(t, "sheet.svg", out.Bytes())
}

func writeFile(t *testing.T, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// raster is a page that an independent program has drawn: brightness 0 to 255.
type raster struct {
	bright        []uint8
	width, height int
	perMM         float64
	heightMM      float64
}

// poppler draws page number (from 1) of the PDF.
func poppler(t *testing.T, pdf string, page int, dpi float64, s sheet.Sheet) *raster {
	t.Helper()
	out := filepath.Join(t.TempDir(), "page")
	number := strconv.Itoa(page)
	run(t, "pdftoppm", "-gray", "-singlefile", "-r", strconv.FormatFloat(dpi, 'f', -1, 64), "-f", number, "-l", number, pdf, out)
	return readPGM(t, out+".pgm", dpi, s)
}

// mupdf draws page number (from 1) of the PDF.
func mupdf(t *testing.T, pdf string, page int, dpi float64, s sheet.Sheet) *raster {
	t.Helper()
	out := filepath.Join(t.TempDir(), "page.pgm")
	run(t, "mutool", "draw", "-q", "-c", "gray", "-r", strconv.FormatFloat(dpi, 'f', -1, 64), "-o", out, pdf, strconv.Itoa(page))
	return readPGM(t, out, dpi, s)
}

func readPGM(t *testing.T, path string, dpi float64, s sheet.Sheet) *raster {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	fields := make([]string, 0, 4)
	at := 0
	for len(fields) < 4 {
		start := at
		for data[at] != ' ' && data[at] != '\n' {
			at++
		}
		if at > start && data[start] != '#' {
			fields = append(fields, string(data[start:at]))
		}
		at++
	}
	w, _ := strconv.Atoi(fields[1])
	h, _ := strconv.Atoi(fields[2])
	if fields[0] != "P5" || len(data)-at != w*h {
		t.Fatalf("%s is no grey picture: %v, %d bytes", path, fields, len(data)-at)
	}
	return &raster{data[at:], w, h, dpi / 25.4, s.Height.Millimetres()}
}

// readPNG reads a drawing of a sheet at the given resolution.
func readPNG(t *testing.T, path string, dpi float64, s sheet.Sheet) *raster {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	img, err := png.Decode(file)
	if err != nil {
		t.Fatal(err)
	}
	size := img.Bounds().Size()
	grey := image.NewGray(image.Rectangle{Max: size})
	draw.Draw(grey, grey.Rect, img, img.Bounds().Min, draw.Src)
	return &raster{grey.Pix, size.X, size.Y, dpi / 25.4, s.Height.Millimetres()}
}

// dark returns the darkness of pixel i, 0 to 1.
func (r *raster) dark(i int) float64 { return 1 - float64(r.bright[i])/255 }

// at returns the darkness of the pixel that the place of the sheet lies in.
func (r *raster) at(p plane.Point) float64 {
	x, y := int(p.X*r.perMM), int((r.heightMM-p.Y)*r.perMM)
	if x < 0 || y < 0 || x >= r.width || y >= r.height {
		return 0
	}
	return r.dark(y*r.width + x)
}

// moment returns how much ink lies on the pixels from p - reach to p + reach along
// the unit direction (the x or the y axis), in mm, and the ink's middle as a
// displacement from p, mm.
func (r *raster) moment(p plane.Point, direction plane.Vec, reach float64) (ink, middle float64) {
	n := int(reach * r.perMM)
	column, row := int(p.X*r.perMM), int((r.heightMM-p.Y)*r.perMM)
	for k := -n; k <= n; k++ {
		x, y := column, row
		var place float64
		if direction.X != 0 {
			x += k
			place = (float64(x)+0.5)/r.perMM - p.X
		} else {
			y += k
			place = r.heightMM - (float64(y)+0.5)/r.perMM - p.Y
		}
		if x < 0 || y < 0 || x >= r.width || y >= r.height {
			continue
		}
		d := r.dark(y*r.width + x)
		ink += d / r.perMM
		middle += d / r.perMM * place
	}
	return ink, middle / ink
}
