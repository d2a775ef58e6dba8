package shapefile

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fairedge/internal/plane"
)

const fullTurn = 2 * math.Pi

// drawPathData draws SVG path data: M L H V C S Q T A Z in both cases (W3C, "Scalable
// Vector Graphics 2", 2018, chapter 9). The error says at which byte it stops making
// sense.
func drawPathData(p *pen, data string) error {
	r := pathReader{pen: p, text: data}
	for {
		r.skipSpace()
		if r.i == len(r.text) {
			p.finish(false)
			return nil
		}
		command := r.text[r.i]
		if !strings.ContainsRune("MmLlHhVvCcSsQqTtAaZz", rune(command)) {
			return r.wrong("a command")
		}
		if !r.begun && command != 'M' && command != 'm' {
			return r.wrong("M")
		}
		r.begun = true
		r.i++
		if err := r.run(command); err != nil {
			return err
		}
	}
}

// pathReader reads path data. Control is the last control point, which S and T mirror,
// as long as the command before was of their kind.
type pathReader struct {
	pen     *pen
	text    string
	i       int
	begun   bool
	control plane.Point
	before  byte // the command before, in upper case
}

// run draws one command with all its repeats.
func (r *pathReader) run(command byte) error {
	upper, relative := command&^0x20, command >= 'a'
	if upper == 'Z' {
		r.pen.close()
		r.before = upper
		return nil
	}
	for repeat := 0; repeat == 0 || r.numberFollows(); repeat++ {
		if upper == 'M' && repeat == 1 {
			upper = 'L' // further pairs after M are lines
		}
		if err := r.draw(upper, relative); err != nil {
			return err
		}
		r.before = upper
		if r.pen.count > mostSegments {
			return nil // drawn says so
		}
	}
	return nil
}

func (r *pathReader) draw(upper byte, relative bool) error {
	switch upper {
	case 'H', 'V':
		return r.drawUpright(upper, relative)
	case 'A':
		return r.drawArc(relative)
	}
	count := map[byte]int{'M': 1, 'L': 1, 'T': 1, 'S': 2, 'Q': 2, 'C': 3}[upper]
	var q [3]plane.Point
	for i := range count {
		p, err := r.point(relative)
		if err != nil {
			return err
		}
		q[i] = p
	}
	end := q[count-1]
	switch upper {
	case 'M':
		r.pen.moveTo(end)
	case 'L':
		r.pen.lineTo(end)
	case 'C':
		r.control = q[1]
		r.pen.cubicTo(q[0], q[1], end)
	case 'S':
		first := r.mirrored("CS")
		r.control = q[0]
		r.pen.cubicTo(first, q[0], end)
	case 'Q':
		r.control = q[0]
		r.pen.quadraticTo(q[0], end)
	case 'T':
		r.control = r.mirrored("QT")
		r.pen.quadraticTo(r.control, end)
	}
	return nil
}

// mirrored returns the last control point mirrored at the pen, or the pen's place if the
// command before was not one of the kinds.
func (r *pathReader) mirrored(kinds string) plane.Point {
	if strings.IndexByte(kinds, r.before) < 0 {
		return r.pen.at
	}
	return r.pen.at.Add(r.pen.at.Sub(r.control))
}

func (r *pathReader) drawUpright(upper byte, relative bool) error {
	x, err := r.number()
	if err != nil {
		return err
	}
	q := r.pen.at
	switch {
	case upper == 'H' && relative:
		q.X += x
	case upper == 'H':
		q.X = x
	case relative:
		q.Y += x
	default:
		q.Y = x
	}
	r.pen.lineTo(q)
	return nil
}

func (r *pathReader) drawArc(relative bool) error {
	var v [3]float64
	for i := range v {
		x, err := r.number()
		if err != nil {
			return err
		}
		v[i] = x
	}
	large, err := r.flag()
	if err != nil {
		return err
	}
	sweep, err := r.flag()
	if err != nil {
		return err
	}
	q, err := r.point(relative)
	if err != nil {
		return err
	}
	r.pen.svgArcTo(v[0], v[1], v[2]*math.Pi/180, large, sweep, q)
	return nil
}

// svgArcTo draws SVG's arc by end points: the ellipse of radii rx, ry turned by phi that
// runs through the pen and q (SVG 2, appendix B.2.4, conversion from endpoint to centre).
func (p *pen) svgArcTo(rx, ry, phi float64, large, sweep bool, q plane.Point) {
	rx, ry = math.Abs(rx), math.Abs(ry)
	if q == p.at {
		return
	}
	if rx == 0 || ry == 0 {
		p.lineTo(q)
		return
	}
	// In the frame where the ellipse is the unit circle, the ends are a and b.
	turn := rotation(phi)
	undo := scaling(1/rx, 1/ry).after(rotation(-phi))
	a, b := undo.apply(p.at), undo.apply(q)
	half := b.Sub(a).Scale(0.5)
	if l := half.Length(); l > 1 { // too small to reach: the smallest that does
		rx, ry = rx*l, ry*l
		undo = scaling(1/rx, 1/ry).after(rotation(-phi))
		a, b = undo.apply(p.at), undo.apply(q)
		half = b.Sub(a).Scale(0.5)
	}
	away := half.Unit().TurnLeft().Scale(math.Sqrt(math.Max(0, 1-half.LengthSq())))
	if large == sweep {
		away = away.Neg()
	}
	centre := a.Lerp(b, 0.5).Add(away)
	from := a.Sub(centre).Angle()
	angle := math.Mod(b.Sub(centre).Angle()-from+2*fullTurn, fullTurn)
	if !sweep {
		angle -= fullTurn
	}
	if large != (math.Abs(angle) > math.Pi) && math.Abs(math.Abs(angle)-math.Pi) > 1e-3 {
		p.lineTo(q) // ends so close that rounding decides which way round: nothing, or nothing to see
		return
	}
	p.arcTo(turn.after(scaling(rx, ry)).after(translation(centre.X, centre.Y)), from, angle, q)
}

func (r *pathReader) point(relative bool) (plane.Point, error) {
	x, err := r.number()
	if err != nil {
		return plane.Point{}, err
	}
	y, err := r.number()
	if err != nil {
		return plane.Point{}, err
	}
	if relative {
		return plane.Point{X: r.pen.at.X + x, Y: r.pen.at.Y + y}, nil
	}
	return plane.Point{X: x, Y: y}, nil
}

func (r *pathReader) skipSpace() {
	for r.i < len(r.text) && strings.IndexByte(" \t\r\n\f", r.text[r.i]) >= 0 {
		r.i++
	}
}

// skipComma passes over blanks with one comma among them.
func (r *pathReader) skipComma() {
	r.skipSpace()
	if r.i < len(r.text) && r.text[r.i] == ',' {
		r.i++
		r.skipSpace()
	}
}

func (r *pathReader) numberFollows() bool {
	r.skipComma()
	return r.i < len(r.text) && strings.IndexByte("+-.0123456789", r.text[r.i]) >= 0
}

// number reads one number; "1.5.5" is two, "1-2" too.
func (r *pathReader) number() (float64, error) {
	r.skipComma()
	n := numberLength(r.text[r.i:])
	if n == 0 {
		return 0, r.wrong("a number")
	}
	x, err := strconv.ParseFloat(r.text[r.i:r.i+n], 64)
	if err != nil {
		return 0, r.wrong("a number within reach")
	}
	r.i += n
	return x, nil
}

// numberLength returns how many bytes of the text's start are one number, or 0.
func numberLength(s string) int {
	digits := func(i int) int {
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
		}
		return i
	}
	i := 0
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	whole := digits(i)
	count := whole - i
	if i = whole; i < len(s) && s[i] == '.' {
		part := digits(i + 1)
		count += part - i - 1
		i = part
	}
	if count == 0 {
		return 0
	}
	if i < len(s) && s[i]|0x20 == 'e' {
		k := i + 1
		if k < len(s) && (s[k] == '+' || s[k] == '-') {
			k++
		}
		if end := digits(k); end > k {
			i = end
		}
	}
	return i
}

// flag reads 0 or 1, which need nothing between them.
func (r *pathReader) flag() (bool, error) {
	r.skipComma()
	if r.i < len(r.text) && (r.text[r.i] == '0' || r.text[r.i] == '1') {
		r.i++
		return r.text[r.i-1] == '1', nil
	}
	return false, r.wrong("0 or 1")
}

func (r *pathReader) wrong(wanted string) error {
	rest := r.text[r.i:]
	if len(rest) > 12 {
		rest = rest[:12]
	}
	if rest == "" {
		return fmt.Errorf("its path ends where %s should stand", wanted)
	}
	return fmt.Errorf("its path has %s at byte %d, where %s should stand", quoted(rest), r.i, wanted)
}

// quoted returns foreign text fit for a sentence: quoted, short, without line breaks.
func quoted(s string) string {
	if len(s) > 40 {
		s = s[:40]
	}
	return strconv.Quote(strings.ToValidUTF8(s, "?"))
}
