package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	"github.com/spf13/cobra"

	"putback/jobs"
)

// jobFlags are the flags of every command that works on a job.
type jobFlags struct {
	job   string
	sheet string
}

func (f *jobFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&f.job, "job", "", "the job's file; made when it does not exist (default: a job that is not kept)")
	c.Flags().StringVar(&f.sheet, "sheet", "", "the job sheet (YAML) to take into the job")
	_ = c.MarkFlagFilename("job", "putback")
	_ = c.MarkFlagFilename("sheet", "yaml", "yml")
}

// open opens the job for change. Without --job the record lives in memory and
// the person is told so on errOut.
func (f *jobFlags) open(now time.Time, callWord string, errOut io.Writer) (*jobs.Bench, error) {
	o := jobs.Options{Now: now, CallWord: callWord}
	sheet, err := f.load(errOut)
	if err != nil {
		return nil, err
	}
	if sheet != nil {
		o.Sheet, o.SheetFile = sheet, f.sheet
	}
	if f.job == "" {
		fmt.Fprintln(errOut, "putback: no --job FILE given: nothing said in this session is kept")
		return jobs.OpenMemory(o)
	}
	return jobs.Open(f.job, o)
}

// load reads the sheet; nil where none is named. Its problems are told on errOut.
func (f *jobFlags) load(errOut io.Writer) (*jobs.Sheet, error) {
	if f.sheet == "" {
		return nil, nil
	}
	sheet, problems := jobs.LoadSheet(f.sheet)
	if bad := printProblems(errOut, problems); bad > 0 || sheet == nil {
		return nil, fmt.Errorf("the sheet %s cannot be taken in, errors: %d; mend the lines named above, then `putback check %s`", f.sheet, max(bad, 1), f.sheet)
	}
	return sheet, nil
}

// openExisting opens a job that must be there, for reading.
func openExisting(path string) (*jobs.Bench, error) {
	_, lost := os.Stat(jobs.LastGood(path))
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) && lost != nil {
		return nil, fmt.Errorf("there is no job file %s; `putback type --job %s` starts one", path, path)
	}
	return jobs.Open(path, jobs.Options{ReadOnly: true})
}

// printProblems writes a sheet's problems, one a line, and counts the errors.
func printProblems(w io.Writer, problems []jobs.Problem) (bad int) {
	for _, p := range problems {
		if p.Severity == jobs.SeverityError {
			bad++
		}
		fmt.Fprintln(w, p.String())
	}
	return bad
}
