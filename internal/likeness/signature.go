package likeness

import (
	"encoding/binary"
	"fmt"
	"math"

	"fairedge/internal/curve"
	"fairedge/internal/plane"
)

// harmonics is the number of harmonics of each sign in a signature. The waves left out
// are shorter than a 24th of the outline, some 65 mm on a seat: fillets and notches show
// in many harmonics below, and what is left is for Register. More: larger signatures for
// little; fewer: seats that differ only in their corners look alike.
const harmonics = 24

// samples is how many points of the outline the harmonics are taken from, by equal arc
// length: enough that those beyond the last one do not fold back onto the ones kept.
const samples = 256

// flatness is how far, mm, the chords that stand for an outline lie from it here: well below
// the hundredth of a millimetre that is promised.
const flatness = 0.002

// Signature is a digest of an outline that does not depend on where the outline lies: the
// Fourier coefficients of its points x + iy by arc length, without the constant one
// (Granlund, "Fourier preprocessing for hand print character recognition", IEEE
// Transactions on Computers C-21, 1972). The zero value is not valid; use SignatureOf or
// UnmarshalBinary. Its size is fixed.
type Signature struct {
	perimeter, area float64
	c               [2 * harmonics]complex64 // of the harmonics -24 to -1 and 1 to 24, mm
}

// SignatureSize is the length in bytes of a signature's binary form.
const SignatureSize = 4 + 2*8 + 2*harmonics*8

// signatureVersion is the first byte of the binary form. Another sampling, order or number
// of harmonics is another version.
const signatureVersion = 1

// SignatureOf returns the signature of a closed outline.
func SignatureOf(net curve.Path) (Signature, error) {
	s, _, err := describe(net)
	return s, err
}

// describe returns the signature and the mean of the points it was taken from.
func describe(net curve.Path) (Signature, plane.Point, error) {
	if err := checkOutline(net); err != nil {
		return Signature{}, plane.Point{}, err
	}
	points, around := evenly(net.Flatten(flatness), samples)
	s := Signature{perimeter: around, area: net.SignedArea()}
	mean := meanOf(points)
	var sin, cos [samples]float64
	for i := range sin {
		sin[i], cos[i] = math.Sincos(-2 * math.Pi * float64(i) / samples)
	}
	for i := range s.c {
		var re, im float64
		k, turn := harmonicAt(i)+samples, 0
		for _, p := range points { // (x + iy) e^(-2πi k j / samples)
			x, y := p.X-mean.X, p.Y-mean.Y
			re += x*cos[turn] - y*sin[turn]
			im += x*sin[turn] + y*cos[turn]
			turn = (turn + k) % samples
		}
		s.c[i] = complex(float32(re/samples), float32(im/samples))
	}
	return s, mean, nil
}

// checkOutline refuses what cannot be compared.
func checkOutline(net curve.Path) error {
	if net.IsEmpty() || !net.IsClosed() {
		return fmt.Errorf("comparing outlines: the outline is not closed")
	}
	if err := net.Validate(); err != nil {
		return fmt.Errorf("comparing outlines: %w", err)
	}
	if !(net.SignedArea() > 0) {
		return fmt.Errorf("comparing outlines: the outline does not run counter-clockwise")
	}
	return nil
}

// harmonicAt returns the harmonic of coefficient i: -24 to -1, 1 to 24.
func harmonicAt(i int) int {
	if i < harmonics {
		return i - harmonics
	}
	return i - harmonics + 1
}

// evenly returns n points along the closed polyline at equal distances from its start, and
// its length.
func evenly(corners []plane.Point, n int) (points []plane.Point, around float64) {
	for i, p := range corners {
		around += p.DistanceTo(corners[(i+1)%len(corners)])
	}
	points = make([]plane.Point, 0, n)
	passed := 0.0
	for i, p := range corners {
		q := corners[(i+1)%len(corners)]
		l := p.DistanceTo(q)
		for len(points) < n {
			at := around * float64(len(points)) / float64(n)
			if at > passed+l && i < len(corners)-1 {
				break
			}
			points = append(points, p.Lerp(q, math.Min(1, (at-passed)/math.Max(l, 1e-300))))
		}
		passed += l
	}
	return points, around
}

func meanOf(points []plane.Point) plane.Point {
	var m plane.Point
	for _, p := range points {
		m.X += p.X
		m.Y += p.Y
	}
	return plane.Point{X: m.X / float64(len(points)), Y: m.Y / float64(len(points))}
}

// Perimeter returns the length of the outline in mm, within 0.1 mm.
func (s Signature) Perimeter() float64 { return s.perimeter }

// Area returns the area of the outline in mm².
func (s Signature) Area() float64 { return s.area }

// MarshalBinary returns the signature in SignatureSize bytes: version (1), number of
// harmonics of each sign (24), two zero bytes, perimeter in mm and area in mm² as
// float64, then the coefficients -24 to -1 and 1 to 24 as pairs of float32 (real,
// imaginary), mm; everything little-endian.
func (s Signature) MarshalBinary() ([]byte, error) {
	out := make([]byte, 4, SignatureSize)
	out[0], out[1] = signatureVersion, harmonics
	out = binary.LittleEndian.AppendUint64(out, math.Float64bits(s.perimeter))
	out = binary.LittleEndian.AppendUint64(out, math.Float64bits(s.area))
	for _, c := range s.c {
		out = binary.LittleEndian.AppendUint32(out, math.Float32bits(real(c)))
		out = binary.LittleEndian.AppendUint32(out, math.Float32bits(imag(c)))
	}
	return out, nil
}

// UnmarshalBinary reads what MarshalBinary wrote. A signature of another version is
// refused: make it anew from the outline.
func (s *Signature) UnmarshalBinary(data []byte) error {
	if len(data) != SignatureSize {
		return fmt.Errorf("reading a signature: it has %d bytes instead of %d", len(data), SignatureSize)
	}
	if data[0] != signatureVersion || data[1] != harmonics {
		return fmt.Errorf("reading a signature: it is of version %d with %d harmonics, not %d with %d", data[0], data[1], signatureVersion, harmonics)
	}
	var read Signature
	read.perimeter = math.Float64frombits(binary.LittleEndian.Uint64(data[4:]))
	read.area = math.Float64frombits(binary.LittleEndian.Uint64(data[12:]))
	sum := read.perimeter + read.area
	for i := range read.c {
		re := math.Float32frombits(binary.LittleEndian.Uint32(data[20+8*i:]))
		im := math.Float32frombits(binary.LittleEndian.Uint32(data[24+8*i:]))
		read.c[i] = complex(re, im)
		sum += float64(re) + float64(im)
	}
	if math.IsNaN(sum) || math.IsInf(sum, 0) {
		return fmt.Errorf("reading a signature: it holds something that is not a number")
	}
	*s = read
	return nil
}
