package jobs

import "runtime"

// allocated is how many bytes were ever allocated: it measures work where a
// clock would depend on what else the machine does.
func allocated() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.TotalAlloc
}
