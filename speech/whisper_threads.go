package speech

import (
	"bytes"
	"os"
	"runtime"
	"strconv"
)

// idleThreads is how many threads to compute with now, at most most: one for
// each core that no other program keeps busy, at least one. The threads of a
// computation wait for each other hundreds of times; with one of them on a core
// that another program uses, all wait for that program's time slices, and two
// threads are several times slower than one.
func idleThreads(most int) int {
	if most <= 1 {
		return 1
	}
	line, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return most // no Linux
	}
	running, ok := runnable(line)
	if !ok {
		return most
	}
	// One of those that run is this program.
	return min(most, max(1, runtime.NumCPU()-(running-1)))
}

// runnable reads how many threads run or wait for a core at this moment: the
// first number of the fourth field (proc(5), /proc/loadavg).
func runnable(loadavg []byte) (int, bool) {
	fields := bytes.Fields(loadavg)
	if len(fields) < 4 {
		return 0, false
	}
	first, _, ok := bytes.Cut(fields[3], []byte("/"))
	n, err := strconv.Atoi(string(first))
	return n, ok && err == nil
}
