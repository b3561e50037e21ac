package intent

import "math/bits"

// byteSet is a set of bytes.
type byteSet [4]uint64

func (s *byteSet) add(b byte)      { s[b>>6] |= 1 << (b & 63) }
func (s *byteSet) has(b byte) bool { return s[b>>6]&(1<<(b&63)) != 0 }
func (s *byteSet) empty() bool     { return s[0]|s[1]|s[2]|s[3] == 0 }

// join adds all of o and reports whether that made a difference.
func (s *byteSet) join(o *byteSet) bool {
	more := false
	for i := range s {
		if o[i]&^s[i] != 0 {
			s[i] |= o[i]
			more = true
		}
	}
	return more
}

// each calls f with every member until f returns false.
func (s *byteSet) each(f func(byte) bool) {
	for i, w := range s {
		for ; w != 0; w &= w - 1 {
			if !f(byte(i<<6 | bits.TrailingZeros64(w))) {
				return
			}
		}
	}
}

// freeStarts are the bytes free speech may begin with.
var freeStarts = func() (s byteSet) {
	for b := 0; b < 256; b++ {
		if startsFree(byte(b)) {
			s.add(byte(b))
		}
	}
	return s
}()
