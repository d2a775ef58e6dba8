package pad

import "fairedge/internal/length"

// fields is the recipe as a text file knows it: every key with its section, what it
// means, and how its value is read and written. The order is that of the file.
func fields() []field {
	return slicesOf(headFields(), foamFields(), plateFields(), closingFields(), pipingFields(),
		tieFields(), clothFields(), markFields(), sewingFields())
}

func slicesOf(groups ...[]field) []field {
	var all []field
	for _, g := range groups {
		all = append(all, g...)
	}
	return all
}

func headFields() []field {
	return []field{
		words("name", "short name of the recipe", func(r *Recipe) *string { return &r.Name }),
		words("title", "what you call this pad", func(r *Recipe) *string { return &r.Title }),
		choice("style", "how the cover is built", func(r *Recipe) *Style { return &r.Style },
			KnifeEdge, Boxed, Waterfall, Bullnose),
	}
}

func foamFields() []field {
	return []field{
		distance("foam.thickness", "thickness of the foam", 3, 400, func(r *Recipe) *length.Length { return &r.Foam.Thickness }),
		distance("foam.oversize", "how much larger than the finished pad the blank is cut", -50, 100,
			func(r *Recipe) *length.Length { return &r.Foam.Oversize }),
		choice("foam.oversize_measure", "what the oversize counts: each side, or left and right together",
			func(r *Recipe) *OversizeMeasure { return &r.Foam.OversizeMeasure }, PerSide, Overall),
		density("foam.density", "weight of the foam by volume; it says nothing of its firmness",
			func(r *Recipe) *Density { return &r.Foam.Density }),
		words("foam.firmness", "firmness as the supplier's label says it", func(r *Recipe) *string { return &r.Foam.Firmness }),
		distance("foam.sheet_length", "length of a stock sheet", 100, 20000, func(r *Recipe) *length.Length { return &r.Foam.SheetLength }),
		distance("foam.sheet_width", "width of a stock sheet", 100, 20000, func(r *Recipe) *length.Length { return &r.Foam.SheetWidth }),
		distance("foam.bevel", "leg of the bevel cut along the top and bottom edges, 0 for a square edge", 0, 100,
			func(r *Recipe) *length.Length { return &r.Foam.Bevel }),
		truth("foam.wrap", "wrap the foam in bonded fibre", func(r *Recipe) *bool { return &r.Foam.Wrap }),
	}
}

func plateFields() []field {
	return []field{
		share("plate.ease", "share of the thickness that each plate takes on each side: square (half), rounded, snug (a quarter), tight (none), or a percentage",
			-0.5, 1, easePresets(), func(r *Recipe) *Share { return &r.Plate.Ease }),
		truth("plate.bevel_ease", "take the ease from the bevel instead", func(r *Recipe) *bool { return &r.Plate.BevelEase }),
		distance("plate.ease_extra", "more ease on each side, or less when negative", -50, 100, func(r *Recipe) *length.Length { return &r.Plate.EaseExtra }),
		distance("plate.seam", "seam allowance", 0, 100, func(r *Recipe) *length.Length { return &r.Plate.Seam }),
		own("plate.seam_back", "seam allowance along the back", 0, 150, func(r *Recipe) *Own { return &r.Plate.SeamBack }),
		own("plate.seam_front", "seam allowance along the front", 0, 150, func(r *Recipe) *Own { return &r.Plate.SeamFront }),
		own("plate.seam_sides", "seam allowance along the sides", 0, 150, func(r *Recipe) *Own { return &r.Plate.SeamSides }),
		own("plate.hem", "allowance along the back of a pad that is closed by hand, folded in as a hem at the opening", 0, 150,
			func(r *Recipe) *Own { return &r.Plate.Hem }),
		choice("plate.cut_corner", "the cut line at a sharp corner", func(r *Recipe) *CutCorner { return &r.Plate.CutCorner },
			MitredCut, RoundedCut, TrimmedCut),
		distance("plate.seam_radius", "least radius of the seam at convex corners, 0 to keep them sharp", 0, 200,
			func(r *Recipe) *length.Length { return &r.Plate.SeamRadius }),
		distance("plate.facing", "width of the facing sewn into a notched corner, 0 for none", 0, 300, func(r *Recipe) *length.Length { return &r.Plate.Facing }),
		distance("clearance.back", "how far the finished pad stays inside the template at the back", 0, 100, func(r *Recipe) *length.Length { return &r.Clearance.Back }),
		distance("clearance.front", "the same at the front", 0, 100, func(r *Recipe) *length.Length { return &r.Clearance.Front }),
		distance("clearance.sides", "the same at the sides, against arms and posts", 0, 100, func(r *Recipe) *length.Length { return &r.Clearance.Sides }),
		truth("clearance.keep_inside", "take off what the piping adds, too", func(r *Recipe) *bool { return &r.Clearance.KeepInside }),
	}
}

func closingFields() []field {
	return []field{
		choice("opening.close", "how the cover is closed", func(r *Recipe) *Closing { return &r.Opening.Close }, ByHand, ByZip),
		distance("opening.from_corner", "from each back corner to the opening", 0, 500, func(r *Recipe) *length.Length { return &r.Opening.FromCorner }),
		share("opening.round_share", "length of the opening by the pad's width, where the back has no corners", 0.1, 1.5, nil,
			func(r *Recipe) *Share { return &r.Opening.RoundShare }),
		distance("zip.wrap", "how far the zip runs round each back corner", 0, 500, func(r *Recipe) *length.Length { return &r.Zip.Wrap }),
		distance("zip.cover", "how much each zip strip is wider than half the band and one seam", 0, 100, func(r *Recipe) *length.Length { return &r.Zip.Cover }),
	}
}

func pipingFields() []field {
	return []field{
		truth("piping.on", "whether the seams are piped", func(r *Recipe) *bool { return &r.Piping.On }),
		distance("piping.cord", "diameter of the cord", 0.5, 40, func(r *Recipe) *length.Length { return &r.Piping.Cord }),
		distance("piping.cloth", "added to the strip's width for heavy cloth", 0, 20, func(r *Recipe) *length.Length { return &r.Piping.Cloth }),
		choice("piping.cut", "how the strips lie on the cloth", func(r *Recipe) *StripCut { return &r.Piping.Cut }, Straight, Bias),
		distance("piping.join", "overlap where both ends meet", 0, 500, func(r *Recipe) *length.Length { return &r.Piping.Join }),
		distance("piping.corner_ease", "more length for each sharp corner", 0, 100, func(r *Recipe) *length.Length { return &r.Piping.CornerEase }),
		share("piping.spare", "spare length", 0, 1, nil, func(r *Recipe) *Share { return &r.Piping.Spare }),
		distance("piping.start_past", "sewing starts this far beside the back centre", 0, 500, func(r *Recipe) *length.Length { return &r.Piping.StartPast }),
		distance("piping.end_past", "the end runs this far past the back centre", 0, 500, func(r *Recipe) *length.Length { return &r.Piping.EndPast }),
		distance("piping.bias_join", "seam of a join between bias strips", 1, 50, func(r *Recipe) *length.Length { return &r.Piping.BiasJoin }),
	}
}

func tieFields() []field {
	return []field{
		choice("ties.kind", "what holds the pad to the chair", func(r *Recipe) *TieKind { return &r.Ties.Kind }, Strings, Tabs, NoTies),
		count("ties.count", "how many", 1, 12, func(r *Recipe) *int { return &r.Ties.Count }),
		distance("ties.cut_width", "width that a tie is cut", 5, 300, func(r *Recipe) *length.Length { return &r.Ties.CutWidth }),
		distance("ties.cut_length", "length that a tie is cut", 50, 2000, func(r *Recipe) *length.Length { return &r.Ties.CutLength }),
		count("ties.folds", "thicknesses of cloth in a finished tie (4: edges to the middle, then in half)", 1, 4, func(r *Recipe) *int { return &r.Ties.Folds }),
		distance("ties.turn_in", "turned in at each end", 0, 100, func(r *Recipe) *length.Length { return &r.Ties.TurnIn }),
		distance("ties.catch", "taken up in the seam at the middle", 0, 50, func(r *Recipe) *length.Length { return &r.Ties.Catch }),
		choice("ties.place", "where they sit", func(r *Recipe) *TiePlace { return &r.Ties.Place },
			TiesByShape, TiesAtCorners, TiesAtTicks, TiesAtNotches),
		distance("ties.inset", "from the back corner along the back", 0, 500, func(r *Recipe) *length.Length { return &r.Ties.Inset }),
		distance("ties.tab_length", "finished length of a tab", 20, 600, func(r *Recipe) *length.Length { return &r.Ties.TabLength }),
		distance("ties.tab_width", "finished width of a tab", 5, 200, func(r *Recipe) *length.Length { return &r.Ties.TabWidth }),
	}
}

func clothFields() []field {
	return []field{
		distance("cloth.width", "width of the cloth", 200, 5000, func(r *Recipe) *length.Length { return &r.Cloth.Width }),
		distance("cloth.selvedge", "lost along each edge of the cloth", 0, 100, func(r *Recipe) *length.Length { return &r.Cloth.Selvedge }),
		share("cloth.shrink_length", "shrinkage along the cloth", 0, 0.3, nil, func(r *Recipe) *Share { return &r.Cloth.ShrinkLength }),
		share("cloth.shrink_width", "shrinkage across the cloth", 0, 0.3, nil, func(r *Recipe) *Share { return &r.Cloth.ShrinkWidth }),
		choice("cloth.nap", "which way the pile strokes smooth", func(r *Recipe) *Nap { return &r.Cloth.Nap }, NoNap, NapToFront, NapToBack),
	}
}

func markFields() []field {
	return []field{
		distance("marks.match_every", "greatest distance between match marks", 30, 2000, func(r *Recipe) *length.Length { return &r.Marks.MatchEvery }),
		distance("marks.notch_depth", "depth of a notch, at most half the seam allowance", 1, 30, func(r *Recipe) *length.Length { return &r.Marks.NotchDepth }),
		distance("marks.notch_gap", "between the ticks of a double notch", 2, 30, func(r *Recipe) *length.Length { return &r.Marks.NotchGap }),
		distance("marks.relief_gap", "how far one relief clip opens", 0.5, 20, func(r *Recipe) *length.Length { return &r.Marks.ReliefGap }),
		distance("marks.relief_stop", "how far from the stitching a clip ends", 0.5, 20, func(r *Recipe) *length.Length { return &r.Marks.ReliefStop }),
		distance("marks.relief_least", "least spacing of relief clips", 2, 100, func(r *Recipe) *length.Length { return &r.Marks.ReliefLeast }),
		distance("marks.relief_most", "greatest spacing of relief clips", 2, 200, func(r *Recipe) *length.Length { return &r.Marks.ReliefMost }),
		share("marks.bias_stretch", "stretch that bias strips take without clips", 0.005, 1, nil, func(r *Recipe) *Share { return &r.Marks.BiasStretch }),
		share("marks.straight_stretch", "stretch that straight strips and plates take without clips", 0.005, 1, nil, func(r *Recipe) *Share { return &r.Marks.StraightStretch }),
		count("marks.corner_clips", "relief clips at a sharp corner", 1, 5, func(r *Recipe) *int { return &r.Marks.CornerClips }),
		distance("marks.corner_spacing", "between the clips of one corner", 3, 30, func(r *Recipe) *length.Length { return &r.Marks.CornerSpacing }),
	}
}

func sewingFields() []field {
	return []field{
		distance("sewing.stitch", "stitch length", 1, 10, func(r *Recipe) *length.Length { return &r.Sewing.Stitch }),
		distance("sewing.seam_thickness", "thickness of the layers under the foot, for the thread", 0.1, 20, func(r *Recipe) *length.Length { return &r.Sewing.SeamThickness }),
		share("sewing.thread_waste", "thread lost at ends and in the bobbin", 0, 2, nil, func(r *Recipe) *Share { return &r.Sewing.ThreadWaste }),
		count("sewing.tags", "labels sewn in", 0, 20, func(r *Recipe) *int { return &r.Sewing.Tags }),
	}
}
