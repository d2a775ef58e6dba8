package pad

import "strings"

// Difference is one value of a recipe that another recipe has otherwise, in words.
type Difference struct{ Key, Before, After string }

// Differences returns what r has otherwise than the recipe before it, in the order of a
// recipe's file. Names and titles do not count: they make no piece.
func (r Recipe) Differences(before Recipe) []Difference {
	var all []Difference
	for _, f := range fields() {
		if f.key == "name" || f.key == "title" {
			continue
		}
		if was, is := f.get(&before), f.get(&r); was.value != is.value {
			all = append(all, Difference{f.key, was.words(), is.words()})
		}
	}
	return all
}

// words returns the value as a person reads it.
func (l literal) words() string {
	words := strings.Trim(l.value, `"`)
	if l.remark != "" {
		words += " (" + l.remark + ")"
	}
	return words
}
