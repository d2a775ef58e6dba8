package photo

import (
	"bytes"
	"fmt"
	"image/jpeg"
	"math/rand"
	"testing"
)

// The nine files show one scene, each stored and tagged another way (recurser,
// exif-orientation-examples). They were turned before they were encoded, so they
// differ by the noise of JPEG coding. The bound of 4 grey levels is half of what a
// shift by one pixel makes in this scene (checked in the test below).
func TestNineOrientationsShowTheSamePicture(t *testing.T) {
	want := mustDecode(t, readFile(t, "orientation", "Landscape_1.jpg"))
	for o := range 9 {
		got := mustDecode(t, readFile(t, "orientation", fmt.Sprintf("Landscape_%d.jpg", o)))
		if got.Width != want.Width || got.Height != want.Height {
			t.Errorf("orientation %d: %d x %d, want %d x %d", o, got.Width, got.Height, want.Width, want.Height)
			continue
		}
		if applied := max(o, 1); got.Lens.Orientation != applied {
			t.Errorf("orientation %d: Lens says %d was applied", o, got.Lens.Orientation)
		}
		dy, db, dr := meanDifference(t, got.Luma, want.Luma), meanDifference(t, got.Cb, want.Cb), meanDifference(t, got.Cr, want.Cr)
		if dy > 4 || db > 3 || dr > 3 {
			t.Errorf("orientation %d: differs by %.2f, %.2f, %.2f on average", o, dy, db, dr)
		}
		for _, shift := range []int{-1, 1, -want.Width, want.Width} {
			if d := meanDifference(t, got.Luma[want.Width:len(got.Luma)-want.Width],
				want.Luma[want.Width+shift:len(want.Luma)-want.Width+shift]); d < 1.5*dy {
				t.Errorf("orientation %d: fits as well when shifted by %d bytes: %.2f, unshifted %.2f", o, shift, d, dy)
			}
		}
	}
}

// checkCorners samples the middle of each coloured corner through Colour.
func checkCorners(t *testing.T, name string, p *Photo, width, height int) {
	t.Helper()
	if p.Width != width || p.Height != height {
		t.Errorf("%s: %d x %d, want %d x %d", name, p.Width, p.Height, width, height)
		return
	}
	want, got := corners(width, height), p.Colour(1)
	for _, at := range []Point{{4, 4}, {float64(width) - 4, 4}, {4, float64(height) - 4}, {float64(width) - 4, float64(height) - 4}} {
		// Pixel (0, 0) covers 0 <= X < 1: a Point's pixel is its whole part.
		w, g := want.RGBAAt(int(at.X), int(at.Y)), got.RGBAAt(int(at.X), int(at.Y))
		for _, d := range []int{int(w.R) - int(g.R), int(w.G) - int(g.G), int(w.B) - int(g.B)} {
			if max(d, -d) > 12 { // coding noise on a flat patch is below this, another corner is 100 away
				t.Errorf("%s: at %v is %v, want %v", name, at, g, w)
				break
			}
		}
	}
}

func TestCornersLandWhereTheyBelong(t *testing.T) {
	for o := 1; o <= 8; o++ {
		// Sizes that do and do not divide by the blocks of 8 and 16.
		for _, size := range [][2]int{{96, 64}, {90, 58}, {64, 112}, {83, 61}} {
			stored := encoded(t, turnedForStorage(corners(size[0], size[1]), o))
			p := mustDecode(t, oriented(stored, o))
			checkCorners(t, fmt.Sprintf("orientation %d, %v", o, size), p, size[0], size[1])
		}
	}
	for _, o := range []int{0, 9, 255, 65535} {
		p := mustDecode(t, oriented(encoded(t, corners(96, 64)), o))
		checkCorners(t, fmt.Sprintf("invalid orientation %d", o), p, 96, 64)
		if p.Lens.Orientation != 1 {
			t.Errorf("invalid orientation %d: %d was applied", o, p.Lens.Orientation)
		}
	}
}

// A phone's HEIC says it twice, in the container and in EXIF. libheif is the
// independent judge of what the container's boxes mean.
func TestHEICIsTurnedOnce(t *testing.T) {
	for o := 1; o <= 8; o++ {
		stored := encoded(t, turnedForStorage(corners(96, 64), o))
		onlyEXIF := heicFrom(t, oriented(stored, o))
		if _, said := containerOrientation(onlyEXIF); said {
			t.Errorf("HEIC %d: heif-enc now writes transformations: the test has to be adapted", o)
		}
		checkHEIC(t, "only EXIF", onlyEXIF, o)
		mirror, right := partsOf(o)
		transforms := [][]byte{}
		if mirror {
			transforms = append(transforms, propertyBox("imir", 1))
		}
		if right > 0 || !mirror {
			transforms = append(transforms, propertyBox("irot", byte(4-right)&3))
		}
		checkHEIC(t, "twice", withTransforms(t, onlyEXIF, transforms...), o)
		wrongEXIF := heicFrom(t, oriented(stored, 1+o%8))
		checkHEIC(t, "container against EXIF", withTransforms(t, wrongEXIF, transforms...), o)
	}
}

func checkHEIC(t *testing.T, name string, data []byte, orientation int) {
	t.Helper()
	p := mustDecode(t, data)
	checkCorners(t, fmt.Sprintf("HEIC %d, %s", orientation, name), p, 96, 64)
	if p.Lens.Orientation != orientation {
		t.Errorf("HEIC %d, %s: Lens says %d was applied", orientation, name, p.Lens.Orientation)
	}
}

// Any sequence of turns and mirrorings: what libheif makes of it is what the
// placement of the EXIF value that we report for it would have made.
func TestContainerOrientationAgreesWithLibheif(t *testing.T) {
	plain := heicFrom(t, encoded(t, corners(96, 64)))
	stored := mustDecode(t, plain)
	for _, sequence := range [][]byte{{0}, {1}, {2}, {3}, {4}, {5}, {1, 4}, {4, 1}, {1, 5}, {5, 1}, {3, 4}, {5, 2}, {4, 5}, {4, 3, 5}} {
		var transforms [][]byte
		for _, v := range sequence { // 0 to 3: irot; 4, 5: imir
			if v < 4 {
				transforms = append(transforms, propertyBox("irot", v))
			} else {
				transforms = append(transforms, propertyBox("imir", v-4))
			}
		}
		got := mustDecode(t, withTransforms(t, plain, transforms...))
		want := make([]uint8, len(stored.Luma))
		placementFor(got.Lens.Orientation, 96, 64).put(want, 0, band{pixels: stored.Luma, stride: 96, width: 96, rows: 64})
		if !bytes.Equal(got.Luma, want) {
			t.Errorf("transformations %v: reported as %d, but libheif did something else", sequence, got.Lens.Orientation)
		}
	}
}

// Every placement is a permutation, and agrees with the words of the standard.
func TestPlacementAgainstSlowTurn(t *testing.T) {
	random := rand.New(rand.NewSource(1))
	for o := 1; o <= 8; o++ {
		for range 20 {
			w, h := 1+random.Intn(40), 1+random.Intn(40)
			upright := corners(w, h)
			for i := range upright.Pix {
				upright.Pix[i] = uint8(random.Intn(256))
			}
			stored := turnedForStorage(upright, o)
			sw, sh := stored.Rect.Dx(), stored.Rect.Dy()
			plane := make([]uint8, sw*sh)
			for i := range plane {
				plane[i] = stored.Pix[4*i]
			}
			dst := make([]uint8, sw*sh)
			place := placementFor(o, sw, sh)
			for y := 0; y < sh; { // in bands of any height
				rows := min(1+random.Intn(40), sh-y)
				place.put(dst, y, band{pixels: plane[y*sw:], stride: sw, width: sw, rows: rows})
				y += rows
			}
			for i, v := range dst {
				if v != upright.Pix[4*i] {
					t.Fatalf("orientation %d, %d x %d: pixel %d is %d, want %d", o, w, h, i, v, upright.Pix[4*i])
				}
			}
		}
	}
}

// The group of turns and mirrorings: four quarter turns, or the same mirroring
// twice, change nothing.
func TestOrientationLaws(t *testing.T) {
	for o := 1; o <= 8; o++ {
		if got := turnedLeft(turnedLeft(o, 1), 3); got != o {
			t.Errorf("%d turned round: %d", o, got)
		}
		for _, axis := range []bool{false, true} {
			if got := mirrored(mirrored(o, axis), axis); got != o {
				t.Errorf("%d mirrored twice: %d", o, got)
			}
		}
	}
}

func TestLumaMatchesGoDecoder(t *testing.T) {
	for _, name := range []string{"scene.jpeg", "scene.progressive.jpeg", "scene.q50.420.jpeg", "scene.q50.422.jpeg",
		"scene.q50.440.jpeg", "scene.q50.444.jpeg", "scene.q50.411.jpeg", "scene.q50.410.jpeg", "scene.restart2.jpeg",
		"portrait.gray.jpeg", "portrait.gray.q50.2x2.jpeg", "scene.separate.dc.progression.jpeg", "scene.221212.jpeg",
		"scene.rgb.jpeg", "scene.cmyk.jpeg", "hopper_16bit_qtables.jpg"} {
		data := readFile(t, "jpeg", name)
		got := mustDecode(t, data)
		img, err := jpeg.Decode(bytes.NewReader(data))
		if err != nil {
			t.Errorf("%s: the other decoder: %v", name, err)
			continue
		}
		u := newUpright(got.Width, got.Height, Lens{})
		rows := make([]uint8, 3*got.Width)
		for y := 0; y < got.Height; y += 2 {
			n := min(2, got.Height-y)
			two := make([]uint8, 0, 2*len(rows))
			for r := range n {
				rgbRow(rows, img, y+r)
				two = append(two, rows...)
			}
			u.putPixels(y, band{pixels: two, stride: len(rows), width: len(rows), rows: n}, pixelsRGB)
		}
		want := u.photo
		// Luma passed through RGB loses half a level to rounding, more where colours
		// clip. Chroma is resampled in another way at edges.
		dl, db, dr := meanDifference(t, got.Luma, want.Luma), meanDifference(t, got.Cb, want.Cb), meanDifference(t, got.Cr, want.Cr)
		allowed := 1.5
		if name == "scene.rgb.jpeg" {
			allowed = 5 // its green is stored at half size, and the two decoders enlarge it differently
		}
		if dl > allowed || db > 2.5 || dr > 3 {
			t.Errorf("%s: differs from Go's decoder by %.2f, %.2f, %.2f", name, dl, db, dr)
		}
	}
}
