package archive

import (
	"os/signal"
	"syscall"
)

func ignoreFileSizeSignal() { signal.Ignore(syscall.SIGXFSZ) }
