package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The events below have the form that `go doc test2json` documents.

func run(t *testing.T, events string) (out string, good bool) {
	t.Helper()
	var b bytes.Buffer
	tally := newTally()
	require.NoError(t, tally.read(strings.NewReader(events), &b))
	good = tally.write(&b)
	return b.String(), good
}

func lastLine(s string) string {
	lines := strings.Split(strings.TrimSpace(s), "\n")
	return lines[len(lines)-1]
}

func TestAGoodRunCountsTestsAndSubtestsOnce(t *testing.T) {
	out, good := run(t, `
{"Action":"run","Package":"p","Test":"A"}
{"Action":"run","Package":"p","Test":"A/one"}
{"Action":"pass","Package":"p","Test":"A/one"}
{"Action":"run","Package":"p","Test":"A/two"}
{"Action":"pass","Package":"p","Test":"A/two"}
{"Action":"pass","Package":"p","Test":"A"}
{"Action":"run","Package":"p","Test":"B"}
{"Action":"output","Package":"p","Test":"B","Output":"    b_test.go:7: no microphone here\n"}
{"Action":"skip","Package":"p","Test":"B"}
{"Action":"pass","Package":"p","Elapsed":0.5}
`)
	require.True(t, good)
	require.Equal(t, "2 passed, 0 failed, 1 skipped", lastLine(out))
	require.Contains(t, out, "no microphone here")
}

func TestAFailingSubtestFailsTheRunAndShowsItsOutput(t *testing.T) {
	out, good := run(t, `
{"Action":"run","Package":"p","Test":"A"}
{"Action":"run","Package":"p","Test":"A/one"}
{"Action":"output","Package":"p","Test":"A/one","Output":"    got 9, want 10\n"}
{"Action":"fail","Package":"p","Test":"A/one"}
{"Action":"fail","Package":"p","Test":"A"}
{"Action":"fail","Package":"p","Elapsed":0.5}
`)
	require.False(t, good)
	require.Equal(t, "0 passed, 1 failed, 0 skipped", lastLine(out))
	require.Contains(t, out, "got 9, want 10")
}

func TestAPackageThatDoesNotCompileIsAFailure(t *testing.T) {
	out, good := run(t, `
{"ImportPath":"q [q.test]","Action":"build-output","Output":"q.go:3: undefined: x\n"}
{"ImportPath":"q [q.test]","Action":"build-fail"}
{"Action":"start","Package":"q"}
{"Action":"fail","Package":"q","Elapsed":0,"FailedBuild":"q [q.test]"}
{"Action":"run","Package":"p","Test":"A"}
{"Action":"pass","Package":"p","Test":"A"}
{"Action":"pass","Package":"p","Elapsed":0.5}
`)
	require.False(t, good)
	require.Equal(t, "1 passed, 1 failed, 0 skipped", lastLine(out))
	require.Contains(t, out, "undefined: x")
}

func TestAPanicInTheMiddleOfATestIsAFailure(t *testing.T) {
	out, good := run(t, `
{"Action":"run","Package":"p","Test":"A"}
{"Action":"output","Package":"p","Test":"A","Output":"panic: boom\n"}
{"Action":"fail","Package":"p","Elapsed":0.5}
`)
	require.False(t, good)
	require.Equal(t, "0 passed, 1 failed, 0 skipped", lastLine(out))
	require.Contains(t, out, "panic: boom")
}

func TestARunWithoutTestsIsNotGood(t *testing.T) {
	out, good := run(t, `{"Action":"skip","Package":"p","Elapsed":0}`)
	require.False(t, good)
	require.Contains(t, out, "no test ran")
	out, good = run(t, "go: cannot find main module\n")
	require.False(t, good)
	require.Contains(t, out, "cannot find main module")
}
