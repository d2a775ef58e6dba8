// Command fairedge turns a phone photo of a traced seat template, lying beside
// printed scale cards, into cutting outlines at true scale.
package main

import (
	"context"
	"os"
	"os/signal"

	"fairedge/internal/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	os.Exit(cli.Main(ctx, os.Args[1:], cli.SystemEnvironment()))
}
