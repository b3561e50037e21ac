package main

import (
	"context"
	"runtime/debug"
	"runtime/metrics"
	"time"
)

const (
	// tidyAt is how much the heap may grow, in percent, before it is tidied: a
	// quarter of Go's usual, for memory is dearer here than the work, 1 % of one
	// core while it hears one command after another.
	tidyAt = 25
	// tidyRoom is what Go's memory may hold beside a quarter more than lives:
	// stacks, its own books, a grammar being built.
	tidyRoom = 24 << 20
	tidyTime = 10 * time.Second
)

// tidy keeps Go's memory near what lives until ctx ends: what a grammar took
// while it was built is given back within seconds and not over minutes. The
// limit follows what lives, so that a job with very many names is not tidied
// without end.
func tidy(ctx context.Context) {
	debug.SetGCPercent(tidyAt)
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	tick := time.NewTicker(tidyTime)
	defer tick.Stop()
	for {
		metrics.Read(live)
		debug.SetMemoryLimit(int64(live[0].Value.Uint64())*(100+tidyAt)/100 + tidyRoom)
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}
