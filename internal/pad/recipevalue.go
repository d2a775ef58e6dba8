package pad

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"fairedge/internal/length"
	"fairedge/internal/problem"
)

// field is one key of a recipe file. set reads the text of a value into the recipe;
// get writes it so that set reads the same value again.
type field struct {
	key, doc string
	set      func(r *Recipe, text string) error
	get      func(r *Recipe) literal
}

// literal is a value as TOML writes it, and a remark for people.
type literal struct{ value, remark string }

func quoted(s string) literal { return literal{value: strconv.Quote(s)} }

// refuse returns the error for a value that cannot be used.
func (f field) refuse(text, want string) error {
	return problem.Newf(problem.Usage, want, "%s = %q cannot be used", f.key, text)
}

// distance is a key whose value is a length between least and most millimetres.
func distance(key, doc string, least, most float64, at func(*Recipe) *length.Length) field {
	f := field{key: key, doc: doc}
	f.set = func(r *Recipe, text string) error {
		l, err := f.length(text, least, most)
		if err == nil {
			*at(r) = l
		}
		return err
	}
	f.get = func(r *Recipe) literal { return lengthLiteral(*at(r)) }
	return f
}

// own is a key whose value is a length of its own, or "same".
func own(key, doc string, least, most float64, at func(*Recipe) *Own) field {
	f := field{key: key, doc: doc + `, or "same" as plate.seam`}
	f.set = func(r *Recipe, text string) error {
		if strings.TrimSpace(text) == "same" {
			*at(r) = Own{}
			return nil
		}
		l, err := f.length(text, least, most)
		if err == nil {
			*at(r) = Own{true, l}
		}
		return err
	}
	f.get = func(r *Recipe) literal {
		if o := *at(r); o.Set {
			return lengthLiteral(o.Length)
		}
		return quoted("same")
	}
	return f
}

// length reads a length that carries its unit. It is kept to a millionth of a
// millimetre, so that three quarters of an inch are 19.05 mm and not a rounding
// error less.
func (f field) length(text string, least, most float64) (length.Length, error) {
	if !strings.ContainsFunc(text, func(c rune) bool { return unicode.IsLetter(c) || strings.ContainsRune(`"'″”′’`, c) }) {
		return 0, f.refuse(text, `write the unit with the number, as in "19 mm" or "3/4 in"`)
	}
	l, err := length.Parse(text)
	if err != nil {
		return 0, f.refuse(text, `write a length, as in "19 mm" or "3/4 in"`)
	}
	mm := math.Round(l.Millimetres()*1e6) / 1e6
	if !(mm >= least && mm <= most) {
		return 0, f.refuse(text, fmt.Sprintf("give a length between %s and %s", length.Length(least), length.Length(most)))
	}
	return length.Length(mm+0) * length.Millimetre, nil // +0 turns -0 into 0
}

func lengthLiteral(l length.Length) literal {
	return literal{strconv.Quote(plainNumber(l.Millimetres()) + " mm"), l.Imperial()}
}

// plainNumber writes the number in full, without an exponent.
func plainNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// share is a key whose value is a percentage, a plain number (0.25 is a quarter) or
// one of the presets by name.
func share(key, doc string, least, most float64, presets []preset, at func(*Recipe) *Share) field {
	f := field{key: key, doc: doc}
	f.set = func(r *Recipe, text string) error {
		v, ok := shareOf(text, presets)
		if !ok {
			return f.refuse(text, `write a share, as in "25%"`+presetNames(presets))
		}
		if !(v >= least && v <= most) {
			return f.refuse(text, fmt.Sprintf("give a share between %s%% and %s%%", plainNumber(100*least), plainNumber(100*most)))
		}
		*at(r) = Share(v)
		return nil
	}
	f.get = func(r *Recipe) literal {
		v := float64(*at(r))
		return literal{strconv.Quote(plainNumber(v)), plainNumber(math.Round(1e4*v)/100) + " percent"}
	}
	return f
}

// shareOf reads a share, kept to one part in a thousand million.
func shareOf(text string, presets []preset) (float64, bool) {
	text = strings.TrimSpace(text)
	for _, p := range presets {
		if text == p.name {
			return p.share, true
		}
	}
	number, percent := strings.CutSuffix(text, "%")
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if percent {
		v /= 100
	}
	return math.Round(v*1e9)/1e9 + 0, err == nil
}

// preset is a share with a name.
type preset struct {
	name  string
	share float64
}

// easePresets are the shares of the thickness that reach the middle of the foam's
// edge, measured along its surface from the foam's outline.
//
//	square   half of it, straight down
//	rounded  a quarter circle of radius t/2 less the half that it draws in:
//	         π/4 t - t/2 = 0.2854 t
//	snug     a quarter: 3/4 in round a 1 in pad with 1/2 in seams, as thin pads are cut
//	tight    none: plates as large as the foam, and the foam is pressed together
func easePresets() []preset {
	return []preset{{"square", 0.5}, {"rounded", math.Round((math.Pi/4-0.5)*1e9) / 1e9}, {"snug", 0.25}, {"tight", 0}}
}

func presetNames(presets []preset) string {
	s := ""
	for _, p := range presets {
		s += ", or " + p.name
	}
	return s
}

// density is a key whose value is a density in kg/m³ or lb/ft³.
func density(key, doc string, at func(*Recipe) *Density) field {
	f := field{key: key, doc: doc}
	const want = `write a density, as in "35 kg/m3" or "2.2 lb/ft3"`
	f.set = func(r *Recipe, text string) error {
		t := strings.NewReplacer("³", "3", " ", "").Replace(strings.ToLower(text))
		factor := 1.0
		number, found := strings.CutSuffix(t, "kg/m3")
		for _, unit := range []string{"lb/ft3", "pcf"} {
			if !found {
				number, found = strings.CutSuffix(t, unit)
				factor = kgPerM3InPoundPerFt3
			}
		}
		v, err := strconv.ParseFloat(number, 64)
		v = math.Round(v*factor*1e6) / 1e6
		if !found || err != nil || !(v >= 5 && v <= 1000) {
			return f.refuse(text, want)
		}
		*at(r) = Density(v)
		return nil
	}
	f.get = func(r *Recipe) literal {
		v := float64(*at(r))
		return literal{strconv.Quote(plainNumber(v) + " kg/m3"), fmt.Sprintf("%.2f lb/ft3", v/kgPerM3InPoundPerFt3)}
	}
	return f
}

// kgPerM3InPoundPerFt3 is one pound (0.45359237 kg exactly) in one cubic foot
// (0.3048 m exactly), in kg/m³.
const kgPerM3InPoundPerFt3 = 0.45359237 / (0.3048 * 0.3048 * 0.3048)

func count(key, doc string, least, most int, at func(*Recipe) *int) field {
	f := field{key: key, doc: doc}
	f.set = func(r *Recipe, text string) error {
		v, err := strconv.Atoi(strings.TrimSpace(text))
		if err != nil || v < least || v > most {
			return f.refuse(text, fmt.Sprintf("give a whole number from %d to %d", least, most))
		}
		*at(r) = v
		return nil
	}
	f.get = func(r *Recipe) literal { return literal{value: strconv.Itoa(*at(r))} }
	return f
}

func truth(key, doc string, at func(*Recipe) *bool) field {
	f := field{key: key, doc: doc + ": yes or no"}
	f.set = func(r *Recipe, text string) error {
		switch strings.ToLower(strings.TrimSpace(text)) {
		case "true", "yes", "on":
			*at(r) = true
		case "false", "no", "off":
			*at(r) = false
		default:
			return f.refuse(text, "write yes or no")
		}
		return nil
	}
	f.get = func(r *Recipe) literal {
		if *at(r) {
			return quoted("yes")
		}
		return quoted("no")
	}
	return f
}

func choice[T ~string](key, doc string, at func(*Recipe) *T, options ...T) field {
	names := make([]string, len(options))
	for i, o := range options {
		names[i] = string(o)
	}
	f := field{key: key, doc: doc + ": " + strings.Join(names, ", ")}
	f.set = func(r *Recipe, text string) error {
		for _, o := range options {
			if strings.TrimSpace(text) == string(o) {
				*at(r) = o
				return nil
			}
		}
		return f.refuse(text, "write one of: "+strings.Join(names, ", "))
	}
	f.get = func(r *Recipe) literal { return quoted(string(*at(r))) }
	return f
}

// mostWords bounds a line of text in a recipe.
const mostWords = 200

// words is a key whose value is one line of printable text.
func words(key, doc string, at func(*Recipe) *string) field {
	f := field{key: key, doc: doc}
	f.set = func(r *Recipe, text string) error {
		if len(text) > mostWords || !utf8.ValidString(text) || strings.ContainsFunc(text, func(c rune) bool { return !unicode.IsPrint(c) }) {
			return f.refuse(text, fmt.Sprintf("write one line of at most %d letters", mostWords))
		}
		*at(r) = text
		return nil
	}
	f.get = func(r *Recipe) literal { return quoted(*at(r)) }
	return f
}
