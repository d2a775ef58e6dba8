package photo

import (
	"bytes"
	"context"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairedge/internal/problem"
)

func pngOf(t testing.TB, img image.Image) []byte {
	t.Helper()
	var buffer bytes.Buffer
	if err := png.Encode(&buffer, img); err != nil {
		t.Fatal(err)
	}
	return buffer.Bytes()
}

// statedSize returns the JPEG with another size in its frame header.
func statedSize(jpeg []byte, width, height int) []byte {
	out := bytes.Clone(jpeg)
	frame := bytes.Index(out, []byte{0xff, 0xc0})
	binary.BigEndian.PutUint16(out[frame+5:], uint16(height))
	binary.BigEndian.PutUint16(out[frame+7:], uint16(width))
	return out
}

// statedPNGSize does the same for a PNG, with a valid checksum.
func statedPNGSize(data []byte, width, height uint32) []byte {
	out := bytes.Clone(data)
	binary.BigEndian.PutUint32(out[16:], width)
	binary.BigEndian.PutUint32(out[20:], height)
	binary.BigEndian.PutUint32(out[29:], crc32.ChecksumIEEE(out[12:29]))
	return out
}

func TestBadInputHasItsKind(t *testing.T) {
	photo := encoded(t, corners(96, 64))
	heic := heicFrom(t, photo)
	drawn := pngOf(t, corners(96, 64))
	ispe := bytes.Clone(heic)
	binary.BigEndian.PutUint32(ispe[bytes.Index(ispe, []byte("ispe"))+8:], 60000)
	binary.BigEndian.PutUint32(ispe[bytes.Index(ispe, []byte("ispe"))+12:], 60000)
	zeroed := bytes.Clone(photo)
	clear(zeroed[len(zeroed)/2:])

	for _, c := range []struct {
		name string
		data []byte
		want problem.Kind
	}{
		{"empty", nil, problem.NotAPicture},
		{"one byte", []byte{0xff}, problem.NotAPicture},
		{"text", []byte("Dear upholsterer, here is the photo."), problem.NotAPicture},
		{"film", []byte("\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom"), problem.NotAPicture},
		{"GIF", []byte("GIF89a\x01\x00\x01\x00"), problem.UnsupportedImage},
		{"WebP", []byte("RIFF\x00\x00\x00\x00WEBPVP8 "), problem.UnsupportedImage},
		{"JPEG, two bytes", photo[:2], problem.DamagedImage},
		{"JPEG, header only", photo[:300], problem.DamagedImage},
		{"JPEG, half", photo[:len(photo)/2], problem.DamagedImage},
		{"JPEG, last two bytes missing", photo[:len(photo)-2], problem.DamagedImage},
		{"JPEG, second half zeros", zeroed, problem.DamagedImage},
		{"JPEG, cut", readFile(t, "jpeg", "truncated.jpg"), problem.DamagedImage},
		{"JPEG, cut and patched", readFile(t, "jpeg", "truncated_jpeg.jpg"), problem.DamagedImage},
		{"JPEG, cut between scans", readFile(t, "jpeg", "scene.progressive.truncated.jpeg"), problem.DamagedImage},
		{"JPEG, data skipped at a restart", readFile(t, "jpeg", "hopper_bad_exif.jpg"), problem.DamagedImage},
		{"JPEG, cut HDR", readFile(t, "jpeg", "ultrahdr.jpg"), problem.DamagedImage},
		{"JPEG, corrupt header", readFile(t, "jpeg", "corrupt-header.jpg"), problem.DamagedImage},
		{"JPEG, 12 bits", bytes.Replace(photo, []byte{0xff, 0xc0, 0, 17, 8}, []byte{0xff, 0xc0, 0, 17, 12}, 1), problem.UnsupportedImage},
		{"JPEG, lossless", bytes.Replace(photo, []byte{0xff, 0xc0, 0, 17, 8}, []byte{0xff, 0xc3, 0, 17, 8}, 1), problem.UnsupportedImage},
		{"JPEG bomb", statedSize(photo, 60000, 60000), problem.ImageTooLarge},
		{"JPEG, small file with 150 MP", statedSize(photo, 15000, 10000), problem.DamagedImage},
		{"PNG, signature only", drawn[:8], problem.DamagedImage},
		{"PNG, half", drawn[:len(drawn)/2], problem.DamagedImage},
		{"PNG, end missing", drawn[:len(drawn)-12], problem.DamagedImage},
		{"PNG, cut", readFile(t, "png", "truncated.png"), problem.DamagedImage},
		{"PNG bomb", statedPNGSize(drawn, 65536, 65536), problem.ImageTooLarge},
		{"PNG, largest size", statedPNGSize(drawn, 1<<31-1, 1<<31-1), problem.ImageTooLarge},
		{"PNG, impossible size", statedPNGSize(drawn, 1<<32-1, 1), problem.DamagedImage},
		{"PNG, no width", statedPNGSize(drawn, 0, 1), problem.DamagedImage},
		{"HEIC, 24 bytes", heic[:24], problem.DamagedImage},
		{"HEIC, half", heic[:len(heic)/2], problem.DamagedImage},
		{"HEIC, ten bytes missing", heic[:len(heic)-10], problem.DamagedImage},
		{"HEIC bomb", ispe, problem.ImageTooLarge},
	} {
		p, err := Decode(c.data, anySize())
		if p != nil || err == nil || problem.KindOf(err) != c.want {
			t.Errorf("%s: %v, %v; want %v", c.name, problem.KindOf(err), err, c.want)
			continue
		}
		if text := err.Error(); strings.ContainsAny(text, "\n\r") || strings.HasSuffix(text, ".") || len(text) > 250 {
			t.Errorf("%s: not one sentence: %q", c.name, text)
		}
	}
}

func TestLimitsAreConfigurable(t *testing.T) {
	photo := encoded(t, corners(600, 400)) // 240 000 pixels
	for _, c := range []struct {
		limits Limits
		want   string
	}{
		{Limits{}, ""},
		{DefaultLimits(), ""},
		{Limits{MaxPixels: 240000}, ""},
		{Limits{MaxPixels: 239999, MinPixels: 1}, "image-too-large"},
		{Limits{MinPixels: 240000}, ""},
		{Limits{MinPixels: 240001}, "image-too-small"},
	} {
		_, err := Decode(photo, c.limits)
		got := ""
		if err != nil {
			got = problem.KindOf(err).String()
		}
		if got != c.want {
			t.Errorf("%+v: %q, want %q", c.limits, got, c.want)
		}
	}
}

// Awkward files that are good pictures nonetheless.
func TestAwkwardFilesAreRead(t *testing.T) {
	for _, c := range []struct {
		name          string
		width, height int
	}{
		{"broken_exif_dpi.jpg", 100, 100},
		{"exif_typeerror.jpg", 800, 531},
		{"hopper_gray.jpg", 128, 128},
		{"icc-after-SOF.jpg", 10, 10},
		{"invalid-exif.jpg", 200, 200},
		{"junk_jpeg_header.jpg", 1024, 768},
		{"multiple_exif.jpg", 1, 1},
		{"pil_sample_cmyk.jpg", 100, 100},
		{"truncated_app14.jpg", 100, 100},
		{"truncated_exif_dpi.jpg", 480, 640},
	} {
		p, err := Decode(readFile(t, "jpeg", c.name), anySize())
		if err != nil || p.Width != c.width || p.Height != c.height { // sizes as exiftool states them
			t.Errorf("%s: %+v, %v", c.name, p, err)
		}
	}
	// A second picture behind the first, as phones append (MPO, motion photos).
	photo := encoded(t, corners(96, 64))
	checkCorners(t, "two pictures", mustDecode(t, append(bytes.Clone(photo), photo...)), 96, 64)
}

func TestReadNamesTheFile(t *testing.T) {
	folder := t.TempDir()
	good := filepath.Join(folder, "photo.jpg")
	if err := os.WriteFile(good, encoded(t, corners(96, 64)), 0o600); err != nil {
		t.Fatal(err)
	}
	missing := filepath.Join(folder, "missing.jpg")
	for path, want := range map[string]problem.Kind{
		folder: problem.FileAccess, missing: problem.FileAccess, os.DevNull: problem.FileAccess,
	} {
		_, err := Read(context.Background(), path, anySize())
		if problem.KindOf(err) != want || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v, want %v with the name", path, err, want)
		}
	}
	if _, err := Read(context.Background(), good, Limits{MinPixels: 1, MaxFileBytes: 100}); problem.KindOf(err) != problem.ImageTooLarge {
		t.Errorf("file over its limit: %v", err)
	}
	p, err := Read(context.Background(), good, anySize())
	if err != nil {
		t.Fatal(err)
	}
	checkCorners(t, "read", p, 96, 64)
	stopped, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Read(stopped, good, anySize()); problem.KindOf(err) != problem.Cancelled {
		t.Errorf("stopped: %v", err)
	}
}

func TestPNGKinds(t *testing.T) {
	rgba := corners(96, 64)
	kinds := map[string]image.Image{
		"RGB": rgba, "16 bits": image.NewRGBA64(rgba.Rect), "palette": image.NewPaletted(rgba.Rect, color.Palette{
			color.RGBA{90, 90, 90, 255}, color.RGBA{220, 30, 30, 255}, color.RGBA{30, 200, 30, 255}, color.RGBA{30, 30, 220, 255}, color.RGBA{250, 250, 250, 255}}),
		"NRGBA": image.NewNRGBA(rgba.Rect),
	}
	for name, img := range kinds {
		if target, ok := img.(interface{ Set(x, y int, c color.Color) }); ok && img != image.Image(rgba) {
			for y := range 64 {
				for x := range 96 {
					target.Set(x, y, rgba.At(x, y))
				}
			}
		}
		checkCorners(t, "PNG "+name, mustDecode(t, pngOf(t, img)), 96, 64)
	}
	// Transparent black is white paper; half transparent black is half grey.
	faint := image.NewNRGBA(image.Rect(0, 0, 4, 2))
	faint.SetNRGBA(1, 0, color.NRGBA{0, 0, 0, 128})
	faint.SetNRGBA(2, 0, color.NRGBA{0, 0, 0, 255})
	if got := mustDecode(t, pngOf(t, faint)).Luma[:4]; !bytes.Equal(got, []byte{255, 127, 0, 255}) {
		t.Errorf("transparency: %v", got)
	}
	if p := mustDecode(t, readFile(t, "png", "16-bit-grey-alpha.png")); p.Width != 109 || p.Height != 96 {
		t.Errorf("16-bit grey with alpha: %d x %d", p.Width, p.Height)
	}
}
