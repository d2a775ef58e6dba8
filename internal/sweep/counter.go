package sweep

import "sync/atomic"

// counter counts from many goroutines.
type counter struct{ n atomic.Int64 }

func (c *counter) add(n int) int { return int(c.n.Add(int64(n))) }
