package photo

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fairedge/internal/problem"

	"github.com/google/go-cmp/cmp"
)

// taggedBy has exiftool, an independent program, write private tags into a picture of
// any format: a place, names, numbers, a comment, XMP and, where the format has it,
// IPTC.
func taggedBy(t testing.TB, data []byte, extension string) []byte {
	t.Helper()
	program, err := exec.LookPath("exiftool")
	if err != nil {
		t.Fatal("this test needs exiftool (apt install libimage-exiftool-perl)")
	}
	path := filepath.Join(t.TempDir(), "a"+extension)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	arguments := []string{"-q", "-overwrite_original",
		"-EXIF:GPSLatitude=51.5014", "-EXIF:GPSLatitudeRef=N", "-EXIF:GPSLongitude=0.1419", "-EXIF:GPSLongitudeRef=W",
		"-EXIF:Make=Acme", "-EXIF:Model=Phone 7", "-EXIF:FocalLength=4.25", "-EXIF:FocalLengthIn35mmFormat=26", "-EXIF:Orientation#=6",
		"-EXIF:DigitalZoomRatio=1.5",
		"-EXIF:OwnerName=QxOwner", "-EXIF:Artist=QxArtist", "-EXIF:Copyright=QxCopyright", "-EXIF:SerialNumber=QxSerial",
		"-EXIF:LensSerialNumber=QxLensSerial", "-EXIF:UserComment=QxUserComment", "-EXIF:ImageDescription=QxDescription",
		"-EXIF:DateTimeOriginal=2024:03:04 05:06:07", "-EXIF:ImageUniqueID=QxUnique", "-EXIF:HostComputer=QxHost",
		"-XMP:Creator=QxCreator", "-XMP:City=QxCity",
	}
	if extension == ".jpg" {
		arguments = append(arguments, "-Comment=QxComment", "-IPTC:By-line=QxByline")
	}
	if extension == ".png" {
		arguments = append(arguments, "-PNG:Author=QxAuthor")
	}
	if out, err := exec.Command(program, append(arguments, path)...).CombinedOutput(); err != nil {
		t.Fatalf("exiftool: %v\n%s", err, out)
	}
	tagged, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return tagged
}

// exiftoolReads returns all tags that exiftool finds, by their group and name.
func exiftoolReads(t testing.TB, data []byte) map[string]any {
	t.Helper()
	command := exec.Command("exiftool", "-json", "-G1", "-n", "-a", "-u", "-ee", "-")
	command.Stdin = bytes.NewReader(data)
	out, err := command.Output()
	if err != nil {
		t.Fatalf("exiftool: %v", err)
	}
	var read []map[string]any
	if err := json.Unmarshal(out, &read); err != nil || len(read) != 1 {
		t.Fatalf("exiftool wrote %s", out)
	}
	return read[0]
}

func TestPrivateDataGoes(t *testing.T) {
	jpeg := encoded(t, corners(96, 64))
	for extension, plain := range map[string][]byte{".jpg": jpeg, ".png": pngOf(t, corners(96, 64)), ".heic": heicFrom(t, withEXIF(jpeg, phoneEXIF(nil)))} {
		t.Run(extension, func(t *testing.T) {
			tagged := taggedBy(t, plain, extension)
			// Films and second pictures are put behind the first one.
			if extension == ".jpg" {
				tagged = slices.Concat(tagged, []byte("QxTrailer"), tagged)
			}
			before := exiftoolReads(t, tagged)
			if before["GPS:GPSLatitude"] == nil || before["IFD0:Artist"] == nil || before["ExifIFD:OwnerName"] == nil || before["XMP-photoshop:City"] == nil {
				t.Fatalf("the tags were not written: %v", before)
			}
			clean, removed, err := WithoutPrivate(tagged)
			if err != nil {
				t.Fatal(err)
			}
			checkClean(t, tagged, clean)
			if !slices.Contains(removed, "EXIF other than the lens") {
				t.Errorf("told as removed: %q", removed)
			}
			if extension == ".heic" && len(clean) != len(tagged) {
				t.Errorf("%d bytes became %d", len(tagged), len(clean))
			}
			again, more, err := WithoutPrivate(clean)
			if err != nil || !bytes.Equal(again, clean) && extension != ".heic" {
				t.Errorf("a second time: %d bytes became %d, %q, %v", len(clean), len(again), more, err)
			}
		})
	}
}

func checkClean(t *testing.T, tagged, clean []byte) {
	t.Helper()
	if at := bytes.Index(clean, []byte("Qx")); at >= 0 {
		t.Errorf("private bytes remain: %q", clean[at:min(at+20, len(clean))])
	}
	after := exiftoolReads(t, clean)
	for tag, value := range after {
		for _, group := range []string{"GPS:", "XMP", "IPTC:", "MakerNotes", "InteropIFD", "IFD1", "PNG:Author"} {
			if strings.HasPrefix(tag, group) {
				t.Errorf("%s = %v remains", tag, value)
			}
		}
	}
	for tag, want := range map[string]any{
		"IFD0:Make": "Acme", "IFD0:Model": "Phone 7", "ExifIFD:FocalLength": 4.25,
		"ExifIFD:FocalLengthIn35mmFormat": 26.0, "ExifIFD:DigitalZoomRatio": 1.5, "IFD0:Orientation": 6.0,
	} {
		if after[tag] != want {
			t.Errorf("%s is %v, want %v", tag, after[tag], want)
		}
	}
	if warning, ok := after["ExifTool:Warning"]; ok {
		t.Errorf("exiftool warns: %v", warning)
	}
	checkSamePicture(t, tagged, clean)
}

func checkSamePicture(t *testing.T, one, other []byte) {
	t.Helper()
	if diff := cmp.Diff(mustDecode(t, one), mustDecode(t, other), cmp.Comparer(bytes.Equal)); diff != "" {
		t.Errorf("another picture or lens: %s", diff)
	}
}

// TestPictureStaysAsItWas runs through all test pictures: what could be decoded before
// decodes to the same pixels and lens afterwards.
func TestPictureStaysAsItWas(t *testing.T) {
	tried := 0
	for _, pattern := range []string{"testdata/jpeg/*", "testdata/png/*", "testdata/orientation/*.jpg"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			t.Fatalf("%s: %v", pattern, err)
		}
		for _, name := range names {
			data, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := Decode(data, anySize()); err != nil {
				continue
			}
			tried++
			t.Run(filepath.Base(name), func(t *testing.T) {
				clean, removed, err := WithoutPrivate(data)
				if err != nil {
					t.Fatal(err)
				}
				if len(clean) > len(data)+300 {
					t.Errorf("%d bytes became %d, without %q", len(data), len(clean), removed)
				}
				checkSamePicture(t, data, clean)
			})
		}
	}
	if tried < 40 {
		t.Errorf("only %d pictures were tried", tried)
	}
}

func TestWhatIsNoPictureIsNotPassedOn(t *testing.T) {
	for _, data := range [][]byte{nil, []byte("text"), []byte("GIF89a"), []byte("\xff\xd8"), []byte("\xff\xd8\xff\xe1\xff\xff Qx"), []byte("\x89PNG\r\n\x1a\n\x00\x00")} {
		clean, _, err := WithoutPrivate(data)
		if clean != nil || err == nil || problem.KindOf(err) == problem.Internal {
			t.Errorf("%q gives %q, %v", data, clean, err)
		}
	}
}

// FuzzWithoutPrivate: never a panic; what decodes before decodes to the same
// afterwards, unless it was refused; a second time changes nothing more.
func FuzzWithoutPrivate(f *testing.F) {
	small := encoded(f, corners(48, 32))
	f.Add(small)
	f.Add(withEXIF(small, phoneEXIF(map[uint16]any{exifOrientation: uint16(6)})))
	f.Add(pngOf(f, corners(24, 16)))
	f.Add(heicFrom(f, withEXIF(small, phoneEXIF(nil))))
	f.Add(heicFrom(f, oriented(encoded(f, corners(64, 64)), 6)))
	for _, name := range []string{"hopper_bad_exif.jpg", "multiple_exif.jpg", "junk_jpeg_header.jpg", "ultrahdr.jpg"} {
		if data := readFile(f, "jpeg", name); len(data) < 30000 {
			f.Add(data)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		clean, _, err := WithoutPrivate(data)
		if err != nil {
			checkProblem(t, err)
			return
		}
		limits := Limits{MinPixels: 1, MaxPixels: 1e5}
		before, err := Decode(data, limits)
		if err != nil {
			return
		}
		after, err := Decode(clean, limits)
		if err != nil {
			t.Fatalf("it cannot be read any more: %v", err)
		}
		if before.Width != after.Width || !bytes.Equal(before.Luma, after.Luma) {
			t.Error("another picture")
		}
	})
}
