package archive

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// benchJobs is the size of the archive that the benchmarks use: an upholsterer who
// measures four chairs every working day for ten years.
const benchJobs = 10_000

// benchEntry is a job like those of practice, but for the photo: a measurement of
// 30 kB, a shape, four drawings and a picture of 100 kB altogether, of which those of
// one set are alike.
func benchEntry(i int) Entry {
	random := rand.New(rand.NewPCG(uint64(i), 10_000))
	names := []string{"Anna", "Béla", "Chloé", "Dmitri", "Eleni", "Fatima", "Goran", "Hana", "Ivo", "Jürgen", "Keiko 恵子", "Łukasz"}
	families := []string{"Adler", "Baker", "Chandra", "Dubois", "Eriksson", "Fischer", "García", "Horváth", "Ito 伊藤", "Janssen", "Kowalska", "Lindqvist"}
	chairs := []string{"ladder-back, oak", "Windsor, elm", "Wiener Geflecht", "bentwood, black", "kitchen stool", "bench, pine"}
	e := Entry{
		Words: Words{
			Title:    fmt.Sprintf("Seat pad %d", i),
			Customer: names[random.IntN(len(names))] + " " + families[random.IntN(len(families))] + fmt.Sprint(" ", i/40),
			Contact:  fmt.Sprintf("+44 20 7946 %04d", random.IntN(10000)),
			Place:    "dining room",
			Chair:    chairs[random.IntN(len(chairs))],
		},
		SetOf: 4, Which: 1 + i%4,
		MadeOn: time.Date(2016, 1, 1+i%10_000*365/1000, 0, 0, 0, 0, time.UTC),
		Sizes:  Sizes{Width: number(380 + 60*random.Float64()), Depth: number(370 + 50*random.Float64()), Within: number(0.6)},
		Note:   "ties 30 cm, zip at the back",
	}
	for _, p := range []struct {
		role Role
		name string
		size int
		own  bool
	}{
		{RoleMeasurement, "measurement.json", 30_000, true}, {RoleShape, "shape.json", 6_000, true},
		{RoleDrawing, "foam-outline.svg", 4_000, true}, {RoleDrawing, "outlines.pdf", 20_000, false},
		{RoleDrawing, "pages.pdf", 30_000, false}, {RolePicture, "check.jpg", 16_000, false},
	} {
		key := uint64(i / 4)
		if p.own {
			key = uint64(i)
		}
		e.Parts = append(e.Parts, Part{p.role, p.name, noise(p.size, key)})
	}
	return e
}

// noise is what no compression makes smaller.
func noise(size int, key uint64) []byte {
	random := rand.New(rand.NewPCG(key, uint64(size)))
	data := make([]byte, size)
	for i := 0; i+8 <= len(data); i += 8 {
		v := random.Uint64()
		for j := range 8 {
			data[i+j] = byte(v >> (8 * j))
		}
	}
	return data
}

// benchArchive makes the archive of 10,000 jobs once a run, without waiting for the disk
// at each job. FAIREDGE_BENCH_ARCHIVE names a file to keep it in for the next run.
func benchArchive(b *testing.B) string {
	b.Helper()
	path := os.Getenv("FAIREDGE_BENCH_ARCHIVE")
	if path == "" {
		path = filepath.Join(os.TempDir(), fmt.Sprintf("fairedge-bench-%d.fairedge", os.Getpid()))
		b.Cleanup(func() {
			for _, suffix := range []string{"", "-wal", "-shm"} {
				_ = os.Remove(path + suffix)
			}
		})
	}
	if _, err := os.Stat(path); err == nil {
		return path
	}
	a, err := OpenOrCreate(b.Context(), path, options())
	if err != nil {
		b.Fatal(err)
	}
	defer a.Close()
	a.db.SetMaxOpenConns(1)
	if _, err := a.db.ExecContext(b.Context(), "PRAGMA synchronous = OFF"); err != nil {
		b.Fatal(err)
	}
	for i := range benchJobs {
		saved := mustKeep(b, a, benchEntry(i))
		if err := a.SetSignature(b.Context(), saved, "bench", noise(404, uint64(i))); err != nil { // as large as likeness makes them
			b.Fatal(err)
		}
	}
	return path
}

// cpu is the processor time of this process so far, which a loaded machine changes
// less than the time on the wall.
func cpu(b *testing.B) time.Duration {
	b.Helper()
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// reportCPU reports the processor time since begin for each round.
func reportCPU(b *testing.B, begin time.Duration) {
	b.ReportMetric(float64(cpu(b)-begin)/1e6/float64(b.N), "cpu-ms/op")
}

// BenchmarkTenThousandJobs measures what a person waits for: open with the first
// answer, search, save on the disk.
func BenchmarkTenThousandJobs(b *testing.B) {
	path := benchArchive(b)
	b.Run("open", func(b *testing.B) {
		defer reportCPU(b, cpu(b))
		for b.Loop() {
			a, err := Open(b.Context(), path, options())
			if err != nil {
				b.Fatal(err)
			}
			if _, err := a.Get(b.Context(), benchJobs/2, Newest); err != nil {
				b.Fatal(err)
			}
			b.StopTimer()
			if err := a.Close(); err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
		}
	})
	a, err := Open(b.Context(), path, options())
	if err != nil {
		b.Fatal(err)
	}
	defer a.Close()
	for _, s := range []struct{ name, words string }{
		{"search/rare", "lindqvist 117"}, {"search/common", "dining room"}, {"search/two-letters", "伊藤"},
		{"search/number", "7777"}, {"search/date", "2019-05"}, {"search/nothing", "xylophone"}, {"search/all", ""},
	} {
		b.Run(s.name, func(b *testing.B) {
			defer reportCPU(b, cpu(b))
			for b.Loop() {
				if _, err := a.Find(b.Context(), Query{Words: s.words}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("signatures", func(b *testing.B) {
		defer reportCPU(b, cpu(b))
		for b.Loop() {
			n := 0
			if err := a.Signatures(b.Context(), "bench", func(Signature) bool { n++; return true }); err != nil || n != benchJobs {
				b.Fatal(n, err)
			}
		}
	})
	b.Run("save", func(b *testing.B) {
		defer reportCPU(b, cpu(b))
		for i := 0; b.Loop(); i++ {
			mustKeep(b, a, benchEntry(benchJobs+i*7919))
		}
	})
	b.Run("note", func(b *testing.B) {
		defer reportCPU(b, cpu(b))
		for b.Loop() {
			if _, err := a.Note(b.Context(), benchJobs/3, "delivered"); err != nil {
				b.Fatal(err)
			}
		}
	})
	photo := noise(3_000_000, 1)
	b.Run("save-with-photo", func(b *testing.B) {
		defer reportCPU(b, cpu(b))
		for i := 0; b.Loop(); i++ {
			e := benchEntry(900_000 + i*7919)
			e.Parts = append(e.Parts, Part{RolePhoto, "photo.jpg", append(photo, fmt.Sprint(i, time.Now())...)})
			mustKeep(b, a, e)
		}
	})
}
