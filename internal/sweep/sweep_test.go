package sweep

import (
	"context"
	"errors"
	"math"
	"reflect"
	"runtime"
	"strings"
	"sync"
	"testing"

	"fairedge/internal/plane"
)

// memory is a watcher that keeps what it is told.
type memory struct {
	sync.Mutex
	rows    map[string]Row
	done    int
	stop    context.CancelFunc // called at the stopAt-th scene
	stopAt  int
	written int
}

func (m *memory) Progress(done, of int) {
	m.Lock()
	defer m.Unlock()
	m.done = max(m.done, done)
	if m.stop != nil && done >= m.stopAt {
		m.stop()
	}
}

func (m *memory) Known(key string) (Row, bool) {
	row, known := m.rows[key]
	return row, known
}

func (m *memory) Measured(key string, row Row) error {
	m.rows[key] = row
	m.written++
	return nil
}

// The same scenes give the same numbers, however many processors share them.
func TestProcessorsDoNotMatter(t *testing.T) {
	c := CoverageCases()[0]
	var rows []Row
	for _, processors := range []int{1, 3} {
		before := runtime.GOMAXPROCS(processors)
		got, err := Run(context.Background(), c, 4, nil)
		runtime.GOMAXPROCS(before)
		if err != nil {
			t.Fatal(err)
		}
		rows = append(rows, got.Row())
	}
	if !reflect.DeepEqual(rows[0], rows[1]) {
		t.Errorf("one processor: %+v, three: %+v", rows[0], rows[1])
	}
}

// A study that was stopped goes on with the rows it has, and ends as one that was not.
func TestStoppedStudyGoesOn(t *testing.T) {
	study := Study{Vary: 20, VaryScenes: 1}
	ctx, stop := context.WithCancel(context.Background())
	half := &memory{rows: map[string]Row{}, stop: stop, stopAt: 9}
	if _, err := study.Tables(ctx, half); !errors.Is(err, context.Canceled) {
		t.Fatalf("stopped: %v", err)
	}
	if n := len(half.rows); n < 7 || n > 9 {
		t.Fatalf("%d rows after 9 scenes", n)
	}
	rest := &memory{rows: half.rows}
	had := len(half.rows)
	tables, err := study.Tables(context.Background(), rest)
	if err != nil {
		t.Fatal(err)
	}
	lines := len(VaryCases(20))
	if rest.written != 4*lines-had || rest.done != 4*lines {
		t.Errorf("measured %d of %d rows, %d scenes counted; %d were known", rest.written, 4*lines, rest.done, had)
	}
	if len(tables) != 1 || strings.Count("\n"+tables[0].Text, "\n|") != lines+2 {
		t.Errorf("%d tables: %v", len(tables), tables)
	}
	if !strings.Contains(Document("fairedge accuracy", tables), "    fairedge accuracy\n") {
		t.Error("the document does not name its command")
	}
}

// Every dial turns something: the case it makes has another key.
func TestEveryDialTurnsSomething(t *testing.T) {
	cases := VaryCases(20)
	seen := map[string]string{}
	for _, v := range cases {
		c := v.Cases[0]
		c.Priors = ""
		key := c.key(1)
		if other, twice := seen[key]; twice {
			t.Errorf("%s x %.2f is the same as %s", v.Name, v.Factor, other)
		}
		seen[key] = v.Name
	}
}

// A shift and a small turn are no error; a swelling by 1 mm is one of 1 mm everywhere on
// a circle.
func TestAcrossErrors(t *testing.T) {
	var truth, moved, swollen []plane.Point
	m := plane.RigidFromAngle(1e-4, plane.Vec{X: 0.02, Y: -0.01})
	for i := range 90 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 90)
		p := plane.Point{X: 200 * c, Y: 150 * s}
		truth, moved = append(truth, p), append(moved, m.Apply(p))
		swollen = append(swollen, plane.Point{X: 201 * c, Y: 201 * s})
	}
	if worst := Greatest(AcrossErrors(moved, truth)); worst > 1e-4 {
		t.Errorf("a rigid motion counts as %g mm", worst)
	}
	var circle []plane.Point
	for _, p := range swollen {
		circle = append(circle, plane.Point{X: p.X / 201 * 200, Y: p.Y / 201 * 200})
	}
	if got := RMS(AcrossErrors(swollen, circle)); math.Abs(got-1) > 1e-4 {
		t.Errorf("1 mm of swelling counts as %g", got)
	}
}
