package nest

// searchParams are the thresholds of the search for one piece's best place and of
// the separation; see the places of use for what they do.
type searchParams struct {
	wide      int     // random places all over the strip; fewer miss holes, more cost time
	narrow    int     // random places near by
	nearShare float64 // how near, as a share of the piece's box
	refined   int     // places that slide to contact
	slides    int     // most steps of one slide
	// slideShare: reach of one step of a slide, as a share of the root of the area.
	slideShare float64
	// riseLeast and riseMost multiply the weights of pairs in conflict; fade the others.
	riseLeast, riseMost, fade float64
	// patience: passes without a better loss before a strike; strikes before giving up.
	patience, strikes int
	// better: the share of the best loss that counts as progress.
	better float64
	// sweeps: most sweeps of one relaxation; sweepsPerList: after how many the list of
	// close pairs is made anew; pairReach: how close, as a share of the width.
	sweeps, sweepsPerList int
	pairReach             float64
	// relaxMargin: by how much further than needed pairs are pushed at first, as a
	// share of the width.
	relaxMargin float64
	// relaxEvery: passes between relaxations without progress; relaxBelow: the loss, as
	// a share of the width, above which they are hopeless and cost time.
	relaxEvery int
	relaxBelow float64
}

func defaultSearchParams() searchParams {
	return searchParams{
		wide: 160, narrow: 24, nearShare: 0.15, refined: 5, slides: 12, slideShare: 0.25,
		riseLeast: 1.2, riseMost: 2.0, fade: 0.95,
		patience: 250, strikes: 3, better: 0.98,
		sweeps: 120, sweepsPerList: 20, pairReach: 0.01, relaxMargin: 2e-5, relaxEvery: 8, relaxBelow: 0.01,
	}
}
