package pad

import (
	"fairedge/internal/curve"
	"fairedge/internal/length"
	"fairedge/internal/plane"
)

// Pad is everything that is cut for one pad. Read-only after construction.
type Pad struct {
	Recipe   Recipe
	Template curve.Path // what was traced
	Finished curve.Path // template less the clearance

	Pieces []Piece // plates or the wrapped piece with its sides, and the foam blank
	Strips []Strip // bands, zip strips, piping, ties, facings

	// SeamLength is once round the seam line; Seams is how many such seams are sewn.
	SeamLength length.Length
	Seams      int
	// Stitched is the length of all seams of the cover end to end.
	Stitched length.Length
	// CutOutside is how far the cut line lies outside the template away from edges
	// with an allowance of their own.
	CutOutside length.Length

	Opening Opening
	Zip     Zip
	Piping  Piping
	Ties    Ties
	Foam    Foam

	Questions []string // what looks unusual and should be checked before cutting
	Cautions  []string // what the maker and the person who sits should know
	Order     []string // the order of work, with the places of the marks
}

// Material is what a piece is cut from.
type Material string

// The materials.
const (
	ClothMaterial Material = "cloth"
	FoamMaterial  Material = "foam"
)

// Piece is one part with an outline. Empty paths do not apply to it.
type Piece struct {
	Name     string
	Material Material
	Count    int  // for one pad
	Mirrored bool // the mirror image of another piece
	CutLine  curve.Path
	SeamLine curve.Path // starts at the back centre
	FoamLine curve.Path
	Marks    []Mark
	Grain    plane.Vec // unit vector along the warp
	Nap      plane.Vec // unit vector along which the pile strokes smooth; zero for none
	FoldLine *Stroke   // place on the fold, for half templates
	Words    []string  // what is written on the piece
}

// Stroke is a straight line.
type Stroke struct{ From, To plane.Point }

// MarkKind is what a mark tells the maker.
type MarkKind string

// The kinds of marks.
const (
	BackCentre   MarkKind = "back-centre"
	FrontCentre  MarkKind = "front-centre"
	QuarterLeft  MarkKind = "quarter-left"
	QuarterRight MarkKind = "quarter-right"
	Match        MarkKind = "match"         // meets the same mark on the other pieces
	OpeningEnd   MarkKind = "opening-end"   // stop and back-stitch
	ZipEnd       MarkKind = "zip-end"       // the zip strip meets the band
	TiePlaceMark MarkKind = "tie"           // middle of a tie
	PipingStart  MarkKind = "piping-start"  // begin to sew the piping
	PipingMeets  MarkKind = "piping-join"   // both ends of the piping meet
	PipingSeam   MarkKind = "piping-seam"   // two strips of piping are joined here
	ReliefClip   MarkKind = "relief-clip"   // slit
	ReliefNotch  MarkKind = "relief-notch"  // wedge
	PipingClip   MarkKind = "piping-clip"   // slit in the piping's flange
	CornerMark   MarkKind = "corner"        // pivot; trim the point
	BandJoin     MarkKind = "band-join"     // two strips of the band are joined here
	FoamJoin     MarkKind = "foam-join"     // two parts of the blank are glued here
	FoldMark     MarkKind = "fold"          // middle of a wrapped front
	GrainArrow   MarkKind = "grain"         // along the warp
	NapArrow     MarkKind = "nap"           // stroke the pile this way
	BackClip     MarkKind = "facing-corner" // inner corner of a post notch
)

// Mark is one sign on a piece.
type Mark struct {
	Kind MarkKind
	// Along is the arc length from the back centre on the finished seam line, mm,
	// counter-clockwise as seen from above the pad; 0 for marks off the seam. On the main
	// piece of a wrapped pad it is negative on the right.
	Along float64
	At    plane.Point // on the seam line of this piece
	// From is on the cut line and To is where the mark ends inside the allowance, or
	// both are the ends of an arrow or line.
	From, To plane.Point
	Strokes  []Stroke // what to draw: more than one for double and triple notches
	Words    string
}

// StripKind is what a strip becomes.
type StripKind string

// The kinds of strips.
const (
	BandStrip   StripKind = "band"
	ZipStrip    StripKind = "zip"
	PipingStrip StripKind = "piping"
	TieStrip    StripKind = "tie"
	TabStrip    StripKind = "tab"
	FacingStrip StripKind = "facing"
)

// Strip is a rectangle of cloth, as it is cut.
type Strip struct {
	Name   string
	Kind   StripKind
	Count  int // for one pad
	Width  length.Length
	Length length.Length
	Cut    StripCut
	// Seam is the allowance on the long edges and at the ends.
	Seam length.Length
	// From and To are the arc lengths between which a band lies, mm; To may exceed
	// the seam's length where a strip runs past the back centre.
	From, To float64
	Marks    []Mark // in the strip's own frame
	Words    []string
}

// Opening is where the cover is filled.
type Opening struct {
	Close    Closing
	From, To float64 // arc lengths, mm: From is right of the back centre and negative
	Length   length.Length
}

// Zip is the zip to buy; zero when there is none.
type Zip struct {
	Length length.Length // with both ends caught in the seams
	Clear  length.Length // that opens
	Wrap   length.Length // round each back corner
}

// Foam is the blank.
type Foam struct {
	Outline   curve.Path
	Thickness length.Length
	Width     length.Length // greatest extents of the blank
	Depth     length.Length
	AreaMM2   float64
	MassKg    float64
	Parts     int // cut from the sheet; more than 1 when the blank is larger
	Joins     []Stroke
	Turned    bool // the blank fits the sheet only turned by a quarter
}

// Ties are what holds the pad.
type Ties struct {
	Kind     TieKind
	Count    int
	At       []float64 // arc lengths, mm
	Finished struct{ Width, Length length.Length }
	Tail     length.Length // of each end, free of the seam
	Spacing  length.Length // between the outermost two, straight across
}
