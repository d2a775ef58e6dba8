package testscene

import (
	"bytes"
	"image"
	"image/jpeg"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fairedge/internal/photo"
)

// The file's grey is the picture's, and exiftool (an independent reader) finds
// what was said of the lens.
func TestJPEGFile(t *testing.T) {
	s := Workbench()
	s.Camera = s.Camera.Scaled(0.1)
	p, _ := s.Photograph()
	p.Lens = photo.Lens{Make: "Workshop", Model: "Phone", FocalMM: 5.65, Focal35MM: 26, Orientation: 1}
	file, err := JPEG(p, 95)
	if err != nil {
		t.Fatal(err)
	}
	decoded, err := jpeg.Decode(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	var sum float64
	for i, v := range p.Luma {
		sum += math.Pow(float64(v)-float64(decoded.(*image.YCbCr).Y[i/p.Width*decoded.(*image.YCbCr).YStride+i%p.Width]), 2)
	}
	if rms := math.Sqrt(sum / float64(len(p.Luma))); rms > 2 {
		t.Errorf("grey changes by %.2f levels rms, want under 2 at quality 95", rms)
	}
	name := filepath.Join(t.TempDir(), "photo.jpg")
	if err := os.WriteFile(name, file, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("exiftool", "-s3", "-n", "-warning", "-Make", "-Model", "-FocalLength",
		"-FocalLengthIn35mmFormat", "-Orientation", "-ExifImageWidth", name).CombinedOutput()
	if err != nil {
		t.Fatalf("exiftool must be installed for this test: %v\n%s", err, out)
	}
	if got, want := strings.Fields(string(out)), []string{"Workshop", "Phone", "5.65", "26", "1", "403"}; strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("exiftool reads %q, want %q", got, want)
	}
}
