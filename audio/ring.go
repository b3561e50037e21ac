package audio

import "sync/atomic"

// ring hands samples from one goroutine to one other without locks or
// allocation, so that a device's callback never waits. Exactly one writer and
// one reader.
type ring struct {
	buf  []float32 // length is a power of two
	r, w atomic.Uint64
}

// newRing makes a ring for at least n samples.
func newRing(n int) *ring {
	size := 1
	for size < n {
		size *= 2
	}
	return &ring{buf: make([]float32, size)}
}

// write stores as much of s as there is room for and gives the number stored.
func (q *ring) write(s []float32) int {
	w := q.w.Load()
	n := min(len(s), len(q.buf)-int(w-q.r.Load()))
	at := int(w) & (len(q.buf) - 1)
	k := copy(q.buf[at:], s[:n])
	copy(q.buf, s[k:n])
	q.w.Store(w + uint64(n))
	return n
}

// read takes up to len(out) samples and gives the number taken.
func (q *ring) read(out []float32) int {
	r := q.r.Load()
	n := min(len(out), int(q.w.Load()-r))
	at := int(r) & (len(q.buf) - 1)
	k := copy(out[:n], q.buf[at:])
	copy(out[k:n], q.buf)
	q.r.Store(r + uint64(n))
	return n
}

// len is the number of samples waiting.
func (q *ring) len() int { return int(q.w.Load() - q.r.Load()) }
