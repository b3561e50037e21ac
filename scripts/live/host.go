package main

import (
	"fmt"
	"os"
)

// host stands in for a test: it is what package audiotest asks for.
type host struct {
	cleanups []func()
	dirs     []string
}

// hosted runs f with a host and turns a failure into an error.
func hosted(f func(*host) error) (err error) {
	h := &host{}
	defer func() {
		for i := len(h.cleanups) - 1; i >= 0; i-- {
			h.cleanups[i]()
		}
		for _, d := range h.dirs {
			os.RemoveAll(d)
		}
	}()
	defer func() {
		if p := recover(); p != nil {
			failure, ok := p.(failed)
			if !ok {
				panic(p)
			}
			err = failure
		}
	}()
	return f(h)
}

// failed is what Fatal and Skip throw.
type failed string

func (f failed) Error() string { return string(f) }

func (*host) Helper()                    {}
func (*host) Skip(args ...any)           { panic(failed(fmt.Sprint(args...))) }
func (*host) Fatal(args ...any)          { panic(failed(fmt.Sprint(args...))) }
func (*host) Logf(f string, args ...any) { fmt.Fprintf(os.Stderr, f+"\n", args...) }
func (h *host) Cleanup(f func())         { h.cleanups = append(h.cleanups, f) }
func (h *host) TempDir() string {
	dir, err := os.MkdirTemp("", "putback-bench-")
	if err != nil {
		h.Fatal(err)
	}
	h.dirs = append(h.dirs, dir)
	return dir
}
