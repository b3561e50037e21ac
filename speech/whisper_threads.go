package speech

import (
	"bytes"
	"os"
	"runtime"
	"strconv"
	"sync"
	"time"
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
	return min(most, max(1, runtime.NumCPU()-others.now(time.Now())))
}

var others crowd

// crowd counts the threads of other programs that run or wait for a core. The
// count is kept for a moment: a decode asks for it at every token.
type crowd struct {
	mu    sync.Mutex
	at    time.Time
	count int
}

const (
	crowdKept    = 100 * time.Millisecond
	crowdSamples = 3 // of which the least counts: the system's own threads come and go
)

func (c *crowd) now(t time.Time) int {
	c.mu.Lock()
	defer c.mu.Unlock()
	if since := t.Sub(c.at); since >= 0 && since < crowdKept {
		return c.count
	}
	c.at = t
	for i := range crowdSamples {
		n := runningBesides()
		if i == 0 || n < c.count {
			c.count = n
		}
		if c.count == 0 {
			break
		}
	}
	return c.count
}

// runningBesides is the number of other programs' threads that run at this
// moment; 0 where the system does not tell. This program's own come off: there
// are always some, and they make way for the computation.
func runningBesides() int {
	own := 0
	tasks, err := os.ReadDir("/proc/self/task")
	if err != nil {
		return 0 // no Linux
	}
	for _, t := range tasks {
		if stat, err := os.ReadFile("/proc/self/task/" + t.Name() + "/stat"); err == nil && running(stat) {
			own++
		}
	}
	line, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return 0
	}
	all, _ := runnable(line)
	return max(0, all-max(own, 1))
}

// running reads the state of a thread: the letter behind its name in brackets
// (proc(5), /proc/pid/stat).
func running(stat []byte) bool {
	i := bytes.LastIndexByte(stat, ')')
	return i >= 0 && bytes.HasPrefix(stat[i+1:], []byte(" R"))
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
