package job

import (
	"fmt"

	"fairedge/internal/length"
	"fairedge/internal/pad"
)

// PadDifferences says in sentences what a pad has otherwise than the one made before of
// the same seat: the values of the recipe, then the pieces and strips that came out
// otherwise.
func PadDifferences(before, after MadePad) []string {
	var said []string
	for _, d := range after.Pad.Recipe.Differences(before.Pad.Recipe) {
		said = append(said, fmt.Sprintf("%s: %s, before %s.", d.Key, d.After, d.Before))
	}
	was := map[string]string{}
	for _, p := range partsOf(before.Pad) {
		was[p.name] = p.size
	}
	for _, p := range partsOf(after.Pad) {
		switch size, had := was[p.name]; {
		case !had:
			said = append(said, fmt.Sprintf("%s: %s, new.", p.name, p.size))
		case size != p.size:
			said = append(said, fmt.Sprintf("%s: %s, before %s.", p.name, p.size, size))
		}
		delete(was, p.name)
	}
	for _, p := range partsOf(before.Pad) { // in order, which a map has not
		if _, gone := was[p.name]; gone {
			said = append(said, p.name+": no more.")
		}
	}
	return said
}

// partSize is a piece or strip and its size in words.
type partSize struct{ name, size string }

func partsOf(p pad.Pad) []partSize {
	var all []partSize
	for _, piece := range p.Pieces {
		width, depth := piece.Sizes()
		size := measures(piece.Count, width, depth)
		if piece.Material == pad.FoamMaterial {
			size += ", " + p.Foam.Thickness.String() + " thick"
		}
		all = append(all, partSize{piece.Name, size})
	}
	for _, s := range p.Strips {
		all = append(all, partSize{s.Name, measures(s.Count, s.Length, s.Width)})
	}
	if p.Zip.Length > 0 {
		all = append(all, partSize{"Zip", p.Zip.Length.String()})
	}
	if p.Piping.On {
		all = append(all, partSize{"Cord", p.Piping.CordLength.String()})
	}
	return all
}

func measures(count int, a, b length.Length) string {
	return fmt.Sprintf("%d of %.1f x %.1f mm", count, a.Millimetres(), b.Millimetres())
}
