package cloth

import (
	"fmt"

	"fairedge/internal/length"
	"fairedge/internal/pad"
)

// Line is one line of the list of what to buy and cut. Lengths are as they are asked for
// at the counter; each number is zero where it does not apply.
type Line struct {
	Kind   string // "cloth", "foam-sheet", or a pad.NeedKind
	Item   string
	Count  int
	Width  length.Length
	Length length.Length
	Thick  length.Length
	MassKg float64
	// Spare says what is included over the bare need.
	SpareCount  int
	SpareLength length.Length
	Note        string
}

// The kinds of lines that are not needs of a pad.
const (
	ClothToBuy = "cloth"
	FoamToBuy  = "foam-sheet"
)

// TakeOff returns the list for all orders: first what to buy (cloth, foam, cord, zips,
// thread, tape, labels), then what to cut. Cord, thread, tape of several orders are added
// up by item.
func TakeOff(laid *Laid, foam []*FoamLaid, spare pad.Spare) []Line {
	buy := append(clothToBuy(laid), foamToBuy(foam)...)
	for i, o := range laid.Orders {
		if o.Pads == 0 {
			continue
		}
		for _, need := range o.Pad.TakeOff(o.Pads, orderSpare(spare, i)) {
			if need.Kind != pad.ClothPieces && need.Kind != pad.FoamBlanks && need.Kind != pad.ClothStrips {
				buy = addLine(buy, lineOf(need))
			}
		}
	}
	return append(buy, toCut(laid, foam)...)
}

func clothToBuy(laid *Laid) []Line {
	if len(laid.Pieces) == 0 {
		return nil
	}
	return []Line{{Kind: ClothToBuy, Item: "Cloth", Count: 1, Width: laid.Cloth.Width, Length: laid.Buy, SpareLength: laid.Buy - laid.Needed,
		Note: fmt.Sprintf("%s is used, %.0f%% of it becomes pieces; all from one dye lot", Metres(laid.Needed), 100*laid.Usage)}}
}

func foamToBuy(foam []*FoamLaid) []Line {
	var all []Line
	for _, f := range foam {
		note := fmt.Sprintf("%.0f kg/m3", float64(f.Density))
		if f.Firmness != "" {
			note += ", " + f.Firmness
		}
		all = append(all, Line{Kind: FoamToBuy, Item: "Foam sheet", Count: f.Sheets, Width: f.SheetWidth, Length: f.SheetLength, Thick: f.Thickness,
			MassKg: f.MassKg, Note: note + fmt.Sprintf("; mass of the blanks; %.0f%% of the sheets becomes blanks", 100*f.Usage)})
	}
	return all
}

func toCut(laid *Laid, foam []*FoamLaid) []Line {
	var all []Line
	for _, p := range laid.Parts {
		if p.Count > 0 {
			all = append(all, p.line())
		}
	}
	for _, f := range foam {
		for _, p := range f.Parts {
			all = append(all, Line{Kind: string(pad.FoamBlanks), Item: p.Name, Count: p.Count, Thick: f.Thickness})
		}
	}
	return all
}

// orderSpare counts spare zips and labels once, with the first order.
func orderSpare(s pad.Spare, order int) pad.Spare {
	if order > 0 {
		s.Zips, s.Tags = 0, 0
	}
	return s
}

func lineOf(n pad.Need) Line {
	return Line{Kind: string(n.Kind), Item: n.Item, Count: n.Count, Width: n.Width, Length: n.Length, Thick: n.Thick,
		SpareCount: n.SpareCount, SpareLength: n.SpareLength, Note: n.Note}
}

func (p Part) line() Line {
	l := Line{Kind: string(pad.ClothPieces), Item: p.Name, Count: p.Count, Width: p.Width, Length: p.Length}
	switch {
	case p.Strip && p.Bias:
		l.Kind, l.Note = string(pad.ClothStrips), "at 45 degrees, ends along the grain"
	case p.Strip:
		l.Kind = string(pad.ClothStrips)
	case p.Mirrored:
		l.Note = "mirror image"
	}
	return l
}

// addLine adds a line, to an older one where it is the same thing.
func addLine(all []Line, l Line) []Line {
	for i := range all {
		old := &all[i]
		if old.Kind != l.Kind || old.Item != l.Item || old.Note != l.Note {
			continue
		}
		switch pad.NeedKind(l.Kind) {
		case pad.ZipNeed, pad.WrapNeed: // by the piece
			if old.Length != l.Length || old.Width != l.Width {
				continue
			}
		case pad.TagNeed:
		default:
			old.Length += l.Length
			old.SpareLength += l.SpareLength
			return all
		}
		old.Count += l.Count
		old.SpareCount += l.SpareCount
		return all
	}
	return append(all, l)
}
