package pad

import (
	"embed"
	"fmt"
	"path"
	"strings"

	"fairedge/internal/length"
	"fairedge/internal/problem"
)

//go:embed recipes/*.toml
var recipeFiles embed.FS

// builtInNames lists the recipes that come with the program, the commonest first.
func builtInNames() []string {
	return []string{"tie-on", "tie-on-square", "round", "boxed-zip", "boxed-hand-closed", "round-boxed", "horseshoe", "waterfall", "bullnose"}
}

// BuiltIn returns the recipes that come with the program, the commonest first.
func BuiltIn() []Recipe {
	var all []Recipe
	for _, name := range builtInNames() {
		r, err := named(name, 0)
		if err != nil {
			panic(fmt.Sprintf("pad: built-in recipe %s: %v", name, err)) // the files are part of the program
		}
		all = append(all, r)
	}
	return all
}

// Named returns the built-in recipe of that name.
func Named(name string) (Recipe, error) { return named(name, 0) }

func named(name string, depth int) (Recipe, error) {
	for _, known := range builtInNames() {
		if known == name {
			data, err := recipeFiles.ReadFile(path.Join("recipes", name+".toml"))
			if err != nil {
				return Recipe{}, err
			}
			entries, err := entriesOf(data)
			if err != nil {
				return Recipe{}, err
			}
			return recipeFrom(entries, depth)
		}
	}
	return Recipe{}, problem.Newf(problem.Usage, "choose one of: "+strings.Join(builtInNames(), ", "), "there is no built-in recipe %q", name)
}

// plainRecipe is what a recipe file starts from when it is based on no other: the
// thin tie-on pad of the bench. All figures are common practice unless said.
func plainRecipe() Recipe {
	const mm, inch = length.Millimetre, length.Inch
	return Recipe{
		Style: KnifeEdge,
		Foam: FoamRule{
			Thickness: 1 * inch, OversizeMeasure: PerSide, Density: 35,
			SheetLength: 2000 * mm, SheetWidth: 1000 * mm,
		},
		// 1 in foam, 1/2 in seams, a quarter of the thickness: 3/4 in outside the template.
		Plate:   PlateRule{Ease: 0.25, Seam: 12.7 * mm, CutCorner: MitredCut, Facing: 50 * mm},
		Opening: OpeningRule{Close: ByHand, FromCorner: 2 * inch, RoundShare: 0.75},
		Zip:     ZipRule{Wrap: 75 * mm, Cover: 19 * mm},
		// 5/32 in is the usual cord of upholstery; 1 1/2 in strips with 1/2 in seams.
		Piping: PipingRule{On: true, Cord: 3.96875 * mm, Cut: Straight, Join: 50 * mm, CornerEase: 25 * mm, Spare: 0.05,
			StartPast: 2 * inch, EndPast: 1 * inch, BiasJoin: 6.35 * mm},
		Ties: TieRule{Kind: Strings, Count: 2, CutWidth: 2 * inch, CutLength: 20 * inch, Folds: 4, TurnIn: 19 * mm, Catch: 12.7 * mm,
			Place: TiesByShape, Inset: 1 * inch, TabLength: 180 * mm, TabWidth: 25 * mm},
		Cloth: ClothRule{Width: 54 * inch, Selvedge: 12.7 * mm, Nap: NoNap},
		Marks: MarkRule{MatchEvery: 150 * mm, NotchDepth: 6 * mm, NotchGap: 6 * mm, ReliefGap: 3 * mm, ReliefStop: 3 * mm,
			ReliefLeast: 6 * mm, ReliefMost: 25 * mm, BiasStretch: 0.10, StraightStretch: 0.03, CornerClips: 1, CornerSpacing: 8 * mm},
		Sewing: SewingRule{Stitch: 3 * mm, SeamThickness: 1.5 * mm, ThreadWaste: 0.25, Tags: 1},
	}
}
