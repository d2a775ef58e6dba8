package pad

import "fairedge/internal/length"

// Recipe is how a shop makes one kind of pad: every choice and number that turns a
// seat's outline into pieces. A plain value: With returns a changed copy, and two
// recipes with the same choices are equal.
type Recipe struct {
	Name  string // short, as in a file name
	Title string // what a maker calls it
	Style Style

	Foam      FoamRule
	Plate     PlateRule
	Clearance ClearanceRule
	Opening   OpeningRule
	Zip       ZipRule
	Piping    PipingRule
	Ties      TieRule
	Cloth     ClothRule
	Marks     MarkRule
	Sewing    SewingRule
}

// Style is how the cover is built.
type Style string

// The styles.
const (
	KnifeEdge Style = "knife-edge" // two plates, one seam round the waist
	Boxed     Style = "boxed"      // two plates with a band between them
	Waterfall Style = "waterfall"  // one piece over top, square front and underside
	Bullnose  Style = "bullnose"   // the same over a half-round front
)

// FoamRule says what is cut of foam.
type FoamRule struct {
	Thickness       length.Length
	Oversize        length.Length
	OversizeMeasure OversizeMeasure
	Density         Density
	Firmness        string // as the supplier's label says it; never converted
	SheetLength     length.Length
	SheetWidth      length.Length
	Bevel           length.Length // leg of a 45 degree bevel, top and bottom
	Wrap            bool          // a sheet of bonded fibre round the foam
}

// OversizeMeasure says what Oversize counts.
type OversizeMeasure string

// The ways of counting.
const (
	PerSide OversizeMeasure = "per side"
	Overall OversizeMeasure = "overall"
)

// PlateRule says how the plates grow from the template.
type PlateRule struct {
	Ease       Share // of the thickness, per side
	BevelEase  bool  // take the ease from the bevel instead of Ease
	EaseExtra  length.Length
	Seam       length.Length
	SeamBack   Own
	SeamFront  Own
	SeamSides  Own
	Hem        Own // at the opening of a pad closed by hand
	CutCorner  CutCorner
	SeamRadius length.Length // least radius of the seam's convex corners
	Facing     length.Length // width of the facing of a notched corner; 0 for none
}

// CutCorner is what the cut line does at a sharp corner.
type CutCorner string

// The corners.
const (
	MitredCut  CutCorner = "mitre"
	RoundedCut CutCorner = "round"
	TrimmedCut CutCorner = "trim"
)

// ClearanceRule says how far the finished pad stays inside the template.
type ClearanceRule struct {
	Back, Front, Sides length.Length
	KeepInside         bool // also take off what the piping adds
}

// OpeningRule says where the cover is filled and how it is closed.
type OpeningRule struct {
	Close      Closing
	FromCorner length.Length // from each back corner to the opening
	RoundShare Share         // of the seat's width, where the back has no corners
}

// Closing is how the cover is closed.
type Closing string

// The ways of closing.
const (
	ByHand Closing = "hand"
	ByZip  Closing = "zip"
)

// ZipRule says how a zip sits in the boxing.
type ZipRule struct {
	Wrap  length.Length // beyond each back corner
	Cover length.Length // width that each half of the placket is folded over the zip
}

// PipingRule says how the piping is cut.
type PipingRule struct {
	On         bool
	Cord       length.Length // diameter
	Cloth      length.Length // added to the strip's width for heavy cloth
	Cut        StripCut
	Join       length.Length // overlap where both ends meet
	CornerEase length.Length // for each sharp corner
	Spare      Share
	StartPast  length.Length // sewing starts this far beside the back centre
	EndPast    length.Length // the end runs this far past the back centre
	BiasJoin   length.Length // allowance of a join of bias strips
}

// StripCut is how strips lie on the cloth.
type StripCut string

// The cuts.
const (
	Straight StripCut = "straight"
	Bias     StripCut = "bias"
)

// TieRule says what holds the pad to the chair.
type TieRule struct {
	Kind      TieKind
	Count     int
	CutWidth  length.Length
	CutLength length.Length
	Folds     int // thicknesses of cloth in the finished tie: 4 folds twice
	TurnIn    length.Length
	Catch     length.Length // taken up in the seam
	Place     TiePlace
	Inset     length.Length // from the back corner
	TabLength length.Length // finished, hook-and-loop or button tab
	TabWidth  length.Length
}

// TieKind is what is sewn in.
type TieKind string

// The kinds.
const (
	Strings TieKind = "strings"
	Tabs    TieKind = "tabs"
	NoTies  TieKind = "none"
)

// TiePlace says where ties sit.
type TiePlace string

// The places.
const (
	TiesByShape   TiePlace = "by shape" // ticks if drawn, else notches if any, else corners
	TiesAtCorners TiePlace = "corners"
	TiesAtTicks   TiePlace = "ticks"
	TiesAtNotches TiePlace = "notches"
)

// ClothRule says what the cover is cut from.
type ClothRule struct {
	Width        length.Length
	Selvedge     length.Length // lost on each edge
	ShrinkLength Share         // along the warp, which runs from back to front
	ShrinkWidth  Share
	Nap          Nap
}

// Nap is the way the pile lies when it is stroked smooth.
type Nap string

// The naps.
const (
	NoNap      Nap = "none"
	NapToFront Nap = "to front"
	NapToBack  Nap = "to back"
)

// MarkRule says which marks are made.
type MarkRule struct {
	MatchEvery      length.Length
	NotchDepth      length.Length
	NotchGap        length.Length // between the ticks of a double notch
	ReliefGap       length.Length // how far one relief clip opens
	ReliefStop      length.Length // from the seam line
	ReliefLeast     length.Length // least spacing
	ReliefMost      length.Length // greatest spacing
	BiasStretch     Share
	StraightStretch Share
	CornerClips     int
	CornerSpacing   length.Length
}

// SewingRule says what the take-off of thread and tape assumes.
type SewingRule struct {
	Stitch        length.Length
	SeamThickness length.Length
	ThreadWaste   Share
	Tags          int
}

// Share is a part of something: 0.25 is a quarter.
type Share float64

// Density is mass by volume in kilograms per cubic metre.
type Density float64

// Own is a length of its own, or the general one.
type Own struct {
	Set    bool
	Length length.Length
}

// Or returns the own length, or the general one where none is set.
func (o Own) Or(general length.Length) length.Length {
	if o.Set {
		return o.Length
	}
	return general
}
