package board

import (
	"fmt"
	"html/template"
	"io"
	"time"

	"putback/jobs"
)

// ReportOptions is what a report needs besides the job.
type ReportOptions struct {
	// Now is printed as the time of the report; the zero time leaves it out.
	Now time.Time
	// Words puts one event into words for the timeline; nil: the heard text and the kind.
	Words func(jobs.Event) string
	// Program names the program and its version in the foot.
	Program string
}

const reportPolicy = "default-src 'none'"

var firstReport = template.Must(template.New("report").Parse(`<!doctype html><html lang="en"><meta charset="utf-8"><title>{{.Job}}</title><h1>{{.Job}}</h1>{{range .Groups}}<p>{{.Name}}: {{.Out}} out of {{.Count}}</p>{{end}}</html>`))

// Report writes the report of a job as one self-contained HTML file. The error
// is w's.
func Report(w io.Writer, v jobs.View, history []jobs.Event, o ReportOptions) error {
	if err := firstReport.Execute(w, v); err != nil {
		return fmt.Errorf("writing the report of %q: %w", v.Job, err)
	}
	return nil
}
