package archive

import (
	"strings"
	"unicode"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// fold turns text into the form in which words are compared: compatibility
// forms, case, accents and vowel points make no difference (Unicode Standard
// Annex 15, form KD; Unicode 3.13, default case folding). Marks that make another
// letter in their script (Thai and Indic vowels, Japanese voicing) stay.
//
// Whatever changes what fold returns must come with a migration that indexes all jobs
// anew: Check compares the index with it.
func fold(text string) string {
	decomposed := norm.NFKD.String(cases.Fold().String(norm.NFKD.String(text)))
	var out strings.Builder
	for _, r := range decomposed {
		switch plain, known := plainLetters[r]; {
		case known:
			out.WriteString(plain)
		case isAccent(r):
		case unicode.IsSpace(r):
			out.WriteByte(' ')
		default:
			out.WriteRune(r)
		}
	}
	return norm.NFC.String(out.String())
}

// plainLetters are the letters that Unicode does not decompose but a keyboard
// without them writes otherwise.
var plainLetters = map[rune]string{
	'ø': "o", 'ł': "l", 'đ': "d", 'ð': "d", 'þ': "th", 'æ': "ae", 'œ': "oe", 'ı': "i", 'ħ': "h", 'ŧ': "t", 'ŋ': "ng",
	'’': "'", '‘': "'", '‐': "-", '‑': "-", '–': "-", '—': "-",
}

// isAccent reports whether a mark only helps to read: the combining diacritical
// marks of Latin, Greek and Cyrillic, Hebrew points, Arabic vowel signs and the
// Arabic stretching line, and the invisible marks that steer a line's direction.
func isAccent(r rune) bool {
	switch {
	case r >= 0x0300 && r <= 0x036f,
		r >= 0x0591 && r <= 0x05c7 && unicode.Is(unicode.Mn, r),
		r >= 0x064b && r <= 0x065f, r == 0x0670, r == 0x0640:
		return true
	}
	return unicode.Is(unicode.Cf, r)
}

// termsOf splits what a person looks for into folded words. Quotation marks keep
// words together.
func termsOf(query string) []string {
	var terms []string
	for i, part := range strings.Split(query, `"`) {
		if i%2 == 1 { // inside quotation marks
			if phrase := strings.TrimSpace(fold(part)); phrase != "" {
				terms = append(terms, phrase)
			}
			continue
		}
		terms = append(terms, strings.Fields(fold(part))...)
	}
	return terms
}
