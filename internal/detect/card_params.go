package detect

// CardParams holds every threshold of the search for cards. "Level" is the
// reduced picture that is searched; lengths in "cells" are shares of the side of
// one cell of the card's chessboard as it appears in the photo.
type CardParams struct {
	// SearchLongSide is the wanted long side of the searched level, px: smaller
	// loses far cards (a cell needs MinLevelCell px), larger costs time.
	SearchLongSide int
	// MinLevelCell, level px: when a card's cells are smaller than this, a finer level
	// is searched too. Cells of 6 level px are still found on sharp photos; lower would
	// miss other cards, farther away, higher costs time.
	MinLevelCell float64
	// MinSaddle is the least saddle strength (dxy² - dxx dyy of the smoothed level,
	// grey² at a step of 2 px). Lower: noise becomes candidates and costs time.
	// Higher: shaded and blurred cards lose marks.
	MinSaddle float64
	// MinRingContrast is the least range of grey around a mark. Lower: sensor noise
	// passes; higher: cards in deep shadow are lost.
	MinRingContrast float64
	// MaxRingAsymmetry bounds the mean difference of grey between opposite places
	// of the ring, as a share of its range: a saddle is the same after half a turn.
	// Lower loses marks on a shadow's edge, higher admits T junctions of text.
	MaxRingAsymmetry float64
	// MaxCandidates bounds the work in pictures full of texture: the strongest are
	// kept. Lower may lose a dim card in such a picture.
	MaxCandidates int
	// MaxTurn is how far the edges' directions may differ between neighbouring
	// marks, radians: perspective and lens turn them by well under 0.1.
	MaxTurn float64
	// LatticeSlack is how far a mark may lie from where its neighbours predict it,
	// cells. Larger lets the lattice jump to clutter, smaller breaks it on curled paper.
	LatticeSlack float64
	// BitError is the assumed rate of misread dots. Larger needs larger patches,
	// smaller makes single misreadings (covered cells, glints) costly.
	BitError float64
	// FalseAccept bounds the probability that one lattice that is no card is taken
	// for one. See decode for why the bound holds for any picture whatever.
	FalseAccept float64
	// MinMarks is the fewest marks for which a decoded card is of use to measure with.
	MinMarks int
	// FitRadius is the radius of the window of the mark fit, cells. The dots begin
	// at 0.536 cells; blur brings them nearer.
	FitRadius float64
	// MaxFitRadius caps that window, px: beyond it the fit costs time and gains
	// little, since other errors than noise dominate.
	MaxFitRadius float64
	// MinFitContrast is the least half-contrast (grey) of a fitted mark relative to
	// the median of its card. Lower admits marks that are covered.
	MinFitContrast float64
	// MinNearContrast is the same relative to the marks within two steps. Lower admits
	// half-covered marks, higher drops marks in the penumbra of a hard shadow.
	MinNearContrast float64
	// MaxFitResidual is the largest rms residual of a mark fit relative to the
	// mark's half-contrast, above what the card's median has. Higher admits marks
	// half covered or crossed by a sharp shadow.
	MaxFitResidual float64
	// MaxLatticeError is how many robust standard deviations a mark may lie from
	// the smooth lattice of its neighbours. Lower discards good marks.
	MaxLatticeError float64
	// SigmaFloor is the least uncertainty of a mark that is believed, px: what
	// sensor, demosaicking and JPEG leave however strong the contrast.
	SigmaFloor float64
	// MinCell is the cell size, px, below which marks cannot be fitted: their
	// windows would hold too few pixels that are clear of dots.
	MinCell float64
	// MaxBlur is the blur (standard deviation, cells) beyond which a lattice whose
	// dots (radius 0.17 cells) cannot be read is taken for a blurred card.
	MaxBlur float64
}

// DefaultCardParams returns the thresholds for photos from phones and cameras.
func DefaultCardParams() CardParams {
	return CardParams{
		SearchLongSide: 2000, MinLevelCell: 8,
		MinSaddle: 8, MinRingContrast: 10, MaxRingAsymmetry: 0.25, MaxCandidates: 12000,
		MaxTurn: 0.35, LatticeSlack: 0.2,
		BitError: 0.03, FalseAccept: 1e-6, MinMarks: 12,
		FitRadius: 0.33, MaxFitRadius: 9, MinFitContrast: 0.1, MinNearContrast: 0.35, MaxFitResidual: 0.03,
		MaxLatticeError: 5, SigmaFloor: 0.02,
		MinCell: 10, MaxBlur: 0.16,
	}
}
