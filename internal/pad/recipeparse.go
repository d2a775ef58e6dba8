package pad

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"

	"fairedge/internal/problem"
)

// FormatVersion is the version of the recipe files that this program writes; it
// reads this one and all before it.
const FormatVersion = 1

// mostBytes bounds a recipe file: a hundred times the longest that Text writes.
const mostBytes = 1 << 20

// ParseRecipe reads a recipe file. name is what errors call the file, and the
// recipe's name when the file gives none. Keys that the file leaves out are taken
// from the built-in recipe it is based on, or else from the plain tie-on pad.
func ParseRecipe(name string, data []byte) (Recipe, error) {
	if len(data) > mostBytes {
		return Recipe{}, problem.Newf(problem.Usage, "choose a recipe file", "%s is %d bytes long, too long for a recipe", name, len(data))
	}
	entries, err := entriesOf(data)
	if err != nil {
		return Recipe{}, problem.Newf(problem.Usage, "correct the recipe file at that place", "%s is not a readable recipe: %v", name, firstLine(err)).Because(err)
	}
	r, err := recipeFrom(entries, 0)
	if err != nil {
		return Recipe{}, fmt.Errorf("reading recipe %s: %w", name, err)
	}
	if r.Name == "" {
		r.Name = name
	}
	return r, nil
}

// entry is one key of a file and the text of its value.
type entry struct{ key, text string }

// entriesOf reads TOML into its keys, sorted.
func entriesOf(data []byte) ([]entry, error) {
	var tree map[string]any
	if _, err := toml.Decode(string(data), &tree); err != nil {
		return nil, err
	}
	var entries []entry
	if err := flatten("", tree, &entries); err != nil {
		return nil, err
	}
	slices.SortFunc(entries, func(a, b entry) int { return strings.Compare(a.key, b.key) })
	return entries, nil
}

func flatten(prefix string, tree map[string]any, entries *[]entry) error {
	for key, value := range tree { // sorted by the caller
		key = prefix + key
		switch v := value.(type) {
		case map[string]any:
			if err := flatten(key+".", v, entries); err != nil {
				return err
			}
		case string:
			*entries = append(*entries, entry{key, v})
		case int64:
			*entries = append(*entries, entry{key, strconv.FormatInt(v, 10)})
		case float64:
			*entries = append(*entries, entry{key, plainNumber(v)})
		case bool:
			*entries = append(*entries, entry{key, strconv.FormatBool(v)})
		default:
			return fmt.Errorf("%s holds a list or a date; a recipe has only texts, numbers and yes or no", key)
		}
	}
	return nil
}

// mostBases bounds a chain of recipes based on one another.
const mostBases = 8

func recipeFrom(entries []entry, depth int) (Recipe, error) {
	r := Recipe{}
	base, version := "", ""
	for _, e := range entries {
		switch e.key {
		case "based_on":
			base = e.text
		case "format":
			version = e.text
		}
	}
	if err := checkVersion(version); err != nil {
		return r, err
	}
	r, err := baseRecipe(base, depth)
	if err != nil {
		return r, err
	}
	all := fields()
	for _, e := range entries {
		if e.key == "based_on" || e.key == "format" {
			continue
		}
		if err := r.set(all, e.key, e.text); err != nil {
			return Recipe{}, err
		}
	}
	return r, nil
}

func checkVersion(text string) error {
	v, err := strconv.Atoi(text)
	switch {
	case err != nil || v < 1:
		return problem.Newf(problem.Usage, fmt.Sprintf("write format = %d as its first line", FormatVersion), "the recipe does not say its format")
	case v > FormatVersion:
		return problem.Newf(problem.Usage, "use a newer version of this program",
			"the recipe is in format %d, and this program reads up to format %d", v, FormatVersion)
	}
	return nil
}

func baseRecipe(name string, depth int) (Recipe, error) {
	switch {
	case name == "":
		return plainRecipe(), nil
	case depth >= mostBases:
		return Recipe{}, problem.New(problem.Usage, "the recipes are based on one another in a circle", "base one of them on none")
	}
	base, err := named(name, depth+1)
	if err != nil {
		return Recipe{}, err
	}
	base.Name, base.Title = "", ""
	return base, nil
}

// With returns the recipe with one value changed, as "foam.thickness" "2 in". The
// section may be left out where the rest of the key says enough.
func (r Recipe) With(key, value string) (Recipe, error) {
	if err := r.set(fields(), strings.TrimSpace(key), value); err != nil {
		return Recipe{}, err
	}
	return r, nil
}

// set changes one value in place.
func (r *Recipe) set(all []field, key, text string) error {
	for _, f := range all {
		if f.key == key {
			return f.set(r, text)
		}
	}
	var short []field
	for _, f := range all {
		if strings.HasSuffix(f.key, "."+key) {
			short = append(short, f)
		}
	}
	switch len(short) {
	case 1:
		return short[0].set(r, text)
	case 0:
		return problem.Newf(problem.Usage, fmt.Sprintf("did you mean %q?", nearestKey(key, all)), "a recipe has no %q", key)
	}
	return problem.Newf(problem.Usage, fmt.Sprintf("write %s or %s", short[0].key, short[1].key), "%q could be several values", key)
}

// Keys returns every key that With and a recipe file know, in the order of the
// file, with its meaning.
func Keys() (keys, meanings []string) {
	for _, f := range fields() {
		keys, meanings = append(keys, f.key), append(meanings, f.doc)
	}
	return keys, meanings
}

// nearestKey returns the known key that takes the fewest changes of letters,
// compared with and without its section.
func nearestKey(key string, all []field) string {
	if len(key) > mostWords {
		key = key[:mostWords]
	}
	best, least := "", 1<<30
	for _, f := range all {
		d := editDistance(key, f.key)
		if _, last, found := strings.Cut(f.key, "."); found {
			d = min(d, editDistance(key, last))
		}
		if d < least {
			best, least = f.key, d
		}
	}
	return best
}

// editDistance is Levenshtein's: the least number of letters to change, insert or
// leave out.
func editDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}

func firstLine(err error) string {
	s, _, _ := strings.Cut(err.Error(), "\n")
	return strings.TrimPrefix(s, "toml: ")
}
