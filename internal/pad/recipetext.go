package pad

import (
	"fmt"
	"strings"
)

// Text returns the recipe as a file with every value and what it means. Reading it
// again gives the same recipe, whatever this program's defaults are by then, so it
// is what an archive keeps.
func (r Recipe) Text() []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "# Recipe for a pad. Lengths carry their unit: \"19 mm\", \"1.9 cm\", \"3/4 in\".\nformat = %d\n", FormatVersion)
	section := ""
	for _, f := range fields() {
		s, key, found := strings.Cut(f.key, ".")
		if !found {
			s, key = "", f.key
		}
		if s != section {
			fmt.Fprintf(&b, "\n[%s]\n", s)
			section = s
		}
		l := f.get(&r)
		fmt.Fprintf(&b, "# %s\n%s = %s", f.doc, key, l.value)
		if l.remark != "" {
			fmt.Fprintf(&b, "  # %s", l.remark)
		}
		b.WriteByte('\n')
	}
	return []byte(b.String())
}
