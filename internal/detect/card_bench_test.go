package detect

import (
	"syscall"
	"testing"
	"time"

	"fairedge/internal/plane"
)

// fourCards is a 12 megapixel view of four loose cards on the corners of a
// 450 x 450 mm template, as a phone takes it from 0.9 m.
func fourCards() *cardScene {
	s := &cardScene{width: 4032, height: 3024, mmPerPx: 0.2, tilt: 0.15, azimuth: 1, blur: 1.2, noise: 4, oversampling: 2, tone: 0.6}
	for n, at := range []plane.Vec{{X: -270, Y: -170}, {X: 270, Y: -160}, {X: -265, Y: 165}, {X: 280, Y: 170}} {
		s.cards = append(s.cards, placedCard{looseCard(n + 1), plane.RigidFromAngle(0.7*float64(n), at)})
	}
	return s
}

func BenchmarkCards12MP(b *testing.B) {
	p := fourCards().render()
	b.ResetTimer()
	start := processorTime()
	for b.Loop() {
		got, _, err := Cards(p, DefaultCardParams())
		if err != nil || len(got) != 4 {
			b.Fatal(len(got), err)
		}
	}
	b.ReportMetric((processorTime()-start).Seconds()*1000/float64(b.N), "cpu-ms/op")
}

// processorTime returns the time that this process has kept processors busy.
func processorTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
