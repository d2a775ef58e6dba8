package cloth_test

import (
	"flag"
	"os"
	"testing"
)

// TestMain lets rapid draw fewer lays, each takes tens of milliseconds; FAIREDGE_SLOW=1
// proves all that it draws, and so does naming a number.
func TestMain(m *testing.M) {
	flag.Parse()
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == "rapid.checks" })
	if os.Getenv("FAIREDGE_SLOW") != "1" && !given {
		if err := flag.Set("rapid.checks", "25"); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
