package sweep

import (
	"context"
	"fmt"
	"hash/fnv"
	"strings"
)

// Study says which tables to make, and of how many scenes a line; 0 leaves a table out.
type Study struct {
	Reach    int     // how exactly an outline is measured
	Coverage int     // how often the stated uncertainty holds
	Vary     float64 // percent by which thresholds and priors are turned
	// VaryScenes is how many scenes of each layout the turned numbers are tried on.
	VaryScenes int
	Several    int // what averaging three photos gains
}

// Watcher follows a study.
type Watcher interface {
	// Progress is called after each scene, from any goroutine.
	Progress(done, of int)
	// Known returns a row that an earlier run has measured, so that an interrupted study
	// goes on where it stopped.
	Known(key string) (Row, bool)
	// Measured is called with each row, from one goroutine.
	Measured(key string, row Row) error
}

// Table is one table in Markdown.
type Table struct{ Title, Text string }

// Tables makes the study's tables. It stops with the context's error.
func (s Study) Tables(ctx context.Context, watch Watcher) ([]Table, error) {
	r := runner{ctx: ctx, watch: watch, of: s.scenes()}
	var tables []Table
	for _, table := range []func(*runner) (Table, error){s.reach, s.coverage, s.several, s.vary} {
		t, err := table(&r)
		if err != nil {
			return nil, err
		}
		if t.Text != "" {
			tables = append(tables, t)
		}
	}
	return tables, nil
}

// scenes returns how many scenes the study has.
func (s Study) scenes() int {
	n := s.Reach*len(ReachCases()) + s.Coverage*len(CoverageCases()) + s.Several*len(SeveralCases())
	if s.Vary > 0 {
		n += s.VaryScenes * len(VaryCases(s.Vary)) * len(layouts())
	}
	return n
}

// runner measures lines and counts the scenes.
type runner struct {
	ctx   context.Context
	watch Watcher
	done  counter
	of    int
}

func (r *runner) row(c Case, n int) (Row, error) {
	key := c.key(n)
	if row, known := r.watch.Known(key); known {
		r.watch.Progress(r.done.add(n), r.of)
		return row, nil
	}
	all, err := Run(r.ctx, c, n, func() { r.watch.Progress(r.done.add(1), r.of) })
	if err != nil {
		return Row{}, err
	}
	row := all.Row()
	return row, r.watch.Measured(key, row)
}

// key names a line by all that it depends on but the program itself.
func (c Case) key(n int) string {
	h := fnv.New64a()
	fmt.Fprintf(h, "%+v %+v %+v %d", c.World, c.Params, c.Scene(0).Set.Candidates, n)
	return fmt.Sprintf("%s, %s, %s, %d scenes from %d, %x", c.World.Name, c.Layout, c.Priors, n, c.Seed, h.Sum64())
}

func (s Study) reach(r *runner) (Table, error) {
	if s.Reach == 0 {
		return Table{}, nil
	}
	var b strings.Builder
	b.WriteString("| world | cards | priors | error, mm | goal | cover points | outlines | widths | stated / true |\n|---|---|---|---|---|---|---|---|---|\n")
	for _, c := range ReachCases() {
		row, err := r.row(c.Case, s.Reach)
		if err != nil {
			return Table{}, err
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %.3f / %.2f / %.2f%s | %.2f / - / %.2f | %.3f | %.3f | %.3f | %.2f / %.2f |\n",
			c.World.Name, c.Layout, c.Priors, row.RMS, row.Worst, row.P95, failures(row), c.Goal.RMS, c.Goal.P95,
			row.Points, row.Outlines, row.Widths, row.Stated, row.True)
	}
	return Table{fmt.Sprintf("Error, %d scenes to a line", s.Reach), b.String()}, nil
}

func failures(r Row) string {
	if r.Failed == 0 {
		return ""
	}
	return fmt.Sprintf(" (%d not measured)", r.Failed)
}

func (s Study) coverage(r *runner) (Table, error) {
	if s.Coverage == 0 {
		return Table{}, nil
	}
	var b strings.Builder
	b.WriteString(coverageHead)
	b.WriteString("| world | priors | cards | points | outlines | widths | stated / true, mm |\n|---|---|---|---|---|---|---|\n")
	for _, c := range CoverageCases() {
		row, err := r.row(c, s.Coverage)
		if err != nil {
			return Table{}, err
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %.3f | %.3f | %.3f | %.2f / %.2f%s |\n", c.World.Name, c.Priors, c.Layout,
			row.Points, row.Outlines, row.Widths, row.Stated, row.True, failures(row))
	}
	return Table{fmt.Sprintf("How often the stated 95 %% holds, %d scenes to a line", s.Coverage), b.String()}, nil
}

func (s Study) several(r *runner) (Table, error) {
	if s.Several == 0 {
		return Table{}, nil
	}
	var b strings.Builder
	b.WriteString(severalHead)
	b.WriteString("| cards | photos | error, mm | cover points | outlines | widths | stated / true | not all used |\n|---|---|---|---|---|---|---|---|\n")
	for _, c := range SeveralCases() {
		alone, fused, err := r.rowsOfSeveral(c, s.Several)
		if err != nil {
			return Table{}, err
		}
		how := "three averaged, cards left lying"
		if c.LaidAnew {
			how = "three averaged, cards laid anew each time"
		} else {
			severalLine(&b, c.Layout, "one", alone)
		}
		severalLine(&b, c.Layout, how, fused)
	}
	return Table{fmt.Sprintf("Three photos averaged, %d scenes to a line", s.Several), b.String()}, nil
}

func severalLine(b *strings.Builder, layout, how string, row Row) {
	fmt.Fprintf(b, "| %s | %s | %.3f / %.2f / %.2f%s | %.3f | %.3f | %.3f | %.2f / %.2f | %d |\n", layout, how,
		row.RMS, row.Worst, row.P95, failures(row), row.Points, row.Outlines, row.Widths, row.Stated, row.True, row.NotAll)
}

// rowsOfSeveral is row for several photos: alone and fused.
func (r *runner) rowsOfSeveral(c Several, n int) (alone, fused Row, err error) {
	key := fmt.Sprintf("%d photos, anew %t, %s", severalPhotos, c.LaidAnew, c.key(n))
	first, known := r.watch.Known("alone, " + key)
	second, too := r.watch.Known("fused, " + key)
	if known && too {
		r.watch.Progress(r.done.add(n), r.of)
		return first, second, nil
	}
	one, all, err := RunSeveral(r.ctx, c, n, func() { r.watch.Progress(r.done.add(1), r.of) })
	if err != nil {
		return Row{}, Row{}, err
	}
	alone, fused = one.Row(), all.Row()
	if err := r.watch.Measured("alone, "+key, alone); err != nil {
		return Row{}, Row{}, err
	}
	return alone, fused, r.watch.Measured("fused, "+key, fused)
}

func (s Study) vary(r *runner) (Table, error) {
	if s.Vary == 0 {
		return Table{}, nil
	}
	var b strings.Builder
	b.WriteString(varyHead)
	b.WriteString("| turned | by |")
	for _, c := range layouts() {
		fmt.Fprintf(&b, " %s |", c.Layout)
	}
	b.WriteString("\n|---|---|---|---|---|---|\n")
	var plain []float64
	for _, v := range VaryCases(s.Vary) {
		var medians []float64
		for _, c := range v.Cases {
			row, err := r.row(c, s.VaryScenes)
			if err != nil {
				return Table{}, err
			}
			medians = append(medians, row.RMS)
		}
		if plain == nil {
			plain = medians
		}
		b.WriteString(v.line(medians, plain))
	}
	return Table{fmt.Sprintf("Thresholds and priors turned by %g %%, %d scenes of each layout", s.Vary, s.VaryScenes), b.String()}, nil
}

// line says by how much the medians have moved.
func (v VaryCase) line(medians, plain []float64) string {
	var b strings.Builder
	if v.Factor == 1 {
		fmt.Fprintf(&b, "| %s | |", v.Name)
		for _, m := range medians {
			fmt.Fprintf(&b, " %.3f mm |", m)
		}
		return b.String() + "\n"
	}
	fmt.Fprintf(&b, "| %s | x %.2f |", v.Name, v.Factor)
	for i, m := range medians {
		fmt.Fprintf(&b, " %+.1f %% |", 100*(m/plain[i]-1))
	}
	return b.String() + "\n"
}
