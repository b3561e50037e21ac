package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"putback/intent"
	"putback/jobs"
)

// said runs a command line in this process and gives what it printed.
func said(t *testing.T, args ...string) (string, error) {
	t.Helper()
	var out bytes.Buffer
	root := rootCommand()
	root.SetArgs(args)
	root.SetIn(strings.NewReader(""))
	root.SetOut(&out)
	root.SetErr(&out)
	err := root.Execute()
	return out.String(), err
}

// A damaged job leads, by the words of its error alone, to the command that
// brings it back.
func TestADamagedJobIsBroughtBackByTheCommandTheErrorNames(t *testing.T) {
	dir := t.TempDir()
	job := filepath.Join(dir, "cover.putback")
	b, err := jobs.Open(job, jobs.Options{})
	require.NoError(t, err)
	_, err = b.Do(time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), intent.Note{Text: "the back one was hard to reach"}, jobs.Heard{Text: "note", Confidence: 1})
	require.NoError(t, err)
	require.NoError(t, b.Close())
	raw, err := os.ReadFile(job)
	require.NoError(t, err)
	at := bytes.Index(raw, []byte("hard to reach"))
	require.Positive(t, at)
	copy(raw[at:], "easy")
	require.NoError(t, os.WriteFile(job, raw, 0o644))

	for _, command := range []string{"status", "history", "report"} {
		_, err = said(t, command, job)
		require.ErrorContains(t, err, "damaged", command)
		require.ErrorContains(t, err, "`putback restore "+job+"`", command)
	}
	out, err := said(t, "restore", job)
	require.NoError(t, err, out)
	require.Contains(t, out, job+" is back from its last good copy")
	require.Contains(t, out, job+".damaged")
	require.Contains(t, out, "note: the back one was hard to reach")
	out, err = said(t, "history", job)
	require.NoError(t, err)
	require.Contains(t, out, "hard to reach")
	kept, err := os.ReadFile(job + ".damaged")
	require.NoError(t, err)
	require.Equal(t, len(raw), len(kept))

	// Lost altogether: status leads to the copy as well.
	require.NoError(t, os.Remove(job))
	_, err = said(t, "status", job)
	require.ErrorContains(t, err, "`putback restore "+job+"`")
	out, err = said(t, "restore", job)
	require.NoError(t, err)
	require.NotContains(t, out, "the damaged file")

	_, err = said(t, "restore", filepath.Join(dir, "other.putback"))
	require.ErrorContains(t, err, "no last good copy")
	_, err = said(t, "restore")
	var usage errUsage
	require.ErrorAs(t, err, &usage)
}

func TestCheckPrintsTheSchemaOfASheet(t *testing.T) {
	out, err := said(t, "check", "--schema")
	require.NoError(t, err)
	require.JSONEq(t, string(jobs.SheetSchema()), out)
	require.True(t, json.Valid([]byte(out)))
	_, err = said(t, "check", "--schema", "x.yaml")
	require.Error(t, err)
}
