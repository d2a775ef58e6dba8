package pad

import (
	"fmt"
	"math"

	"fairedge/internal/length"
)

// NeedKind is a kind of material.
type NeedKind string

// The kinds of material.
const (
	ClothPieces NeedKind = "cloth-piece"
	ClothStrips NeedKind = "cloth-strip"
	FoamBlanks  NeedKind = "foam"
	WrapNeed    NeedKind = "wrap"
	CordNeed    NeedKind = "cord"
	ZipNeed     NeedKind = "zip"
	ThreadNeed  NeedKind = "thread"
	TapeNeed    NeedKind = "tape"
	TagNeed     NeedKind = "tag"
)

// Need is one line of a take-off.
type Need struct {
	Kind     NeedKind
	Item     string
	Count    int           // pieces, strips, zips or tags; 0 for what is measured
	Width    length.Length // of each, as cut
	Length   length.Length // of each, as cut; for cord, thread and tape the whole length
	Thick    length.Length // foam only
	AreaMM2  float64       // of each, along its cut line
	MassKg   float64       // of all; foam only
	Mirrored bool
	Bias     bool
	// Spare is included in Count or Length: what is over if nothing goes wrong.
	SpareCount  int
	SpareLength length.Length
	Note        string // what is assumed
}

// Spare says how much more to count than the pads need. Each share is of its own
// item; counts are rounded up.
type Spare struct {
	Cord, Thread, Tape Share
	Zips, Tags         int
}

// DefaultSpare returns a tenth more of what comes by the metre. The piping's own
// spare is in the recipe.
func DefaultSpare() Spare { return Spare{Cord: 0, Thread: 0.1, Tape: 0.1} }

// TakeOff returns what the given number of pads needs, in a fixed order: cloth
// pieces and foam, strips, fibre, cord, zips, thread, tape, tags.
func (p Pad) TakeOff(pads int, spare Spare) []Need {
	var all []Need
	for _, piece := range p.Pieces {
		all = append(all, p.pieceNeed(piece, pads))
	}
	for _, s := range p.Strips {
		all = append(all, Need{Kind: ClothStrips, Item: s.Name, Count: s.Count * pads, Width: s.Width, Length: s.Length,
			AreaMM2: s.Width.Millimetres() * s.Length.Millimetres(), Bias: s.Cut == Bias})
	}
	if p.Recipe.Foam.Wrap {
		across, round := WrapSheet(p.Foam.Width, p.Foam.Depth, p.Foam.Thickness)
		all = append(all, Need{Kind: WrapNeed, Item: "Bonded fibre", Count: pads, Width: across, Length: round,
			AreaMM2: across.Millimetres() * round.Millimetres(), Note: "once round the foam from back to back, with 2 in to trim each way"})
	}
	n := length.Length(pads)
	if p.Piping.On {
		all = append(all, measured(CordNeed, "Cord of "+cordWords(p.Piping.Cord), n*p.Piping.CordLength, spare.Cord,
			fmt.Sprintf("once round each piped seam and the overlap, with the recipe's %.0f%% spare", 100*float64(p.Recipe.Piping.Spare))))
	}
	if z := p.Zip; z.Length > 0 {
		all = append(all, Need{Kind: ZipNeed, Item: "Zip", Count: pads + spare.Zips, Length: z.Length, SpareCount: spare.Zips,
			Note: "both ends caught in the seams; buy the next length up"})
	}
	all = append(all, measured(ThreadNeed, "Thread", n*p.ThreadLength(), spare.Thread, p.threadNote()))
	if tape := p.tapeLength(); tape > 0 {
		all = append(all, measured(TapeNeed, "Basting tape", n*tape, spare.Tape, "along the joined edges, one run along the opening, three runs to each tie"))
	}
	if tags := p.Recipe.Sewing.Tags; tags > 0 {
		all = append(all, Need{Kind: TagNeed, Item: "Label", Count: tags*pads + spare.Tags, SpareCount: spare.Tags})
	}
	return all
}

func (p Pad) pieceNeed(piece Piece, pads int) Need {
	w, l := piece.Sizes()
	need := Need{Kind: ClothPieces, Item: piece.Name, Count: piece.Count * pads, Width: w, Length: l, Mirrored: piece.Mirrored}
	if piece.Material == FoamMaterial {
		need.Kind, need.Thick, need.AreaMM2 = FoamBlanks, p.Foam.Thickness, p.Foam.AreaMM2
		need.MassKg = float64(pads) * p.Foam.MassKg
		return need
	}
	need.AreaMM2 = piece.CutLine.SignedArea()
	return need
}

// measured is what comes by length, with its spare.
func measured(kind NeedKind, item string, l length.Length, spare Share, note string) Need {
	extra := l * length.Length(spare)
	return Need{Kind: kind, Item: item, Length: l + extra, SpareLength: extra, Note: note}
}

// ThreadPerSeam returns the length of thread, needle and bobbin together, that a
// lockstitch (301) takes for each unit of seam: each of the two threads goes once
// along the stitch and once through half of the layers at each end, so 2 (p + h)/p
// for stitches of length p through layers of thickness h. 3 mm stitches through
// 1.5 mm take 3 times the seam.
func ThreadPerSeam(stitch, thickness length.Length) float64 {
	return 2 * float64((stitch+thickness)/stitch)
}

// ThreadLength returns the thread of one pad with the waste of the recipe.
func (p Pad) ThreadLength() length.Length {
	s := p.Recipe.Sewing
	return p.stitchedLength() * length.Length(ThreadPerSeam(s.Stitch, s.SeamThickness)*(1+float64(s.ThreadWaste)))
}

// stitchedLength returns the seams of one pad end to end: each seam of the cover,
// once more where piping is stitched to it and once to close the piping; the ties;
// the zip's two sides.
func (p Pad) stitchedLength() length.Length {
	total := p.Stitched
	if p.Piping.On {
		total += 2 * p.Piping.Need
	}
	total += length.Length(p.Ties.Count) * p.Ties.Finished.Length
	total += 2 * p.Zip.Length
	if p.Opening.Close == ByHand {
		total += p.Opening.Length // the hem
	}
	return total
}

func (p Pad) threadNote() string {
	s := p.Recipe.Sewing
	return fmt.Sprintf("lockstitch 301 (ISO 4915) in class 1 seams, plates face to face (ISO 4916), of %s through %s: %.1f times the seam, %.0f%% waste; needle and bobbin together",
		s.Stitch, s.SeamThickness, ThreadPerSeam(s.Stitch, s.SeamThickness), 100*float64(s.ThreadWaste))
}

// tapeLength returns the basting tape of one pad: along the joined edges but for the
// opening, one run along the opening's hem, and three runs to each tie.
func (p Pad) tapeLength() length.Length {
	// The opening is left out of the joined edges and comes back as its hem.
	tape := p.Stitched
	if p.Opening.Close == ByZip && p.Recipe.Style == KnifeEdge {
		tape -= p.Opening.Length
	}
	if p.Ties.Kind == Strings {
		tape += length.Length(3*p.Ties.Count) * p.Recipe.Ties.CutLength
	}
	return mm(math.Max(0, tape.Millimetres()))
}
