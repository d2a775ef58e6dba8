package archive

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strconv"
	"testing"
)

// TestExportAndImportNeedLittleMemory moves an archive that is larger than
// what may be in memory at once: 18 documents of 1 MB, of which one takes some five times its
// size (its bytes, base64 of them, the buffer of the file).
func TestExportAndImportNeedLittleMemory(t *testing.T) {
	const documents, size, most = 18, 1 << 20, 10 << 20
	defer debug.SetGCPercent(debug.SetGCPercent(10)) // garbage is not what is asked about
	a := newArchive(t)
	for i := range documents {
		e := numbered(i)
		e.Parts = []Part{{RolePhoto, "photo" + strconv.Itoa(i), noise(size, uint64(i))}}
		mustKeep(t, a, e)
	}
	var before, now runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	var peak uint64
	look := func(_, _ int64) {
		runtime.ReadMemStats(&now)
		peak = max(peak, now.HeapAlloc)
	}
	file, err := os.Create(filepath.Join(t.TempDir(), "jobs.json"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	done, err := a.Export(context.Background(), file, nil, exportDay, look)
	if err != nil || done.Bytes < documents*size {
		t.Fatalf("%+v, %v", done, err)
	}
	length, err := file.Seek(0, io.SeekCurrent)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		t.Fatal(err)
	}
	if _, err := newArchive(t).Import(context.Background(), ImportFile{Name: "jobs.json", From: file, Size: length}, look); err != nil {
		t.Fatal(err)
	}
	if used := peak - min(peak, before.HeapAlloc); used > most {
		t.Errorf("%d MB in memory at once", used>>20)
	} else {
		t.Logf("%.1f MB at most", float64(used)/1e6)
	}
}
