package cutsheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"fairedge/internal/length"
	"fairedge/internal/pad"
	"fairedge/internal/sheet"
)

// places lists the numbered places of the marks along the seam.
func (f *flow) places(j Job) {
	piece, ok := sheet.Numbered(j.Pad)
	if !ok {
		return
	}
	h := f.heading("Marks along the seam, numbered as in the picture")
	f.add(h)
	says := "Measured on the stitching from the back centre: to the left, down the left side, along the front, up the right side."
	if sheet.IsWrapped(piece) {
		says = "Measured on the stitching from the back centre: to the left and down the left side; where it says so, to the right and down the right side."
	}
	how := f.paragraph("", says)
	how.keep = true
	f.add(how)
	var rows []row
	for _, p := range sheet.SeamPlaces(piece) {
		at := length.Length(p.Along).String()
		if p.Along < 0 {
			at = length.Length(-p.Along).String() + " right"
		}
		rows = append(rows, row{fmt.Sprint(p.Number), at + ": " + placeWords(p)})
	}
	f.add(f.columns(rows))
}

// placeWords says what is at a place, in a few words each.
func placeWords(p sheet.SeamPlace) string {
	var all []string
	for i, words := range p.Words {
		if w, _, found := strings.Cut(words, ":"); found {
			words = w
		}
		switch p.Kinds[i] {
		case pad.PipingStart:
			words = "start the piping"
		case pad.QuarterRight:
			words += ", two ticks"
		case pad.FrontCentre:
			words += ", three ticks"
		}
		all = append(all, words)
	}
	return strings.Join(all, "; ")
}

// bandMarks lists the marks of the bands from their left end, so that strips that are
// not printed can be marked with a tape.
func (f *flow) bandMarks(j Job) {
	first := true
	for _, s := range j.Pad.Strips {
		if s.Kind != pad.BandStrip && s.Kind != pad.ZipStrip || len(s.Marks) == 0 {
			continue
		}
		if first {
			f.add(f.heading("The same marks on the strips, from the left cut end, right side up"))
			first = false
		}
		f.add(f.paragraph("", s.Name+": "+stripMarks(j.Pad, s)))
	}
}

// stripMarks says where the numbered marks lie on the strip, and where it is slit.
func stripMarks(p pad.Pad, s pad.Strip) string {
	marks := slices.Clone(s.Marks)
	slices.SortStableFunc(marks, func(a, b pad.Mark) int { return cmp.Compare(a.At.X, b.At.X) })
	var numbered []string
	var slits []length.Length
	for _, k := range marks {
		at := length.Length(k.At.X) + s.Seam
		words := fmt.Sprintf("%.1f mm (%s)", at.Millimetres(), at.Imperial())
		if k.Kind == pad.ReliefClip {
			if n := len(slits); n == 0 || at-slits[n-1] > sameSlit {
				slits = append(slits, at)
			}
			continue
		}
		name, _, _ := strings.Cut(k.Words, ":")
		if n := sheet.StripNumber(p, s, k); n > 0 {
			name = fmt.Sprint(n)
		}
		numbered = appendNew(numbered, name+" at "+words)
	}
	says := strings.Join(numbered, "; ") + "."
	if len(slits) > 0 {
		says += " Slit the allowance " + slitWords(slits) + "."
	}
	return says
}

// sameSlit is how near two slits lie that are one, on the upper and the lower edge.
const sameSlit = 0.5 * length.Millimetre

// slitWords says where a strip is slit; evenly spaced slits by their spacing.
func slitWords(at []length.Length) string {
	both := func(l length.Length) string { return fmt.Sprintf("%.1f mm (%s)", l.Millimetres(), l.Imperial()) }
	var runs []string
	for i := 0; i < len(at); {
		end := i
		for end+1 < len(at) && (end == i || (at[end+1]-at[end]-(at[i+1]-at[i])).Abs() < sameSlit) {
			end++
		}
		if end-i < 3 { // no run: say the first, and look again from the next
			runs = append(runs, both(at[i]))
			i++
			continue
		}
		runs = append(runs, fmt.Sprintf("every %s from %s to %s", both((at[end]-at[i])/length.Length(end-i)), both(at[i]), both(at[end])))
		i = end + 1
	}
	if len(runs) == 1 && strings.HasPrefix(runs[0], "every") {
		return runs[0]
	}
	return "at " + strings.Join(runs, ", ")
}

// appendNew appends the words once: the upper and the lower edge of a band carry the
// same marks.
func appendNew(all []string, words string) []string {
	if slices.Contains(all, words) {
		return all
	}
	return append(all, words)
}
