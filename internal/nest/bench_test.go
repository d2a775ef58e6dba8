package nest

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// goals are densities (%) that 60 s on two processors have to reach: the best of
// guided cuckoo search (Elkeran 2013) less 3 points, rounded.
var goals = map[string]float64{
	"shirts": 86, "swim": 73, "trousers": 88, "albano": 86.5, "marques": 87.5, "dagli": 86.5, "shapes0": 66, "fu": 89,
}

// measured is one line of the table.
type measured struct {
	name                   string
	pieces                 int
	rows, fill, early, all float64 // densities, %
	cpu                    time.Duration
	work                   int64
}

// TestInstances lays all instances with 120 s of processor time each (60 s on two
// processors) and writes BENCHMARK.md after each. FAIREDGE_NEST_ONLY names a few of
// them, FAIREDGE_NEST_CPU changes the seconds.
func TestInstances(t *testing.T) {
	if os.Getenv("FAIREDGE_SLOW") != "1" {
		t.Skip("set FAIREDGE_SLOW=1 to lay all instances (half an hour of processor time)")
	}
	names := instances
	if only := os.Getenv("FAIREDGE_NEST_ONLY"); only != "" {
		names = strings.Fields(only)
	}
	limit := 120.0
	if own, err := strconv.ParseFloat(os.Getenv("FAIREDGE_NEST_CPU"), 64); err == nil {
		limit = own
	}
	var table []measured
	for _, name := range names {
		m := measureInstance(t, name, time.Duration(limit*1e9))
		t.Logf("%+v", m)
		fmt.Fprintf(os.Stderr, "%s: rows %.1f, fill %.1f, %.2f, then %.2f in %.0f s\n", name, m.rows, m.fill, m.early, m.all, m.cpu.Seconds())
		if goal := goals[name]; m.all < goal {
			t.Errorf("%s: density %.2f %%, the goal is %v %%", name, m.all, goal)
		}
		table = append(table, m)
		if err := os.WriteFile("BENCHMARK.md", tableText(t, table, limit), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// measureInstance gives the search as much work as fits the processor time, judged by
// a short run.
func measureInstance(t *testing.T, name string, limit time.Duration) measured {
	p := readInstance(t, name)
	const trial = 2_000_000
	began := cpuTime(t)
	first := solve(t, p, trial)
	rate := float64(first.Work) / (cpuTime(t) - began).Seconds()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	m := measured{name: name, pieces: len(first.Placements)}
	began = cpuTime(t)
	r, err := Solve(ctx, p, Options{Seed: 1, Work: int64(rate * limit.Seconds()), Progress: func(at Progress) {
		took := cpuTime(t) - began
		if took < limit/6 {
			m.early = 100 * at.Density
		}
		if took > limit {
			cancel()
		}
	}})
	if err != nil {
		t.Fatal(err)
	}
	share := func(length float64) float64 { return 100 * p.ItemArea() / (p.Width * length) }
	m.rows, m.fill, m.all = share(r.RowsLength), share(r.FillLength), 100*r.Density
	m.cpu, m.work = cpuTime(t)-began, r.Work
	return m
}

func tableText(t *testing.T, table []measured, limit float64) []byte {
	published := readPublished(t)
	var out bytes.Buffer
	fmt.Fprintf(&out, `# Densities reached

Made by `+"`FAIREDGE_SLOW=1 FAIREDGE_NEST_CPU=%.0f go test -run TestInstances -timeout 3h ./internal/nest`"+`. Density in %%: area of the pieces over width times used length. The columns
named by seconds are seconds on two processors, counted as processor time (twice as much); CPU is what was used in all. One run each, seed 1. Every lay is proven free of
overlap by package nestcheck. On the right what is published: the best on record, and the worst and mean of 50 runs of 1200 s (Gardeyn et al. 2025).

| instance | pieces | rows | bottom-left fill | %.0f s | %.0f s | CPU s | evaluations, millions | goal | record | 1200 s worst | 1200 s mean |
|---|---|---|---|---|---|---|---|---|---|---|---|
`, limit, limit/12, limit/2)
	for _, m := range table {
		goal := "-"
		if g, ok := goals[m.name]; ok {
			goal = strconv.FormatFloat(g, 'f', -1, 64)
		}
		row := published[m.name]
		fmt.Fprintf(&out, "| %s | %d | %.1f | %.1f | %.2f | **%.2f** | %.0f | %.0f | %s | %s | %s | %s |\n", m.name, m.pieces, m.rows, m.fill, m.early, m.all,
			m.cpu.Seconds(), float64(m.work)/1e6, goal, row["best_record_density_pct"], row["sparrow_worst_1200s"], row["sparrow_mean_1200s"])
	}
	return out.Bytes()
}

// readPublished returns the published densities by instance and column.
func readPublished(t *testing.T) map[string]map[string]string {
	data, err := os.ReadFile(filepath.Join("testdata", "esicup", "best_densities.csv"))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]map[string]string{}
	for _, row := range rows[1:] {
		line := map[string]string{}
		for i, v := range row {
			line[rows[0][i]] = v
		}
		out[row[0]] = line
	}
	return out
}

// BenchmarkDepth times the question the search asks most.
func BenchmarkDepth(b *testing.B) {
	in, err := newInstance(readInstance(b, "swim"))
	if err != nil {
		b.Fatal(err)
	}
	in.prepareFields(2)
	f := in.sightOf(0, 3).field
	size := f.max.sub(f.min)
	for i := range b.N {
		q := f.min.add(vec{size.x * float64(i%977) / 977, size.y * float64(i%661) / 661})
		f.depth(q)
	}
}

// BenchmarkSeatSet times a set of six seats with strips, preparation and proof included.
func BenchmarkSeatSet(b *testing.B) {
	p := seatSet(6, true, 0, 180)
	for range b.N {
		solve(b, p, 0)
	}
}
