// Command summary reads `go test -json` and tells people what came of it: the
// output of what failed, the reasons of what was skipped, the seconds of every
// package, and as its last line
//
//	N passed, N failed, N skipped
//
// It counts what has no parts of its own: a test with subtests counts as its
// subtests, unless it failed beside them. A package that could not be built,
// or stopped in the middle of a test, counts as a failure. The exit code is 1
// when anything failed or nothing ran.
package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
)

func main() {
	t := newTally()
	if err := t.read(os.Stdin, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "summary: reading the test events:", err)
		os.Exit(1)
	}
	if !t.write(os.Stdout) {
		os.Exit(1)
	}
}

// event is one line of `go test -json`; the form is in `go doc test2json`.
type event struct {
	Action     string
	Package    string
	ImportPath string // of build events
	Test       string
	Output     string
	Elapsed    float64 // seconds
}

// test is what is known of one test so far.
type test struct {
	ended  string // pass, fail or skip; empty while it runs
	output []string
}

// suite is what is known of one package.
type suite struct {
	tests   map[string]*test
	order   []string
	ended   string
	output  []string
	elapsed float64
}

// tally collects the events of a whole run.
type tally struct {
	suites map[string]*suite
	order  []string
	builds map[string][]string // what the compiler said, by package
	broken []string            // packages that did not compile
}

func newTally() *tally {
	return &tally{suites: make(map[string]*suite), builds: make(map[string][]string)}
}

// read takes the events in and reports each package as it ends. A line that
// is no event (the go command's own errors) goes through as it is.
func (t *tally) read(r io.Reader, progress io.Writer) error {
	lines := bufio.NewReader(r)
	for {
		line, err := lines.ReadString('\n')
		if line != "" {
			var e event
			if json.Unmarshal([]byte(line), &e) != nil || e.Action == "" {
				fmt.Fprint(progress, line)
			} else {
				t.take(e, progress)
			}
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

func (t *tally) take(e event, progress io.Writer) {
	switch e.Action {
	case "build-output":
		t.builds[e.ImportPath] = append(t.builds[e.ImportPath], e.Output)
		return
	case "build-fail":
		t.broken = append(t.broken, e.ImportPath)
		return
	}
	s := t.suites[e.Package]
	if s == nil {
		s = &suite{tests: make(map[string]*test)}
		t.suites[e.Package] = s
		t.order = append(t.order, e.Package)
	}
	if e.Test == "" {
		s.take(e, progress)
		return
	}
	one := s.tests[e.Test]
	if one == nil {
		one = &test{}
		s.tests[e.Test] = one
		s.order = append(s.order, e.Test)
	}
	switch e.Action {
	case "output":
		one.output = append(one.output, e.Output)
	case "pass", "skip":
		one.ended = e.Action
		if e.Action == "pass" {
			one.output = nil
		}
	case "fail":
		one.ended = e.Action
	}
}

func (s *suite) take(e event, progress io.Writer) {
	switch e.Action {
	case "output":
		s.output = append(s.output, e.Output)
	case "pass", "fail", "skip":
		s.ended, s.elapsed = e.Action, e.Elapsed
		word := map[string]string{"pass": "ok  ", "fail": "FAIL", "skip": "none"}[e.Action]
		fmt.Fprintf(progress, "%s  %s  %.1f s\n", word, e.Package, e.Elapsed)
	}
}

// write prints the summary and reports whether the run is good: something
// ran, and nothing failed.
func (t *tally) write(w io.Writer) bool {
	var passed, failed, skipped int
	for _, name := range t.broken {
		fmt.Fprintf(w, "\n--- could not be built: %s\n%s", name, strings.Join(t.builds[name], ""))
	}
	var reasons []string
	for _, name := range t.order {
		s := t.suites[name]
		bad := 0
		for _, tn := range s.order {
			one := s.tests[tn]
			parts := s.parts(tn)
			switch {
			case one.ended == "pass" && parts == 0:
				passed++
			case one.ended == "skip":
				skipped++
				reasons = append(reasons, fmt.Sprintf("%s %s: %s", name, tn, reason(one.output)))
			case one.ended == "fail" && !s.partFailed(tn), one.ended == "":
				bad++
				what := "failed"
				if one.ended == "" {
					what = "did not end"
				}
				fmt.Fprintf(w, "\n--- %s: %s %s\n%s", what, name, tn, strings.Join(one.output, ""))
			}
		}
		if s.ended != "pass" && s.ended != "skip" && bad == 0 {
			bad++
			fmt.Fprintf(w, "\n--- failed as a whole: %s\n%s", name, strings.Join(s.output, ""))
		}
		failed += bad
	}
	if len(reasons) > 0 {
		fmt.Fprintf(w, "\nskipped, and why:\n")
		for _, r := range reasons {
			fmt.Fprintf(w, "  %s\n", r)
		}
	}
	if passed+failed+skipped == 0 {
		fmt.Fprintln(w, "no test ran")
	}
	fmt.Fprintf(w, "\n%d passed, %d failed, %d skipped\n", passed, failed, skipped)
	return failed == 0 && passed > 0
}

// parts counts the subtests of a test.
func (s *suite) parts(name string) (n int) {
	for other := range s.tests {
		if strings.HasPrefix(other, name+"/") {
			n++
		}
	}
	return n
}

// partFailed tells whether a subtest accounts for the failure of a test.
func (s *suite) partFailed(name string) bool {
	return slices.ContainsFunc(s.order, func(other string) bool {
		ended := s.tests[other].ended
		return strings.HasPrefix(other, name+"/") && (ended == "fail" || ended == "")
	})
}

// reason is what a skipped test said, on one line.
func reason(output []string) string {
	for _, line := range output {
		line = strings.TrimSpace(line)
		if line != "" && !strings.HasPrefix(line, "=== ") && !strings.HasPrefix(line, "--- SKIP") {
			return line
		}
	}
	return "it gave no reason"
}
